"""Texts that somebody wrote to do harm stand on the page as texts, and do nothing."""

import json

import pytest

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, Bench
from tests.system.browser.viewer import Viewer

RTL = "\u202e"
MARKUP = "<img src=x onerror=alert(1)>"
SCRIPT = "</title></svg><script>alert(2)</script>"
TEMPLATE = "{{ 1367 * 1301 }}{% raw %}"
EVALUATED = "1778467"
LONG = "x" * 65536

HOSTILE = """() => {
  const own = new Set(["page.js"]);
  const bad = [...document.querySelectorAll("script, iframe, img, object, embed, link, style")]
    .filter((one) => !(one.tagName === "SCRIPT" && own.has(one.getAttribute("src"))))
    .filter((one) => one.tagName !== "LINK" || !["icon", "stylesheet"].includes(one.rel));
  const handlers = [...document.querySelectorAll("*")]
    .flatMap((one) => [...one.attributes])
    .filter((one) => one.name.startsWith("on") || one.value.startsWith("javascript:"));
  return [...bad.map((one) => one.outerHTML), ...handlers.map((one) => one.name)];
}"""


def is_harmless(page: Viewer) -> None:
    """Nothing but our own script and style, no mark that turns the writing, nothing run."""
    assert page.page.evaluate(HOSTILE) == []
    assert RTL not in page.page.locator("body").inner_text()
    assert EVALUATED not in page.page.locator("body").inner_text()


def test_markup_in_every_text_of_plan_and_command_line_is_shown_as_text(
    bench: Bench, see: See
) -> None:
    name = f"{MARKUP}{TEMPLATE}🙂"
    bench.write_plan(json.dumps(SCRIPT + TEMPLATE)[1:-1], name)
    program = bench.measure("--job", f"{SCRIPT}{RTL}4711", "--operator", f"{MARKUP} Ada 🙂")
    pages = see(bench.press), see(bench.look)
    bench.check()
    bench.read(GOOD[0])
    bench.hold("61.000")
    for page in pages:
        page.is_at("Keep or drop?")
        page.shows("head", SCRIPT)
        page.shows("head", f"{MARKUP} Ada")
        page.shows("value", name)
        page.shows("journals", MARKUP)
        is_harmless(page)
    program.type("keep")
    program.wait_for("kept")
    bench.read(*GOOD[2:])
    bench.check("59.971", "59.970")
    program.end()
    for page in pages:
        page.shows("answer", "Session ")
        is_harmless(page)


@pytest.mark.parametrize("text", [MARKUP, SCRIPT, f"{RTL}txt.exe", TEMPLATE, "🙂" * 400])
def test_a_note_of_any_text_is_shown_as_text(bench: Bench, see: See, text: str) -> None:
    program = bench.measure()
    pages = see(bench.press), see(bench.look)
    pages[0].press("note")
    pages[0].page.locator("#text-note").fill(text)
    pages[0].page.locator("#keys-note .do").click()
    assert program.wait_for("note")["text"] == text
    for page in pages:
        page.shows("news", "Noted: ")
        is_harmless(page)


def test_a_note_of_64_kib_is_refused_and_the_page_goes_on(bench: Bench, see: See) -> None:
    program = bench.measure()
    page = see(bench.press)
    page.allow("status of 413")
    assert page.post("note", page.step, LONG)[0] == 413
    program.type(f"note {LONG}")
    page.shows("news", "at most 1000 characters")
    bench.check()
    page.is_at("M1 front 0°")
    assert bench.stored("note") == []
    is_harmless(page)


def test_what_a_gauge_sends_is_shown_as_text(bench: Bench, see: See) -> None:
    program = bench.measure()
    page = see(bench.look)
    for nonsense in (MARKUP.encode(), SCRIPT.encode()[:60], RTL.encode(), b"\xff\x00\x1b[2J"):
        bench.gauge.raw(nonsense + b"\r\n")
        program.wait_for("reject")
        page.shows("news", nonsense[:6].hex())
        is_harmless(page)


def test_a_profile_and_a_port_of_any_name_are_shown_as_text(bench: Bench, see: See) -> None:
    bench.gauge_name = MARKUP
    bench.measure()
    page = see(bench.look)
    page.shows("link", MARKUP)
    is_harmless(page)
