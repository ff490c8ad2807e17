"""Sixty readings a minute: what did not change is left alone, and nothing jumps."""

import pytest

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench
from tests.system.browser.viewer import SIZES, Size, Viewer

MOST_SHIFT = 0.02
"""Of a score at which 0.1 still counts as good. Source: web.dev, "Cumulative Layout Shift"; a fifth
of it is ours.
"""

WATCH = """
window.shifts = [];
window.changed = [];
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) if (window.isWatching) window.shifts.push(one.value);
}).observe({ type: "layout-shift", buffered: true });
addEventListener("DOMContentLoaded", () => {
  for (const part of document.querySelectorAll("[data-part]"))
    new MutationObserver(() => window.changed.push(part.id))
      .observe(part, { childList: true, subtree: true, characterData: true, attributes: true });
});
"""


def is_drawn(page: Viewer, station: str) -> None:
    """Wait until the drawings, which come after the words, show this station, and are painted."""
    page.until(
        "[...document.querySelectorAll('#side, #side-narrow')]"
        f".every((one) => one.textContent.includes('here: {station} 0°'))"
    )
    page.page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done, 50)))")


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size.width}")
def test_nothing_jumps_between_two_readings(bench: Bench, see: See, size: Size) -> None:
    bench.measure()
    page = see(bench.press, size=size, script=WATCH)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    is_drawn(page, "rear")
    page.page.evaluate("window.isWatching = true")
    for place, value in zip(ROUTE[2:], GOOD[1:3], strict=True):
        bench.read(value)
        page.is_at(place)
        is_drawn(page, place.split()[1])
    shifts = page.page.evaluate("window.shifts")
    assert max(shifts, default=0) <= MOST_SHIFT


def test_a_part_that_did_not_change_is_not_touched(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.press, script=WATCH)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    page.shows("map", "measured, not proven yet (1)")  # drawings come a little after the words
    page.page.evaluate("document.querySelector('#place h1').mine = true; window.changed = []")
    bench.program.type("note wiped")
    page.shows("news", "wiped")
    assert set(page.page.evaluate("window.changed")) == {"news"}
    bench.gauge.raw(b"nonsense\r\n")
    bench.program.wait_for("reject")
    page.shows("news", "nonsense")
    assert "place" not in page.page.evaluate("window.changed")
    assert page.page.evaluate("document.querySelector('#place h1').mine") is True
