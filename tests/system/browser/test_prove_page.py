"""A check outside any session has its page as well."""

from tests.system.browser.conftest import See
from tests.system.browser.played import Bench


def test_a_proven_gauge_is_shown_to_the_end(bench: Bench, see: See) -> None:
    program = bench.prove("--readings", "3")
    page = see(bench.press)
    page.shows("head", "Check of ")
    for number, size in enumerate(("59.970", "59.971", "59.969"), start=1):
        page.is_at(f"Stack {number}/3")
        bench.gauge.send(size)
        page.shows("value", size)
    page.shows("live", "over")
    assert program.end() == 0


def test_a_check_is_given_up_by_pressing_stop_twice(bench: Bench, see: See) -> None:
    program = bench.prove("--readings", "3")
    page = see(bench.press)
    page.is_at("Stack 1/3")
    page.press("stop")
    page.page.get_by_role("button", name="no time left today").click()
    do = page.page.locator("#keys-stop .do")
    do.click()
    page.shows("keys-stop", "Press again")
    do.click()
    page.shows("live", "over")
    assert program.end() != 0
