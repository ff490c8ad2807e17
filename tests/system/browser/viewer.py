"""One person who looks at a page at the bench: a browser window of its own, and what went wrong."""

from collections.abc import Iterable
from typing import Any, NamedTuple
from urllib.parse import urlsplit

from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    Dialog,
    Locator,
    Page,
    Request,
    Response,
    expect,
)

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = (
    "--no-sandbox",  # it refuses to start as root with one
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--autoplay-policy=user-gesture-required",  # as every browser in a shop has it
)
PATIENCE_MS, POLL_MS = 15_000, 20

_REPORT = """
window.breaches = [];
document.addEventListener("securitypolicyviolation", (event) =>
  window.breaches.push(`${event.violatedDirective} ${event.blockedURI}`));
"""
"""What the content policy stopped, where the page itself can be asked for it."""


class Size(NamedTuple):
    """A screen, in pixels."""

    width: int
    height: int


WALL, TABLET, PHONE = Size(1920, 1080), Size(1280, 800), Size(390, 844)
SIZES = (WALL, TABLET, PHONE)


class Viewer:
    """A window at one of the links. Whatever goes wrong in it is kept in `faults`."""

    def __init__(
        self,
        browser: Browser,
        link: str,
        *,
        size: Size = TABLET,
        is_dark: bool = False,
        script: str = "",
    ) -> None:
        """`script` runs in the page before its own."""
        self.link = link
        self.faults: list[str] = []
        self.requests: list[str] = []
        self._allowed: list[str] = []
        self.context = browser.new_context(
            viewport={"width": size.width, "height": size.height},
            color_scheme="dark" if is_dark else "light",
        )
        self.context.on("request", self._requested)
        self.page: Page = self.context.new_page()
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.on("console", self._logged)
        self.page.on("pageerror", lambda error: self.faults.append(f"script: {error}"))
        self.page.on("dialog", self._asked)
        self.page.add_init_script(_REPORT + script)

    def open(self) -> Response:
        """Follow the link."""
        answer = self.page.goto(self.link)
        assert answer is not None
        return answer

    def _requested(self, request: Request) -> None:
        self.requests.append(request.url)

    def _logged(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning", "assert"):
            self.faults.append(f"console: {message.text}")

    def _asked(self, dialog: Dialog) -> None:
        self.faults.append(f"dialog: {dialog.message}")
        dialog.dismiss()

    def allow(self, *words: str) -> None:
        """A fault with these words is expected, as a refused request is told in the console."""
        self._allowed.extend(words)

    # What it shows ------------------------------------------------------------------------------

    def part(self, name: str) -> Locator:
        """A part of the page, by its name."""
        return self.page.locator(f"#{name}")

    def shows(self, name: str, words: str) -> None:
        """Wait until a part holds these words."""
        expect(self.part(name)).to_contain_text(words, timeout=PATIENCE_MS)

    def is_at(self, place: str) -> None:
        """Wait until this is asked for in the largest characters."""
        expect(self.page.locator("#place h1")).to_have_text(place, timeout=PATIENCE_MS)

    def is_live(self) -> None:
        """Wait until it says that it is live."""
        expect(self.part("live")).to_have_text("Live", timeout=PATIENCE_MS)

    def is_stale(self, words: str = "Not live since") -> None:
        """Wait until it says that what it shows may be old."""
        expect(self.part("stale")).to_be_visible(timeout=PATIENCE_MS)
        expect(self.part("stale")).to_contain_text(words)

    @property
    def step(self) -> int:
        """The step that its buttons are drawn for."""
        return int(self.page.evaluate("document.body.dataset.step"))

    def until(self, condition: str) -> None:
        """Wait until this holds in the page. Its own policy forbids what playwright would do."""
        for _ in range(PATIENCE_MS // POLL_MS):
            if self.page.evaluate(f"Boolean({condition})"):
                return
            self.page.wait_for_timeout(POLL_MS)
        raise AssertionError(f"never came: {condition}")

    # What it presses ----------------------------------------------------------------------------

    def button(self, word: str) -> Locator:
        """The button of a word."""
        return self.page.locator(f'#keys button[data-word="{word}"]')

    @property
    def words(self) -> list[str]:
        """The words that have a button."""
        found = self.page.locator("#keys button").evaluate_all(
            "(all) => all.map((one) => one.dataset.word)"
        )
        return list(found)

    def press(self, word: str) -> None:
        """Press a button once, and wait for what became of it."""
        self.button(word).click()

    def replied(self, words: str) -> None:
        """Wait until this was said about the last press."""
        self.shows("reply", words)

    def post(self, word: str, step: int, text: str = "") -> tuple[int, str]:
        """What the page's own request would get."""
        found: dict[str, Any] = self.page.evaluate(
            """async ([word, text, step]) => {
              const body = new URLSearchParams({ word, text, step });
              const answer = await fetch("./", { method: "POST", body });
              return { status: answer.status, words: await answer.text() };
            }""",
            [word, text, str(step)],
        )
        return found["status"], found["words"]

    # How it ends --------------------------------------------------------------------------------

    @property
    def strangers(self) -> list[str]:
        """Requests to anywhere but its link's own machine and port."""
        home = urlsplit(self.link).netloc
        return [url for url in self.requests if urlsplit(url).netloc != home]

    def close(self) -> list[str]:
        """All that went wrong and was not allowed to."""
        if not self.page.is_closed():
            breaches = self.page.evaluate("window.breaches ?? []")
            self.faults += [f"policy: {breach}" for breach in breaches]
        self.context.close()
        self.faults += [f"asked elsewhere: {url}" for url in self.strangers]
        return [fault for fault in self.faults if not _holds(fault, self._allowed)]


def _holds(text: str, words: Iterable[str]) -> bool:
    return any(word in text for word in words)
