"""A gauge without a button of its own is asked by the page's."""

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, STACK, Bench


def test_the_send_button_of_the_page_takes_a_reading(bench: Bench, see: See) -> None:
    gauge = bench.play("ask-number-unit-cr")
    program = bench.measure()
    page = see(bench.press)
    for size in STACK:
        gauge.hold(size)
        page.press("send")
        program.wait_for("check_reading")
    for place, size in zip(ROUTE, GOOD, strict=True):
        page.is_at(place)
        gauge.hold(size)
        page.press("send")
        program.wait_for("reading")
        page.shows("value", size)
    page.is_at("Stack 1/2")
    for size in STACK:
        gauge.hold(size)
        page.press("send")
        program.wait_for("check_reading")
    assert program.end() == 0
    page.shows("answer", "Session accepted")


def test_a_gauge_with_a_button_of_its_own_has_none_on_the_page(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.press)
    assert page.words != []
    assert "send" not in page.words
