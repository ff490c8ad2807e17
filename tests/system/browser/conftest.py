"""Sessions with their page, and the browsers that look at it."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.system.browser.played import Bench
from tests.system.browser.viewer import ARGUMENTS, CHROMIUM, Viewer
from tests.system.conftest import Shop

try:
    from playwright.sync_api import Browser, sync_playwright
except ImportError:  # pragma: no cover
    sync_playwright = None  # type: ignore[assignment]

See = Callable[..., Viewer]


def _without(reason: str) -> None:
    if os.environ.get("JBRIDGE_BROWSER") == "require":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    """One browser a worker, with a folder of its own for what it keeps."""
    if not os.access(CHROMIUM, os.X_OK):
        _without(f"there is no {CHROMIUM}: apt-get install chromium")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        yield browser
        browser.close()


@pytest.fixture
def see(browser: "Browser") -> Iterator[See]:
    """Opens windows. None of them may have seen anything go wrong."""
    viewers: list[Viewer] = []

    def look(link: str, *, is_open: bool = True, **options: Any) -> Viewer:
        viewer = Viewer(browser, link, **options)
        viewers.append(viewer)
        if is_open:
            viewer.open()
            viewer.is_live()
        return viewer

    yield look
    faults = [fault for viewer in viewers for fault in viewer.close()]
    assert faults == []


@pytest.fixture
def bench(shop: Shop, tmp_path: Path) -> Bench:
    """A gauge that is played, and a session to begin."""
    return Bench(shop, tmp_path)
