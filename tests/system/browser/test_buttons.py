"""What is pressed on the page is done by the session, once, and stored as of the board."""

import pytest
from playwright.sync_api import expect

from daq.board.asked import OLDER_STEP
from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench
from tests.system.browser.viewer import Viewer


@pytest.fixture
def page(bench: Bench, see: See) -> Viewer:
    """A page whose session is at its second place."""
    bench.measure()
    page = see(bench.press)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    return page


def test_back_takes_the_last_reading_back(bench: Bench, page: Viewer) -> None:
    page.press("back")
    assert bench.program.wait_for("void")["by"] == "board"
    page.is_at(ROUTE[0])
    page.replied("back: done")
    bench.read(*GOOD[1:3])
    page.is_at(ROUTE[2])
    expect(page.part("reply")).to_be_empty()


def test_skip_leaves_a_place_out_for_a_ready_reason(bench: Bench, page: Viewer) -> None:
    page.press("skip")
    page.page.get_by_role("button", name="cannot be reached").click()
    page.page.locator("#keys-skip .do").click()
    skipped = bench.program.wait_for("skip")
    assert (skipped["reason"], skipped["by"]) == ("cannot be reached", "board")
    page.is_at(ROUTE[2])
    expect(page.part("keys-skip")).to_be_hidden()


def test_a_note_is_stored_as_it_was_typed(bench: Bench, page: Viewer) -> None:
    page.press("note")
    page.page.locator("#text-note").fill('a "burr" at 45°: <b>wiped</b> 🙂')
    page.page.locator("#keys-note .do").click()
    noted = bench.program.wait_for("note")
    assert (noted["text"], noted["by"]) == ('a "burr" at 45°: <b>wiped</b> 🙂', "board")
    page.shows("news", 'Noted: a "burr" at 45°: <b>wiped</b>')
    page.is_at(ROUTE[1])


def test_a_value_below_the_limit_tells_what_to_press_not_what_to_type(
    bench: Bench, page: Viewer
) -> None:
    bench.read("59.960")
    page.shows("news", "To take the same place again, press Back.")


def test_what_is_typed_stays_while_readings_arrive(bench: Bench, page: Viewer) -> None:
    page.press("note")
    page.page.locator("#text-note").press_sequentially("half a ")
    bench.read(GOOD[1])
    page.is_at(ROUTE[2])
    page.page.locator("#text-note").press_sequentially("sentence")
    page.page.locator("#keys-note .do").click()
    page.allow("status of 409")
    page.replied("Not done: ")  # the sheet was opened for how things stood before
    page.page.locator("#keys-note .do").click()
    assert bench.program.wait_for("note")["text"] == "half a sentence"


def test_stop_is_pressed_twice_and_only_then_done(bench: Bench, page: Viewer) -> None:
    page.press("stop")
    page.page.get_by_role("button", name="no time left today").click()
    do = page.page.locator("#keys-stop .do")
    do.click()
    expect(do).to_contain_text("Press again")
    expect(do).to_contain_text("closing check, then the answer with what there is")
    assert "during" not in bench.program.kinds
    do.click()
    page.is_at("Stack 1/2")
    bench.check("59.971", "59.970")
    bench.program.end()
    (closed,) = bench.stored("closed")
    assert closed["reasons"][0] == "stopped: no time left today"
    page.shows("answer", 'Reason given: "no time left today"')


@pytest.mark.parametrize(("word", "kind"), [("keep", "kept"), ("drop", "dropped")])
def test_a_held_reading_is_answered(bench: Bench, page: Viewer, word: str, kind: str) -> None:
    bench.hold("61.000")
    page.is_at("Keep or drop?")
    page.shows("value", "Held")
    page.shows("value", "61.000")
    assert page.words[:2] == ["keep", "drop"]
    page.press(word)
    answered = bench.program.wait_for(kind)
    assert "board" in (answered.get("by"), answered.get("why"))
    page.is_at(ROUTE[2] if word == "keep" else ROUTE[1])


def test_a_button_pressed_down_before_a_reading_came_is_refused_with_words(
    bench: Bench, page: Viewer
) -> None:
    page.allow("status of 409")
    page.button("back").hover()
    page.page.mouse.down()
    bench.read(GOOD[1])
    page.is_at(ROUTE[2])
    page.page.mouse.up()
    page.replied(f"Not done: {OLDER_STEP}")
    page.is_at(ROUTE[2])
    assert bench.stored("void") == []


def test_a_press_for_an_older_step_is_409_and_one_for_this_step_204(
    bench: Bench, page: Viewer
) -> None:
    page.allow("status of 409")
    step = page.step
    bench.read(GOOD[1])
    page.is_at(ROUTE[2])
    assert page.step > step
    assert page.post("back", step) == (409, OLDER_STEP)
    assert page.post("keep", page.step)[0] == 409  # nothing is held
    assert page.post("back", page.step) == (204, "")
    page.is_at(ROUTE[1])
    assert len(bench.stored("void")) == 1
