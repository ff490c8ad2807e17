"""The page for those who see, hear and touch otherwise: axe's rules, the size of targets."""

from typing import Any

from axe_playwright_python.base import AXE_FILE_PATH

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench
from tests.system.browser.viewer import PHONE, SIZES, Size, Viewer

LEAST_TARGET = 44
"""CSS pixels, both ways. Source: WCAG 2.2, 2.5.5 Target Size (Enhanced)."""

GRAVE = ("serious", "critical")

SMALL = """(least) => [...document.querySelectorAll("button, input, select, a[href]")]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.innerText || one.name, one.getBoundingClientRect()])
  .filter(([, box]) => box.width < least || box.height < least)
  .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)
"""


COLOURS = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
"""The rules that another scheme of colours can break."""


def grave(page: Viewer, only: dict[str, Any] | None = None) -> list[str]:
    """What axe finds that keeps somebody from using the page."""
    if not page.page.evaluate("Boolean(window.axe)"):
        page.page.evaluate(AXE_FILE_PATH.read_text(encoding="utf-8"))
    options = {"resultTypes": ["violations"], **({"runOnly": only} if only else {})}
    found: dict[str, Any] = page.page.evaluate("(options) => axe.run(options)", options)
    return [
        f"{one['id']}: {node['html'][:120]} {node['failureSummary']}"
        for one in found["violations"]
        if one["impact"] in GRAVE
        for node in one["nodes"]
    ]


def faults(*pages: Viewer, sizes: tuple[Size, ...] = SIZES) -> list[str]:
    """At each size, light and dark: what axe finds, what is too small, what goes over the edge."""
    found = []
    for page in pages:
        who = "press" if page.page.locator("#keys").count() else "look"
        for size in sizes:
            where = f"{who} {size.width}"
            page.page.set_viewport_size({"width": size.width, "height": size.height})
            page.page.emulate_media(color_scheme="light")
            found += [f"{where} light: {each}" for each in grave(page)]
            page.page.emulate_media(color_scheme="dark")
            found += [f"{where} dark: {each}" for each in grave(page, COLOURS)]
            small = page.page.evaluate(SMALL, LEAST_TARGET)
            found += [f"{where} small: {each}" for each in small]
            wide = page.page.evaluate("document.documentElement.scrollWidth")
            found += [f"{where}: {wide} wide"] if wide > size.width else []
    return found


def test_nothing_grave_while_measuring(bench: Bench, see: See) -> None:
    bench.measure("--job", "4711", "--operator", "Ada")
    pages = see(bench.press), see(bench.look)
    bench.check()
    bench.read(*GOOD[:3])
    for page in pages:
        page.is_at(ROUTE[3])
    assert faults(*pages) == []


def test_nothing_grave_with_a_form_open(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.press, size=PHONE)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    found = []
    for word in ("note", "retake", "stop"):
        page.press(word)
        found += faults(page, sizes=(PHONE,))
        page.press(word)
    assert found == []


def test_nothing_grave_while_a_reading_is_held(bench: Bench, see: See) -> None:
    bench.measure()
    pages = see(bench.press), see(bench.look)
    bench.check()
    bench.read(GOOD[0])
    bench.hold("61.000")
    for page in pages:
        page.is_at("Keep or drop?")
    assert faults(*pages) == []


def test_nothing_grave_at_the_end(bench: Bench, see: See) -> None:
    program = bench.measure()
    pages = see(bench.press), see(bench.look)
    bench.check()
    bench.read("59.960", *GOOD[1:])
    bench.check("59.971", "59.970")
    program.end()
    for page in pages:
        page.shows("answer", "Session accepted")
    assert faults(*pages) == []
