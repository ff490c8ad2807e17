"""Two links, any number of people: all see the same, and who may only look presses nothing."""

from playwright.sync_api import expect

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench
from tests.system.browser.viewer import PHONE

SEEN_BY_ALL = ("place", "value", "journals", "progress", "check", "map", "side")


def test_two_viewers_see_the_same(bench: Bench, see: See) -> None:
    bench.measure()
    one, other = see(bench.press), see(bench.look, size=PHONE, is_dark=True)
    bench.check()
    for place, size in zip(ROUTE, GOOD[:3], strict=False):
        one.is_at(place)
        other.is_at(place)
        bench.read(size)
    for page in (one, other):
        page.shows("value", GOOD[2])
        page.until(f"document.querySelector('#map').textContent.includes('{ROUTE[3]}')")
    for name in SEEN_BY_ALL:
        assert one.part(name).inner_html() == other.part(name).inner_html(), name
    one.press("back")
    bench.program.wait_for("void")
    other.is_at(ROUTE[2])


def test_the_link_to_look_at_has_no_buttons_and_its_press_is_refused(
    bench: Bench, see: See
) -> None:
    bench.measure()
    page = see(bench.look)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    assert page.words == []
    assert page.page.locator("form").count() == 0
    buttons = page.page.locator("button:visible").all_inner_texts()
    assert set(buttons) <= {"Tap for sound", "Speak"}
    page.allow("status of 403")
    status, words = page.post("back", page.step)
    assert (status, words) == (403, "This link is only to look at. Use the other printed link.")
    assert bench.stored("void") == []


def test_a_page_opened_again_in_mid_session_shows_how_things_stand(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.press)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    page.page.reload()
    page.is_live()
    page.is_at(ROUTE[1])
    page.shows("value", GOOD[0])
    page.press("back")
    bench.program.wait_for("void")
    page.is_at(ROUTE[0])


def test_a_wrong_secret_is_refused(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.look[:-4] + "AAA/", is_open=False)
    page.allow("status of 403")
    assert page.open().status == 403
    expect(page.page.locator("body")).to_have_text(
        "This link is not right. Use the whole printed link."
    )
