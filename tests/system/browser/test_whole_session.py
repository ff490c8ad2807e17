"""A whole session beside its page: each place in turn, the value, the answer."""

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench


def test_each_place_is_shown_in_turn_and_the_answer_at_the_end(bench: Bench, see: See) -> None:
    program = bench.measure("--job", "4711", "--operator", "Ada")
    page = see(bench.press)
    page.shows("head", "job 4711")
    page.shows("head", "Ada")
    page.is_at("Stack 1/2")
    bench.check()
    page.shows("check", "Check passed just now")
    for place, size in zip(ROUTE, GOOD, strict=True):
        page.is_at(place)
        bench.read(size)
        page.shows("value", size)
        page.shows("value", place)
        page.shows("value", "Counts")
    # The stack of 59.970 was read as 59.970 and 59.971, so the gauge shows 0.0005 too much:
    # 59.979 - 0.0005 - 59.970 = 0.0085.
    page.shows("value", "0.0085 mm above the low limit")
    page.is_at("Stack 1/2")
    page.shows("progress", "4 of 4 places, 0 proven")
    bench.check()
    page.is_at("Measured")
    page.shows("answer", "Session accepted")
    page.shows("answer", "Evidence, not permission")
    page.is_stale("Session over")
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    page.shows("answer", "Session accepted")  # and it stays, nobody serving it any more
