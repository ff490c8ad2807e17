"""The fold of a ledger, line by line: what each kind of line changes, and what it leaves alone.

`evolve` takes any line that a ledger can hold, so these lines are made by hand, behind a state that
a session came to.
"""

from pathlib import Path

import msgspec
import pytest

from daq.lengths import Position
from daq.record.events import (
    AnyEvent,
    CheckRead,
    CheckTag,
    Closed,
    Dropped,
    Entry,
    Held,
    Kept,
    LinkBack,
    LinkLost,
    Noted,
    Read,
    Rejected,
    Resumed,
    Sent,
    Skipped,
    StintBegan,
    Temperatures,
    Voided,
    Zeroed,
)
from daq.record.evolve import evolve
from daq.record.state import State, Status, fate, next_position, status
from daq.rules.commands import CheckNow
from tests.builders import MINUTE_US, ONE, PLAN, Bench, judged, opened, setup, source

STACK = ("59.970", "59.970")
FRONT_0, FRONT_90 = (Position("M1", "front", angle) for angle in (0, 90))


def measured(folder: Path, *values: str, plan: str = ONE) -> State:
    """The gauge proven (lines 1 to 5), then these readings of the part from line 6 on."""
    return Bench.new(folder / "s", opened(plan)).press(*STACK, *values).close().state


def checking(folder: Path) -> State:
    """One place measured, and a check in between under way with one reading."""
    bench = Bench.new(folder / "s", opened(ONE)).press(*STACK, "59.980")
    bench.say(CheckNow())
    state = bench.press("59.970").close().state
    assert state.check is not None
    assert state.is_check_asked
    return state


def with_lines(state: State, *events: AnyEvent) -> State:
    """The state after more lines, each a minute after the one before."""
    for event in events:
        state = evolve(state, Entry(state.last_seq + 1, state.last_us + MINUTE_US, event))
    return state


def changed(before: State, after: State) -> set[str]:
    """The fields that differ, but for number and time of the last line, and when a reading came."""
    names = set(State.__struct_fields__) - {"last_seq", "last_us", "arrivals"}
    return {name for name in names if getattr(before, name) != getattr(after, name)}


def sent(value: str, unit: str = "mm") -> Sent:
    return Sent(value, unit, "0.001", None, (), "")


def stint(number: int) -> StintBegan:
    return StintBegan(
        stint=number,
        source=source(),
        stack="59.970 mm",
        stack_size="59.970 mm",
        cause="over",
        why="",
    )


def resumed(device: str = "usb-1") -> Resumed:
    return Resumed(
        program="0.1.0",
        rules=2,
        setup=setup(device),
        same_gauge=None,
        torn_bytes=0,
        torn_file="",
    )


HELD = Held(stint=1, reasons=("why",), sent=sent("59.981"))


# --- every line ---


@pytest.mark.parametrize(
    "event",
    [
        Rejected(
            code="syntax", detail="", raw_hex="", skipped=0, flags=(), count=1, last_raw_hex=""
        ),
        Noted(about="note", text="a remark"),
        Noted(about="link", text="rollover"),
        Dropped(held=99, why="operator"),
        Kept(held=99, stint=1, place=FRONT_90),
    ],
)
def test_some_lines_change_nothing_but_where_the_ledger_ends(
    tmp_path: Path, event: AnyEvent
) -> None:
    before = measured(tmp_path, "59.980")
    after = with_lines(before, event)
    assert changed(before, after) == set()
    assert (after.last_seq, after.last_us) == (before.last_seq + 1, before.last_us + MINUTE_US)


# --- readings of the part ---


def test_a_reading_stands_at_its_place_and_on_its_journal(tmp_path: Path) -> None:
    state = with_lines(
        measured(tmp_path), Read(stint=1, place=FRONT_0, sent=sent("2.361", unit="in"))
    )
    taken = state.standing[FRONT_0]
    assert (taken.seq, taken.run, taken.stint) == (6, 0, 1)
    assert str(taken.mm) == "59.9694"  # 2.361 x 25.4
    assert state.by_journal["M1"].taken == (taken,)
    assert state.readings == (taken,)
    assert next_position(state) == FRONT_90


@pytest.mark.parametrize("number", [0, 9])
def test_a_reading_of_a_stint_that_there_is_not_is_taken_as_it_is(
    tmp_path: Path, number: int
) -> None:
    state = with_lines(
        measured(tmp_path, "59.980"), Read(stint=number, place=FRONT_90, sent=sent("59.981"))
    )
    assert str(state.standing[FRONT_90].at_20c_mm) == "59.981"
    assert [taken.seq for taken in state.by_journal["M1"].taken] == [6, 7]


def test_what_a_reading_was_of_is_what_its_line_says(tmp_path: Path) -> None:
    """Also where another place, or none, was asked for."""
    before = measured(tmp_path)
    assert next_position(before) == FRONT_0
    state = with_lines(before, Read(stint=1, place=FRONT_90, sent=sent("59.980")))
    assert state.arrivals[None].of == FRONT_90
    state = with_lines(before, CheckRead(stint=1, check_no=2, phase="during", sent=sent("59.970")))
    assert state.arrivals[None].of == "the stack"


@pytest.mark.parametrize(("count", "of"), [(10, FRONT_0), (2, FRONT_90)])
def test_readings_told_as_one_line_are_of_what_the_last_was_if_they_came_too_soon(
    tmp_path: Path, count: int, of: Position
) -> None:
    """Three seconds after it, ten of them are; two of them are of the place that is asked for."""
    before = measured(tmp_path, "59.980")
    dropped = Dropped(held=0, why="in a row", count=count)
    after = evolve(before, Entry(before.last_seq + 1, before.last_us + 3_000_000, dropped))
    assert after.arrivals[None].of == of


def test_a_second_reading_at_a_place_takes_the_place_of_the_first(tmp_path: Path) -> None:
    state = with_lines(
        measured(tmp_path, "59.980"), Read(stint=1, place=FRONT_0, sent=sent("59.985"))
    )
    assert [str(taken.mm) for taken in state.readings] == ["59.980", "59.985"]
    assert state.standing[FRONT_0].seq == 7
    assert [taken.seq for taken in state.by_journal["M1"].taken] == [7]


@pytest.mark.parametrize("place", [Position("M9", "front", 0), Position("M1", "front", 45)])
def test_a_reading_at_a_place_that_the_plan_does_not_have_is_judged_nowhere(
    tmp_path: Path, place: Position
) -> None:
    before = measured(tmp_path, "59.980")
    after = with_lines(before, Read(stint=1, place=place, sent=sent("59.985")))
    assert after.by_journal == before.by_journal
    assert after.standing[place].seq == 7
    assert len(after.readings) == 2


def test_what_is_no_length_is_kept_as_zero(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path), Read(stint=1, place=FRONT_0, sent=sent("5", unit="kg")))
    assert state.standing[FRONT_0].mm == 0


def test_a_voided_reading_opens_its_place_and_stays_in_the_record(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path, "59.980", "59.981"), Voided(target=6, why="retake"))
    assert list(state.standing) == [FRONT_90]
    assert [taken.seq for taken in state.by_journal["M1"].taken] == [7]
    assert [taken.seq for taken in state.readings] == [6, 7]
    assert set(state.voided) == {6}
    assert next_position(state) == FRONT_0


def test_a_place_that_opens_again_cuts_a_check_short(tmp_path: Path) -> None:
    state = with_lines(checking(tmp_path), Voided(target=6, why="retake"))
    assert state.check is None
    assert not state.standing


def test_a_journal_whose_only_reading_is_voided_has_none(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path, "59.980"), Voided(target=6, why="back"))
    assert dict(state.by_journal) == {}


def test_voiding_a_line_that_holds_no_reading_is_remembered_only(tmp_path: Path) -> None:
    before = measured(tmp_path, "59.980")
    assert changed(before, with_lines(before, Voided(target=99, why="back"))) == {"voided"}


def test_a_place_left_out_is_not_asked_for_until_that_is_voided(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path), Skipped(place=FRONT_0, reason="oil hole"))
    assert dict(state.skips) == {FRONT_0: 6}
    assert next_position(state) == FRONT_90
    state = with_lines(state, Voided(target=6, why="retake"))
    assert not state.skips
    assert next_position(state) == FRONT_0


# --- held readings ---


def test_a_held_reading_asks_until_it_is_kept(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path, "59.980"), HELD)
    assert status(state) is Status.ASKING
    state = with_lines(state, Kept(held=7, stint=1, place=FRONT_90))
    assert state.held is None
    assert state.standing[FRONT_90].seq == 7, "its line is that of the held reading"


def test_a_held_reading_kept_in_a_check_counts_in_it(tmp_path: Path) -> None:
    before = Bench.new(tmp_path / "s", opened(ONE)).close().state
    state = with_lines(before, HELD, Kept(held=3, stint=1, check=CheckTag(1, "before")))
    assert state.check is not None
    assert [taken.seq for taken in state.check.readings] == [3]
    assert state.check_no == 1


def test_a_kept_reading_that_names_no_place_counts_nowhere(tmp_path: Path) -> None:
    before = measured(tmp_path, "59.980")
    assert changed(before, with_lines(before, HELD, Kept(held=7, stint=1))) == set()


def test_one_question_at_a_time_the_first(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path), HELD, HELD)
    assert state.held is not None
    assert state.held.seq == 6
    state = with_lines(state, Dropped(held=7, why="a held reading was waiting"))
    assert state.held is not None
    state = with_lines(state, Dropped(held=6, why="operator"))
    assert state.held is None


def test_drops_in_a_row_are_counted_until_something_is_taken(tmp_path: Path) -> None:
    start = measured(tmp_path)
    twice = with_lines(start, HELD, Dropped(held=6, why=""), HELD, Dropped(held=8, why=""))
    assert twice.drops_in_row == 2
    assert with_lines(twice, Noted(about="note", text="")).drops_in_row == 2
    for event in (
        Read(stint=1, place=FRONT_0, sent=sent("59.980")),
        Skipped(place=FRONT_0, reason=""),
        CheckRead(stint=1, check_no=2, phase="during", sent=sent("59.970")),
        stint(2),
        resumed(),
    ):
        assert with_lines(twice, event).drops_in_row == 0, event
    kept = with_lines(twice, HELD, Kept(held=10, stint=1, place=FRONT_0))
    assert kept.drops_in_row == 0


# --- checks ---


def test_the_readings_of_a_check_gather_until_it_is_judged(tmp_path: Path) -> None:
    state = measured(tmp_path, "59.980")
    for value in ("59.971", "59.972"):
        state = with_lines(state, CheckRead(stint=1, check_no=2, phase="during", sent=sent(value)))
    assert state.check is not None
    assert [taken.sent.value for taken in state.check.readings] == ["59.971", "59.972"]
    assert (state.check.check_no, state.check.phase, state.check_no) == (2, "during", 2)
    state = with_lines(state, judged("during", passed=True))
    assert state.check is None
    assert [str(error) for error in state.judged[-1].errors] == ["0.001", "0.002"]


def test_a_reading_of_another_check_begins_it_anew(tmp_path: Path) -> None:
    state = with_lines(
        measured(tmp_path, "59.980"),
        CheckRead(stint=1, check_no=2, phase="during", sent=sent("59.971")),
        CheckRead(stint=1, check_no=3, phase="during", sent=sent("59.972")),
    )
    assert state.check is not None
    assert (state.check.check_no, len(state.check.readings)) == (3, 1)
    assert len(state.checks) == 4, "the record has all of them: two before, two during"


def test_a_check_without_a_stint_changes_no_stint(tmp_path: Path) -> None:
    first = msgspec.structs.replace(measured(tmp_path), stint=None, judged=())
    assert changed(first, with_lines(first, judged("before", passed=True))) == set()


@pytest.mark.parametrize(
    ("phase", "passed", "is_over"),
    [
        ("before", True, False),
        ("before", False, False),
        ("during", True, False),
        ("during", False, True),
        ("after", True, True),
        ("after", False, True),
    ],
)
def test_which_judgements_end_a_stint(
    tmp_path: Path, phase: str, passed: bool, is_over: bool
) -> None:
    state = with_lines(measured(tmp_path, "59.980"), judged(phase, passed=passed))
    assert state.stint is not None
    assert state.stint.is_over is is_over
    assert set(state.over_stints) == ({1} if is_over else set())


def test_a_passed_check_is_the_last_one_that_passed(tmp_path: Path) -> None:
    before = measured(tmp_path, "59.980")
    passed = with_lines(before, judged("during", passed=True))
    assert before.stint is not None
    assert passed.stint is not None
    assert passed.stint.last_passed_us == passed.last_us
    assert passed.stint.before == before.stint.before, "the before-check stays what it was"
    failed = with_lines(before, judged("during", passed=False))
    assert failed.stint is not None
    assert failed.stint.last_passed_us == before.stint.last_passed_us


def test_a_judgement_answers_the_wish_for_a_check(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path, "59.980"), Noted(about="check", text=""))
    assert status(state) is Status.CHECKING
    assert status(with_lines(state, judged("during", passed=True))) is Status.MEASURING


def test_the_stint_is_like_the_first_reading_of_its_before_check(tmp_path: Path) -> None:
    first = Bench.new(tmp_path / "s", opened(ONE)).close().state
    one = CheckRead(
        stint=1, check_no=1, phase="before", sent=Sent("2.361", "in", "0.0001", "2", ("a",), "")
    )
    two = CheckRead(stint=1, check_no=1, phase="before", sent=sent("59.970"))
    state = with_lines(first, one, two)
    assert state.stint is not None
    assert (state.stint.unit, state.stint.resolution) == ("in", "0.0001")
    assert (state.stint.channel, state.stint.flags) == ("2", ("a",))
    # Its first one taken back, it is like the other; then like none.
    state = with_lines(state, Voided(target=3, why="back"))
    assert state.stint is not None
    assert (state.stint.unit, state.stint.channel, state.stint.flags) == ("mm", None, ())
    state = with_lines(state, Voided(target=4, why="back"))
    assert state.stint is not None
    assert (state.stint.unit, state.stint.resolution, state.stint.flags) == (None, None, ())


def test_a_later_check_does_not_change_what_the_stint_is_like(tmp_path: Path) -> None:
    before = measured(tmp_path, "59.980")
    other = CheckRead(stint=1, check_no=2, phase="during", sent=sent("2.361", unit="in"))
    assert with_lines(before, other).stint == before.stint


def test_a_failed_before_check_leaves_the_stint_like_nothing(tmp_path: Path) -> None:
    first = Bench.new(tmp_path / "s", opened(ONE)).close().state
    one = CheckRead(
        stint=1, check_no=1, phase="before", sent=Sent("59.970", "mm", "0.001", "2", ("a",), "")
    )
    state = with_lines(first, one, judged("before", passed=False, check_no=1))
    assert state.stint is not None
    assert (state.stint.unit, state.stint.resolution) == (None, None)
    assert (state.stint.channel, state.stint.flags) == (None, ())
    assert status(state) is Status.WAITING


# --- stints ---


@pytest.mark.parametrize("event", [stint(2), resumed()])
def test_a_stint_or_a_run_begins_without_the_check_and_the_wishes_of_before(
    tmp_path: Path, event: AnyEvent
) -> None:
    state = with_lines(checking(tmp_path), event)
    assert (state.check, state.is_check_asked) == (None, False)
    wished = with_lines(measured(tmp_path / "b", "59.980"), Noted(about="stop", text="enough"))
    state = with_lines(wished, event)
    assert (state.ending, state.ending_reason) == ("", "")


def test_a_new_stint_ends_the_old_one_and_begins_with_nothing(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path, "59.980"), stint(2))
    assert set(state.over_stints) == {1}
    assert fate(state, state.standing[FRONT_0]) == "tainted"
    assert state.stint is not None
    assert (state.stint.event.stint, state.stint.before, state.stint.unit) == (2, None, None)
    assert str(state.stint.size) == "59.970 mm"
    assert [each.stint for each in state.stints] == [1, 2]
    assert next_position(state) == FRONT_0


def test_a_zero_that_was_lost_ends_the_stint_and_its_check(tmp_path: Path) -> None:
    state = with_lines(checking(tmp_path), Zeroed(stint=1, why="operator"))
    assert status(state) is Status.OVER
    assert state.check is None
    assert fate(state, state.standing[FRONT_0]) == "tainted"


# --- the link and other runs ---


def test_a_link_that_is_back_cuts_a_check_short(tmp_path: Path) -> None:
    first = Bench.new(tmp_path / "s", opened(ONE)).press("59.970").close().state
    lost = with_lines(first, LinkLost(reason="unplugged"))
    assert changed(first, lost) == {"link_lost"}
    back = with_lines(lost, LinkBack(source=source("usb-2")))
    assert not back.link_lost
    assert back.setup.source.device == "usb-2"
    assert back.check is None
    assert back.stint is not None
    assert back.stint.unit is None, "its before-check begins anew"


def test_a_proven_stint_stays_like_its_first_reading_when_the_link_is_back(tmp_path: Path) -> None:
    before = measured(tmp_path, "59.980")
    assert before.stint is not None
    assert (before.stint.unit, before.stint.resolution) == ("mm", "0.001")
    after = with_lines(before, LinkLost(reason=""), LinkBack(source=source()))
    assert after.stint == before.stint


def test_a_resume_is_another_run(tmp_path: Path) -> None:
    warm = msgspec.structs.replace(
        resumed("usb-2"), setup=setup("usb-2", temperatures=Temperatures("25", "", ""))
    )
    state = with_lines(measured(tmp_path, "59.980"), warm)
    assert state.setup == warm.setup
    assert [run.source.device for run in state.setups] == ["usb-1", "usb-2"]
    assert len(state.gauges) == len(state.environments) == 2
    state = with_lines(state, Read(stint=1, place=FRONT_90, sent=sent("59.980")))
    assert state.standing[FRONT_90].run == 1


def test_another_run_may_have_another_route(tmp_path: Path) -> None:
    mains = measured(tmp_path, "59.980", "59.981", "59.979", "59.982", plan=PLAN)
    rods = msgspec.structs.replace(resumed(), setup=setup(only=("rods",)))
    state = with_lines(mains, rods)
    assert {place.journal for place in state.scope.route} == {"R1"}
    assert next_position(state) == Position("R1", "middle", 0)


def test_a_resume_forgets_a_before_check_that_was_cut_short(tmp_path: Path) -> None:
    first = Bench.new(tmp_path / "s", opened(ONE)).press("59.970").close().state
    state = with_lines(first, resumed())
    assert state.stint is not None
    assert state.stint.unit is None


# --- words ---


def test_a_wish_to_end_takes_the_place_of_a_wish_for_a_check(tmp_path: Path) -> None:
    state = with_lines(checking(tmp_path), Noted(about="stop", text="enough"))
    assert (state.ending, state.ending_reason) == ("stop", "enough")
    assert not state.is_check_asked
    assert state.check is None, "what was read of the check in between does not count"
    assert status(state) is Status.CLOSING


def test_a_wish_to_end_leaves_the_closing_check_that_is_under_way(tmp_path: Path) -> None:
    before = measured(tmp_path, "59.980", "59.981", "59.970")
    assert before.check is not None
    state = with_lines(before, Noted(about="later", text=""))
    assert state.check == before.check
    assert state.ending == "later"


def test_later_before_any_check_passed_ends_the_stint(tmp_path: Path) -> None:
    first = Bench.new(tmp_path / "s", opened(ONE)).press("59.970").close().state
    state = with_lines(first, Noted(about="later", text=""))
    assert status(state) is Status.OVER
    assert state.check is None
    stopped = with_lines(first, Noted(about="stop", text=""))
    assert stopped.stint is not None
    assert not stopped.stint.is_over


def test_reasons_to_use_a_gauge_despite_its_history_gather(tmp_path: Path) -> None:
    state = with_lines(
        measured(tmp_path),
        Noted(about="despite-history", text="one"),
        Noted(about="despite-history", text="two"),
    )
    assert state.despite == ("one", "two")


# --- the end ---


def closing(rules: int) -> Closed:
    return Closed(
        program="0.1.0", rules=rules, verdict="rejected", reasons=(), journals=(), groups=()
    )


def test_the_closing_line_ends_stint_and_question(tmp_path: Path) -> None:
    state = with_lines(measured(tmp_path, "59.980"), HELD, closing(2))
    assert status(state) is Status.CLOSED
    assert state.held is None
    assert set(state.over_stints) == {1}
    assert fate(state, state.standing[FRONT_0]) == "tainted"


def test_a_session_closed_under_older_rules_has_the_sizes_that_were_judged_then(
    tmp_path: Path,
) -> None:
    # At 30 degrees the part is larger than at 20; rule set 1 knew no temperatures.
    warm = setup(temperatures=Temperatures("30", "", "20"))
    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=warm))
    before = bench.press(*STACK, "59.980", "59.981").close().state
    assert before.standing[FRONT_0].at_20c_mm < before.standing[FRONT_0].mm
    now = with_lines(before, closing(2))
    assert now.standing == before.standing
    then = with_lines(before, closing(1))
    assert then.rules == 1
    for taken in (*then.readings, *then.standing.values(), *then.by_journal["M1"].taken):
        assert taken.at_20c_mm == taken.mm
    assert sorted(then.standing) == [FRONT_0, FRONT_90]
