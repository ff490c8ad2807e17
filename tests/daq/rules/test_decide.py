"""What each command leads to, line by line. Which status allows it is in test_decide_table."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from daq.acquisition.manager import Step
from daq.errors import Refused
from daq.record.events import (
    AnyEvent,
    CheckJudged,
    CheckRead,
    CheckTag,
    Closed,
    Dropped,
    Held,
    Kept,
    LinkLost,
    Noted,
    Read,
    Rejected,
    Skipped,
    StintBegan,
    Voided,
    Zeroed,
)
from daq.record.state import Status, next_position, phase, status
from daq.rules.commands import (
    Abandon,
    Back,
    CheckNow,
    Command,
    Drop,
    GaugeZeroed,
    GiveUp,
    HistoryNote,
    Keep,
    Later,
    LinkNote,
    LoseLink,
    Note,
    Retake,
    Skip,
    StopHere,
    TakeReject,
    TimePassed,
)
from drivers.reading import Instant, Reject
from tests.builders import MINUTE_US, ONE, PLAN, Bench, opened, setup

STACK = ("59.970", "59.970")


def bench_of(folder: Path, plan: str = ONE) -> Bench:
    """A new session: opened is line 1, its first stint line 2."""
    return Bench.new(folder / "s", opened(plan))


def measuring(folder: Path, plan: str = ONE) -> Bench:
    """The gauge proven (lines 3 to 5) and the first place measured (line 6)."""
    return bench_of(folder, plan).press(*STACK, "59.980")


def events(step: Step) -> list[AnyEvent]:
    return [entry.event for entry in step.entries]


def said(bench: Bench, command: Command) -> list[AnyEvent]:
    return events(bench.say(command))


def causes(found: Sequence[AnyEvent]) -> list[tuple[str, str]]:
    """Why each stint among these began."""
    return [(event.cause, event.why) for event in found if isinstance(event, StintBegan)]


# --- words and notes ---


@pytest.mark.parametrize(
    ("command", "event"),
    [
        (Back(), Voided(target=6, why="back")),
        (Retake("M1/front/0"), Voided(target=6, why="retake")),
        (Note("the light is poor"), Noted(about="note", text="the light is poor")),
        (CheckNow(), Noted(about="check", text="")),
        (StopHere("enough"), Noted(about="stop", text="enough")),
        (Later(), Noted(about="later", text="")),
        (LoseLink("unplugged"), LinkLost(reason="unplugged")),
        (LinkNote("rollover"), Noted(about="link", text="rollover")),
        (HistoryNote("told Ada"), Noted(about="despite-history", text="told Ada")),
    ],
)
def test_a_word_while_measuring_is_one_line(
    tmp_path: Path, command: Command, event: AnyEvent
) -> None:
    bench = measuring(tmp_path)
    assert said(bench, command) == [event]
    bench.close()


def test_a_place_left_out_is_named_with_the_reason(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    place = next_position(bench.state)
    assert place is not None
    assert said(bench, Skip("oil hole")) == [Skipped(place=place, reason="oil hole")]
    bench.close()


def test_why_a_gauge_is_used_despite_its_history_is_a_reason_of_the_verdict(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(HistoryNote("told Ada"))
    bench.press("59.981", *STACK).close()
    assert bench.state.closed is not None
    assert "the gauge was used despite its history: told Ada" in bench.state.closed.reasons


def test_bytes_that_are_no_reading_are_kept_whole(tmp_path: Path) -> None:
    reject = Reject("syntax", "no number", b"\x02ERR", Instant(0, 0), 7, ("no-echo",))
    bench = measuring(tmp_path)
    assert said(bench, TakeReject(reject, count=3, last_raw=b"ER2")) == [
        Rejected(
            code="syntax",
            detail="no number",
            raw_hex="02455252",
            skipped=7,
            flags=("no-echo",),
            count=3,
            last_raw_hex="455232",
        )
    ]
    bench.close()


# --- taking back ---


def test_back_takes_the_latest_of_readings_and_skips(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(Skip("oil hole"))  # line 7, and nothing is left to measure
    assert said(bench, Back()) == [Voided(target=7, why="back")]
    assert said(bench, Back()) == [Voided(target=6, why="back")]
    with pytest.raises(Refused, match="there is no reading yet to take back") as refused:
        bench.say(Back())
    assert refused.value.code == "nothing-to-take-back"
    bench.close()


def test_back_takes_the_later_of_two_skips(tmp_path: Path) -> None:
    bench = measuring(tmp_path, PLAN)
    bench.say(Skip("oil hole"))  # line 7
    bench.say(Skip("oil hole"))  # line 8
    assert said(bench, Back()) == [Voided(target=8, why="back")]
    bench.close()


def test_back_in_a_check_takes_a_reading_of_the_stack(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press("59.970")
    assert said(bench, Back()) == [Voided(target=3, why="back")]
    with pytest.raises(Refused, match="this check has no reading yet to take back") as refused:
        bench.say(Back())
    assert refused.value.code == "nothing-to-take-back"
    bench.close()


def test_a_place_left_out_can_be_measured_after_all(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(Skip("oil hole"))
    assert said(bench, Retake("M1/front/90")) == [Voided(target=7, why="retake")]
    with pytest.raises(Refused, match="M1 front 90° has no reading yet") as refused:
        bench.say(Retake("M1/front/90"))
    assert refused.value.code == "not-measured-yet"
    bench.close()


# --- readings ---


def test_a_reading_goes_to_the_check_that_is_due_else_to_the_place_asked_for(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path).press("59.970")
    (first,) = events(bench.steps[-1])
    assert isinstance(first, CheckRead)
    assert (first.stint, first.check_no, first.phase) == (1, 1, "before")
    place = bench.state.scope.route[0]
    bench.press("59.970", "59.980")
    (reading,) = events(bench.steps[-1])
    assert isinstance(reading, Read)
    assert (reading.stint, reading.place, reading.sent.value) == (1, place, "59.980")
    bench.close()


def test_a_tainted_reading_is_taken_back_where_its_place_is_measured_again(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(GaugeZeroed())
    bench.press(*STACK, "59.981")
    voided, reading = events(bench.steps[-1])
    assert voided == Voided(target=6, why="measured again after a new check")
    assert isinstance(reading, Read)
    bench.close()


def test_a_tainted_reading_is_taken_back_where_its_place_is_left_out(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(GaugeZeroed())
    bench.press(*STACK)
    voided, skipped = said(bench, Skip("oil hole"))
    assert voided == Voided(target=6, why="skipped after a new check")
    assert isinstance(skipped, Skipped)
    bench.close()


def test_what_comes_while_a_question_is_open_is_set_aside(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("61.000", "59.980")
    held, dropped = events(bench.steps[-1])
    why = "the reading before waits for keep or drop"
    assert isinstance(held, Held)
    assert (held.stint, held.reasons, held.sent.value) == (1, (why,), "59.980")
    assert dropped == Dropped(held=bench.steps[-1].entries[0].seq, why=why)
    assert bench.state.held is not None
    assert bench.state.held.event.sent.value == "61.000"
    bench.close()


def test_what_comes_while_no_stint_runs_is_set_aside(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(Later())
    bench.press(*STACK, "59.981")
    assert status(bench.state) is Status.OVER
    held, dropped = events(bench.steps[-1])
    assert isinstance(held, Held)
    assert (held.stint, held.reasons) == (1, ("nothing was being measured",))
    assert isinstance(dropped, Dropped)
    assert dropped.why == "nothing was being measured"
    bench.close()


def test_a_gauge_that_says_it_lost_its_zero_ends_the_stint(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("59.981", flags=("zeroed", "preset"))
    held, dropped, zeroed, stint = events(bench.steps[-1])
    assert isinstance(held, Held)
    assert isinstance(dropped, Dropped)
    assert zeroed == Zeroed(stint=1, why="the gauge says preset, zeroed")
    assert causes([stint]) == [("over", "the check after is done")]
    bench.close()


def test_the_operator_says_that_the_gauge_was_zeroed(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    zeroed, stint = said(bench, GaugeZeroed())
    assert zeroed == Zeroed(stint=1, why="operator")
    assert causes([stint]) == [("over", "the check after is done")]
    bench.close()


# --- held readings ---


def test_a_kept_reading_counts_where_it_was_taken(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("61.000")  # line 7
    place = bench.state.scope.route[1]
    assert said(bench, Keep()) == [Kept(held=7, stint=1, place=place)]
    bench.close()


def test_a_kept_reading_of_the_stack_counts_in_its_check(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press("59.970", "59.970", flags=("repeat",))  # lines 3 and 4
    assert said(bench, Keep()) == [Kept(held=3, stint=1, check=CheckTag(1, "before"))]
    bench.close()


@pytest.mark.parametrize(("command", "why"), [(Drop(), "operator"), (Drop("a slip"), "a slip")])
def test_a_dropped_reading_does_not_count(tmp_path: Path, command: Drop, why: str) -> None:
    bench = measuring(tmp_path).press("61.000")
    assert said(bench, command) == [Dropped(held=7, why=why)]
    bench.close()


@pytest.mark.parametrize(
    ("value", "unit", "why"),
    [
        ("59.980", "kg", "its unit is not a length, so it cannot count"),
        ("0.010", "mm", "a gauge that sends a deviation cannot be used here"),
    ],
)
def test_what_cannot_be_a_size_is_dropped_though_it_was_kept(
    tmp_path: Path, value: str, unit: str, why: str
) -> None:
    bench = measuring(tmp_path).press(value, unit=unit)
    assert said(bench, Keep()) == [Dropped(held=7, why=why)]
    bench.close()


def test_a_kept_reading_of_another_device_means_a_swapped_gauge(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("59.981", channel="2")
    dropped, stint = said(bench, Keep())
    assert isinstance(dropped, Dropped)
    assert dropped.why.startswith("the gauge was swapped: it is from another device: channel 2")
    assert causes([stint]) == [("swapped", dropped.why)]
    bench.close()


# --- time ---


def aged(bench: Bench) -> list[AnyEvent]:
    """What follows when nothing happens for longer than a check is good for (240 minutes)."""
    return events(bench.say(TimePassed(), 241 * MINUTE_US))


def test_time_passing_is_nothing_until_the_check_is_too_old(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    assert said(bench, TimePassed()) == []
    why = "the last passed check is 241.03 min old, permitted 240 min"  # 2 s of presses = 0.03 min
    assert causes(aged(bench)) == [("age", why)]
    bench.close()


def test_time_passing_at_the_closing_check_begins_no_stint(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("59.981")
    assert status(bench.state) is Status.CLOSING
    assert aged(bench) == []
    bench.close()


def test_time_passing_at_a_check_in_between_begins_no_stint(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(CheckNow())
    assert aged(bench) == []
    bench.close()


def test_time_passing_while_a_question_is_open_begins_no_stint(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("61.000")
    assert aged(bench) == []
    bench.close()


def test_a_reading_behind_a_check_too_old_is_set_aside_and_a_stint_begins(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.now_us += 241 * MINUTE_US
    bench.press("59.981")
    held, dropped, stint = events(bench.steps[-1])
    assert isinstance(held, Held)
    assert isinstance(dropped, Dropped)
    assert held.reasons == (dropped.why,)
    assert causes([stint]) == [("age", dropped.why)]
    bench.close()


def test_a_reading_for_the_closing_check_is_judged_however_old_the_last_is(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("59.981")
    bench.now_us += 241 * MINUTE_US
    bench.press("59.970")
    assert [type(event) for event in events(bench.steps[-1])] == [CheckRead]
    bench.close()


# --- why stints begin ---


def test_the_first_stint_begins_with_the_session(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert causes(events(bench.steps[0])) == [("first", "the session begins")]
    bench.close()


def test_the_next_stack_begins_a_stint_when_the_last_is_done(tmp_path: Path) -> None:
    bench = measuring(tmp_path, PLAN).press("59.981", "59.979", "59.982", *STACK)
    assert causes(events(bench.steps[-1])) == [("over", "the check after is done")]
    bench.close()


def test_a_failed_check_begins_a_stint_where_something_is_left(tmp_path: Path) -> None:
    bench = measuring(tmp_path, PLAN)
    bench.say(CheckNow())
    bench.press("59.975", "59.975")  # 0.005 over the stack, permitted 0.002
    assert causes(events(bench.steps[-1])) == [("check-failed", "the last check failed")]
    bench.close()


def test_a_stint_that_proves_on_another_stack_than_the_next_place_needs_gives_way(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=setup(only=("rods",)))).close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US)
    found = events(again.steps[0])
    assert causes(found) == [("stack", "M1 front 0° needs another stack")]
    again.close()


def test_a_run_for_which_nothing_is_left_waits_without_a_place(tmp_path: Path) -> None:
    rods = setup(only=("rods",))
    first = Bench.new(tmp_path / "s", opened(PLAN, with_setup=rods))
    first.press("50.780", "50.781", "50.790", "50.791", "50.780", "50.781").close()
    assert status(first.state) is Status.OVER
    mains = Bench.again(first.folder, first.now_us + MINUTE_US).close()
    assert status(mains.state) is Status.WAITING
    again = Bench.again(first.folder, mains.now_us + MINUTE_US, rods)
    assert next_position(again.state) is None
    assert [cause for cause, _ in causes(events(again.steps[0]))] == ["stack"]
    again.close()


# --- checks and the end ---


def test_a_passed_closing_check_with_nothing_left_closes_the_session(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("59.981", *STACK)
    read, judged, closed = events(bench.steps[-1])
    assert isinstance(read, CheckRead)
    assert isinstance(judged, CheckJudged)
    assert isinstance(closed, Closed)
    assert closed.verdict == "accepted"
    assert not any("stopped" in reason for reason in closed.reasons)
    bench.close()


def test_a_failed_closing_check_with_nothing_left_rejects_the_session(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("59.981", "59.975", "59.975").close()
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "rejected"
    assert not any("stopped" in reason for reason in bench.state.closed.reasons)


def test_a_failed_closing_check_with_another_stack_to_come_begins_a_stint(tmp_path: Path) -> None:
    bench = measuring(tmp_path, PLAN).press("59.981", "59.979", "59.982", "59.975", "59.975")
    assert bench.state.closed is None
    assert causes(events(bench.steps[-1])) == [("check-failed", "the last check failed")]
    bench.close()


@pytest.mark.parametrize(
    ("stack", "verdict"), [("59.970", "accepted"), ("59.975", "rejected")], ids=["passed", "failed"]
)
def test_stop_closes_by_its_closing_check_and_says_why(
    tmp_path: Path, stack: str, verdict: str
) -> None:
    bench = measuring(tmp_path, PLAN)
    assert said(bench, StopHere("the shift ends")) == [Noted(about="stop", text="the shift ends")]
    assert phase(bench.state) == "after"
    bench.press(stack, stack).close()
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == verdict
    assert bench.state.closed.reasons[0] == "stopped: the shift ends"


def test_stop_with_nothing_measured_and_a_failed_closing_check_is_rejected(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    bench.say(StopHere("no time"))
    bench.press("59.975", "59.975").close()
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "rejected"


def test_stop_before_any_check_closes_at_once(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    noted, closed = said(bench, StopHere("no time"))
    assert noted == Noted(about="stop", text="no time")
    assert isinstance(closed, Closed)
    assert (closed.verdict, closed.reasons[0]) == ("rejected", "stopped: no time")
    bench.close()


def test_stop_between_two_runs_closes_at_once(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(Later())
    bench.press(*STACK)
    assert status(bench.state) is Status.OVER
    noted, closed = said(bench, StopHere("no time"))
    assert isinstance(noted, Noted)
    assert isinstance(closed, Closed)
    assert (closed.verdict, closed.reasons[0]) == ("accepted", "stopped: no time")
    bench.close()


@pytest.mark.parametrize("stack", ["59.970", "59.975"], ids=["passed", "failed"])
def test_later_leaves_the_session_open_whatever_its_check_says(tmp_path: Path, stack: str) -> None:
    bench = measuring(tmp_path)
    bench.press("59.981")
    bench.say(Later())
    bench.press(stack, stack).close()
    assert bench.state.closed is None
    assert status(bench.state) is Status.OVER


@pytest.mark.parametrize(
    ("command", "verdict", "reason"),
    [
        (Abandon("dropped it"), "abandoned", "abandoned: dropped it"),
        (GiveUp("nobody is there"), "rejected", "nobody is there"),
    ],
)
def test_a_session_given_up_is_closed_at_once_and_a_question_dies_with_it(
    tmp_path: Path, command: Command, verdict: str, reason: str
) -> None:
    bench = measuring(tmp_path).press("61.000")
    dropped, closed = said(bench, command)
    assert dropped == Dropped(held=7, why="the session was closed")
    assert isinstance(closed, Closed)
    assert (closed.verdict, closed.reasons[0]) == (verdict, reason)
    bench.close()


# --- refusals in words ---


@pytest.mark.parametrize(
    ("presses", "command", "words"),
    [
        ((), CheckNow(), "a check is due already: read the stack"),
        ((*STACK, "59.980", "59.981"), CheckNow(), "a check is due already"),
        ((), Keep(), "no reading is in question, so there is nothing to keep or drop"),
        ((*STACK,), Drop(), "no reading is in question, so there is nothing to keep or drop"),
        ((), Skip("x"), "the gauge is not checked yet: read the stack first"),
        ((*STACK, "59.980", "59.981"), Skip("x"), "the closing check is due: read the stack"),
        ((*STACK, "61.000"), CheckNow(), "a reading is in question: type keep or drop first"),
        ((*STACK, "61.000"), Skip("x"), "a reading is in question: type keep or drop first"),
        ((*STACK, "59.980", "59.981", *STACK), Keep(), "a closed session is final"),
        ((*STACK, "59.980", "59.981", *STACK), CheckNow(), "a closed session is final"),
    ],
)
def test_a_refusal_says_what_is_due_instead(
    tmp_path: Path, presses: tuple[str, ...], command: Command, words: str
) -> None:
    bench = bench_of(tmp_path).press(*presses)
    with pytest.raises(Refused, match=words):
        bench.say(command)
    bench.close()


def test_a_refusal_while_a_check_is_under_way_or_no_stint_runs(tmp_path: Path) -> None:
    bench = measuring(tmp_path)
    bench.say(CheckNow())
    with pytest.raises(Refused, match="a check is under way: read the stack first"):
        bench.say(CheckNow())
    bench.say(Later())
    bench.press(*STACK)
    with pytest.raises(Refused, match="nothing is being measured: resume the session"):
        bench.say(CheckNow())
    bench.close()
