"""The customer's sheet in a browser and as PDF: on a phone, on A4 and Letter, read aloud."""

import contextlib
import re
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.base import AXE_FILE_PATH

from daq.board.shown_lengths import ShownIn
from daq.cli.views.ended import ended
from daq.cli.views.sheet import content_of
from daq.record.events import Temperatures
from daq.record.state import State, phase
from daq.sheet.letterhead import Letterhead
from daq.sheet.page import page as page_of
from daq.sheet.pdf import attached, pdf_of
from daq.sheet.seal import is_pdf_unchanged
from tests.builders import Bench, setup
from tests.builders import opened as opened_line
from tests.daq.cli.views.closing_sessions import (
    OVAL,
    abandoned,
    begun,
    crank,
    drive,
    many,
    rejected,
    sized,
    still_open,
    twelve,
    undecided,
)
from tests.daq.sheet.reading import HOSTILE
from tests.daq.sheet.test_letterhead import png

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SHOP = Letterhead(
    "Harbour Street Crankshafts",
    ("12 Harbour Street", "Port Town", "AB1 2CD", "telephone 0123 456"),
)


def nine(folder: Path) -> State:
    """Five mains and four rods, two of them bad."""
    sizes = sized({"M3": "59.961 59.963", "R2": OVAL})
    return drive(begun(folder, crank(5, 4)), sizes, stack="59.9702").close().state


def full(folder: Path) -> State:
    """Nine journals of which a sheet has much to say: one too large, one worn, one oval; part and
    stack not equally warm.
    """
    plan = crank(5, 4)
    warm = setup(temperatures=Temperatures(part="22.4", gauge="20.5", stack="21"))
    bench = Bench.new(folder, opened_line(plan, part="No. 7", with_setup=warm))
    sizes = sized({"M3": "60.001 60.003", "R1": "59.961 59.963", "R2": OVAL})
    return drive(bench, sizes, stack="59.9702").close().state


def long_names(folder: Path) -> State:
    """Stations and a gauge with names as long as they may be, and of many words."""
    plan = crank(2, 1).replace('"front", "rear"', f'"{"W" * 80}", "rear by the oil hole below it"')
    bench = Bench.new(folder, opened_line(plan, with_setup=setup(gauge="G" * 80)))
    while bench.state.closed is None:
        bench.press("59.970" if phase(bench.state) is not None else "59.982")
    return bench.close().state


def hostile(folder: Path) -> State:
    """Names that are markup, and as long as they may be."""
    plan = crank(2, 0).replace('"M1"', '"<img src=x onerror=alert(1)>"')
    plan = plan.replace('"M2"', f'"{"M" * 80}"')
    return drive(begun(folder, plan), sized()).close().state


STATES: dict[str, Callable[[Path], State]] = {
    each.__name__: each
    for each in (nine, full, long_names, hostile, rejected, abandoned, still_open, undecided)
}
ONE_PAGE = [name for name in STATES if name != "long_names"]


def html_of(folder: Path, make: Callable[[Path], State], units: str = "") -> str:
    end = ended(make(folder / "s"), ShownIn(units) if units else None)
    return page_of(content_of(end, 99, "ab" * 32, units), SHOP)


@pytest.fixture
def window(browser: "Browser") -> Iterator["Page"]:
    """A window that heard nothing but its own page."""
    page = browser.new_page(viewport={"width": 390, "height": 844})
    heard: list[str] = []
    page.on("console", lambda message: heard.append(message.text))
    page.on("pageerror", lambda error: heard.append(str(error)))
    page.on("dialog", lambda dialog: heard.append(dialog.message))
    page.on("request", lambda request: heard.append(request.url))
    yield page
    page.close()
    assert [text for text in heard if not text.startswith(("file:", "data:image/png"))] == []


def opened(window: "Page", folder: Path, html: str) -> None:
    path = folder / "sheet.html"
    path.write_text(html, encoding="utf-8")
    window.goto(path.as_uri())


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def streams(pdf: bytes) -> Iterator[bytes]:
    """The packed pieces of a PDF."""
    for piece in pdf.split(b"stream\n")[1:]:
        with contextlib.suppress(zlib.error):
            yield zlib.decompressobj().decompress(piece)


@pytest.mark.parametrize("name", STATES)
def test_nothing_runs_and_nothing_goes_over_the_edge_of_a_phone(
    window: "Page", tmp_path: Path, name: str
) -> None:
    opened(window, tmp_path, html_of(tmp_path, STATES[name]))
    for width in (390, 800, 1200):
        window.set_viewport_size({"width": width, "height": 844})
        assert window.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", ["nine", "rejected"])
def test_it_can_be_read_by_everybody(window: "Page", tmp_path: Path, name: str) -> None:
    opened(window, tmp_path, html_of(tmp_path, STATES[name]))
    window.evaluate(AXE_FILE_PATH.read_text(encoding="utf-8"))
    # The words across the page are pale so that what is below can be read, and decoration (WCAG
    # 2.1, 1.4.3): they stand in a frame above too.
    found: dict[str, Any] = window.evaluate(
        "axe.run({exclude: [['.across']]}, {resultTypes: ['violations']})"
    )
    assert [
        (one["id"], node["html"][:100])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ] == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ONE_PAGE)
def test_a_crank_of_nine_journals_is_printed_on_one_page(
    window: "Page", tmp_path: Path, name: str, paper: str
) -> None:
    opened(window, tmp_path, html_of(tmp_path, STATES[name]))
    assert pages(window.pdf(format=paper)) == 1


@pytest.mark.parametrize("name", ["nine", "full", "rejected"])
def test_so_it_is_in_both_units(window: "Page", tmp_path: Path, name: str) -> None:
    opened(window, tmp_path, html_of(tmp_path, STATES[name], "both"))
    assert pages(window.pdf(format="A4")) == 1


@pytest.mark.parametrize("units", ["", "both"])
@pytest.mark.parametrize("name", STATES)
def test_no_table_goes_over_the_edge_of_the_paper(
    window: "Page", tmp_path: Path, name: str, units: str
) -> None:
    opened(window, tmp_path, html_of(tmp_path, STATES[name], units))
    window.emulate_media(media="print")
    # A4 less its margins: 188 mm are 710.6 pixels of 96 to the inch.
    window.set_viewport_size({"width": 710, "height": 1000})
    cells = window.locator("td, th")
    right = cells.evaluate_all("all => Math.max(...all.map(c => c.getBoundingClientRect().right))")
    assert right <= 711


def test_many_journals_go_on_over_the_page(window: "Page", tmp_path: Path) -> None:
    opened(window, tmp_path, html_of(tmp_path, many))
    assert 3 <= pages(window.pdf(format="A4")) <= 6


def test_a_logo_is_drawn_under_the_pages_own_policy(window: "Page", tmp_path: Path) -> None:
    from daq.sheet.letterhead import logo_address

    shop = Letterhead("Shop", (), logo_address(png(20, 10)[:33] + png(2, 1)[33:]))
    content = content_of(ended(nine(tmp_path / "s")), 99, "ab" * 32, "")
    opened(window, tmp_path, page_of(content, shop))
    assert window.evaluate("document.querySelector('header img').naturalWidth") == 20


def test_hostile_words_in_the_head_are_words(window: "Page", tmp_path: Path) -> None:
    content = content_of(ended(nine(tmp_path / "s")), 99, "ab" * 32, "")
    opened(window, tmp_path, page_of(content, Letterhead(HOSTILE, (HOSTILE,) * 6)))
    assert "<script>alert(1)</script>" in window.inner_text("header")
    assert window.evaluate("document.scripts.length") == 0


@pytest.mark.parametrize(
    ("name", "units", "paper"),
    [
        *(("nine", "", "a4"), ("nine", "", "letter"), ("nine", "both", "letter")),
        *(("full", "", "letter"), ("full", "both", "a4"), ("rejected", "", "letter")),
        # These are made smaller for it.
        *(("full", "both", "letter"), ("twelve", "", "letter"), ("twelve", "both", "a4")),
    ],
)
def test_the_pdf_has_one_page_and_holds_the_sheet_itself(
    tmp_path: Path, name: str, units: str, paper: Any
) -> None:
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError) as error:
        pytest.skip(f"no PDF: {error}")
    html = html_of(tmp_path, {**STATES, "twelve": twelve}[name], units)
    data = pdf_of(html, paper)
    assert is_pdf_unchanged(data)
    assert attached(data) == html
    assert boxes(data) == [{"a4": (210, 297), "letter": (216, 279)}[paper]]


def boxes(data: bytes) -> list[tuple[int, int]]:
    """How wide and how high each page is, in mm."""
    found = [box for each in streams(data) for box in re.findall(rb"/MediaBox \[(.+?)\]", each)]
    corners = [tuple(map(float, box.split())) for box in found]
    return [(round(x * 25.4 / 72), round(y * 25.4 / 72)) for *_, x, y in corners]


def test_the_pdf_of_many_journals_has_more_pages_of_the_same_size(tmp_path: Path) -> None:
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError) as error:
        pytest.skip(f"no PDF: {error}")
    found = boxes(pdf_of(html_of(tmp_path, many), "letter"))
    assert (3 <= len(found) <= 6, set(found)) == (True, {(216, 279)})


@pytest.mark.parametrize("units", ["", "both"])
@pytest.mark.parametrize("name", STATES)
def test_no_table_of_the_pdf_goes_over_its_edge(tmp_path: Path, name: str, units: str) -> None:
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as error:
        pytest.skip(f"no PDF: {error}")
    # A4 less its margins: 188 mm are 710.6 pixels of 96 to the inch.
    for page in HTML(string=html_of(tmp_path, STATES[name], units)).render().pages:
        assert [wide for wide in tables_of(page._page_box) if wide > 711] == []


def tables_of(box: Any) -> Iterator[float]:
    """How wide the tables of a laid out page are."""
    if type(box).__name__ == "TableBox":
        yield box.width
    for child in getattr(box, "children", ()):
        yield from tables_of(child)
