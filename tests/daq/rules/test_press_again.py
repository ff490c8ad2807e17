"""Where the plan says so, a second press answers for one that was in question for its time: when
exactly, and that nothing else ever does.
"""

from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.board.asked import prompt
from daq.lengths import Position
from daq.record.events import CheckRead, Dropped, Entry, Held, Kept, Read
from daq.record.state import State, Status, status
from daq.rules.commands import (
    CheckNow,
    Drop,
    FindLink,
    Keep,
    LoseLink,
    Retake,
    TakeReading,
    Why,
)
from daq.rules.decide import allowed_words, decide
from daq.rules.press_again import (
    LONGEST_US,
    PRESSED_AGAIN,
    QUESTION_OPEN,
    can_be_pressed,
    is_offered,
)
from daq.services.verify import verify
from daq.storage.replay import load_state
from drivers.reading import LATE
from tests.builders import ONE, SECOND_US, Bench, at_once, opened, reading, setup, source

AGAIN = ONE.replace("[defaults]\n", '[defaults]\nheld = "press-again"\n')
STACK = ("59.970", "59.970")
FRONT_90 = Position("M1", "front", 90, 1)
SOON_US = 200_000
"""After the reading before: sooner than any hand, on the part (0.7 s) and on the stack (0.3 s)."""


def begun(folder: Path, *values: str, plan: str = AGAIN, step: str | None = None) -> Bench:
    """A session so far; each press a second after the one before."""
    with_setup = msgspec.structs.replace(setup(), step=step)
    return Bench.new(folder / "s", opened(plan, with_setup=with_setup)).press(*values)


def came(bench: Bench, value: str, after_us: int, why: Why = "sent", **how: Any) -> tuple[str, ...]:
    """A reading so long after the last thing: the kinds of the lines that it led to."""
    made = reading(value, bench.now_us + after_us, **how)
    step = bench.say(TakeReading(made, why), after_us)
    return tuple(type(entry.event).__name__ for entry in step.entries)


def twice(folder: Path, **how: str) -> Bench:
    """In question: 59.980 mm at M1 front 90 degrees, so soon after that of 0 degrees."""
    bench = begun(folder, *STACK, "59.981", **how)
    assert came(bench, "59.980", SOON_US) == ("Held",)
    return bench


def why_not(bench: Bench, value: str, after_us: int, why: Why = "sent", **how: Any) -> str:
    """Why a second reading did not answer: it was set aside, and the question stays."""
    question = bench.state.held
    assert came(bench, value, after_us, why, **how) == ("Held", "Dropped")
    assert bench.state.held == question
    dropped = bench.steps[-1].entries[-1].event
    assert isinstance(dropped, Dropped)
    assert dropped.why.startswith(QUESTION_OPEN)
    return dropped.why.removeprefix(QUESTION_OPEN).removeprefix(
        ", and this one does not answer for it: "
    )


# What it comes to ---------------------------------------------------------------------------------


def test_the_first_is_dropped_and_the_second_counts_where_it_was_pressed(tmp_path: Path) -> None:
    bench = twice(tmp_path)
    held = bench.state.last_seq
    assert came(bench, "59.980", SECOND_US) == ("Dropped", "Read")
    dropped, read = (entry.event for entry in bench.steps[-1].entries)
    assert dropped == Dropped(held=held, why=PRESSED_AGAIN)
    assert isinstance(read, Read)
    assert (read.place, read.sent.value) == (FRONT_90, "59.980")
    assert bench.state.standing[FRONT_90].seq == bench.state.last_seq
    assert bench.state.held is None


def test_the_session_goes_on_to_its_end_and_comes_out_the_same_from_its_record(
    tmp_path: Path,
) -> None:
    bench = twice(tmp_path)
    came(bench, "59.980", SECOND_US)
    bench.press(*STACK)
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    bench.close()
    found = verify(bench.folder)
    assert found.faults == ()
    state, _ = load_state(bench.folder)
    assert (state.standing, state.arrivals) == (bench.state.standing, bench.state.arrivals)
    assert (state.held, state.drops_in_row) == (None, 0)


def test_it_is_offered_by_name_of_the_place_and_the_words_stay(tmp_path: Path) -> None:
    bench = twice(tmp_path)
    assert prompt(bench.state).action == (
        "that came 0.2 s after M1 front 0°: pressed twice? Press send once more at M1 front 90° "
        "within 10 s, or type keep or drop"
    )
    assert prompt(bench.state, "press Enter").action.count("Press Enter once more at M1") == 1
    assert {"keep", "drop"} <= set(allowed_words(bench.state))
    board, _ = bench.board_after(TakeReading(reading("59.980", bench.now_us + SECOND_US)))
    assert board.news == (
        "Pressed again: this one counts, the one before does not.",
        "M1 front 90°: 59.980 mm",
    )


def test_typed_words_answer_as_ever(tmp_path: Path) -> None:
    kept = twice(tmp_path / "kept").say(Keep())
    assert [type(entry.event) for entry in kept.entries] == [Kept]
    dropped = twice(tmp_path / "dropped").say(Drop())
    assert dropped.entries[0].event == Dropped(held=7, why="operator")


# When ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("after_us", "why"),
    [
        (0, "it came less than 0.1 s after the one before, too soon"),
        (699_999, "it came 699 ms after the one before, too soon"),
        (700_000, ""),
        (10_000_000, ""),
        (10_000_001, "it came more than 10 s after that"),
    ],
)
def test_a_press_answers_from_the_least_interval_to_ten_seconds_after(
    tmp_path: Path, after_us: int, why: str
) -> None:
    bench = twice(tmp_path)
    if why:
        assert why_not(bench, "59.980", after_us) == why
    else:
        assert came(bench, "59.980", after_us) == ("Dropped", "Read")


@pytest.mark.parametrize(("after_us", "answers"), [(299_999, False), (300_000, True)])
def test_within_a_check_its_own_interval_rules(
    tmp_path: Path, after_us: int, answers: bool
) -> None:
    bench = begun(tmp_path, "59.970")
    assert came(bench, "59.971", SOON_US) == ("Held",)
    assert prompt(bench.state).action == (
        "that came 0.2 s after the stack: pressed twice? Press send once more on the stack within "
        "10 s, or type keep or drop"
    )
    if answers:
        assert came(bench, "59.971", after_us) == ("Dropped", "CheckRead", "CheckJudged")
        assert status(bench.state) is Status.MEASURING
    else:
        assert why_not(bench, "59.971", after_us).endswith("299 ms after the one before, too soon")


@pytest.mark.parametrize(("after_us", "answers"), [(699_999, False), (700_000, True)])
def test_at_the_first_place_after_a_check_the_longer_interval_rules(
    tmp_path: Path, after_us: int, answers: bool
) -> None:
    bench = begun(tmp_path, *STACK)
    assert came(bench, "59.980", 400_000) == ("Held",)
    expected = ("Dropped", "Read") if answers else ("Held", "Dropped")
    assert came(bench, "59.980", after_us) == expected
    assert (Position("M1", "front", 0, 1) in bench.state.standing) is answers


@pytest.mark.parametrize(("after_us", "answers"), [(299_999, False), (300_000, True)])
def test_in_a_check_in_between_it_is_read_of_that_check(
    tmp_path: Path, after_us: int, answers: bool
) -> None:
    bench = begun(tmp_path, *STACK, "59.981")
    bench.say(CheckNow())
    bench.press("59.970")
    assert came(bench, "59.970", SOON_US) == ("Held",)
    lines = came(bench, "59.970", after_us)
    assert lines == (("Dropped", "CheckRead", "CheckJudged") if answers else ("Held", "Dropped"))
    if answers:
        read = bench.steps[-1].entries[1].event
        assert isinstance(read, CheckRead)
        assert (read.phase, read.check_no) == ("during", 2)


def test_the_first_reading_of_a_closing_check_needs_the_longer_interval(tmp_path: Path) -> None:
    bench = begun(tmp_path, *STACK, "59.981", "59.981")
    assert status(bench.state) is Status.CLOSING
    assert came(bench, "59.970", SOON_US) == ("Held",)
    assert why_not(bench, "59.970", 699_999).endswith("too soon")
    assert came(bench, "59.970", 700_000) == ("Dropped", "CheckRead")


def test_one_too_soon_after_another_that_was_set_aside_does_not_answer(tmp_path: Path) -> None:
    """So a gauge that sends by itself every half second answers for nothing."""
    bench = twice(tmp_path)
    for _ in range(3):
        assert "0.5 s after the one before, too soon" in why_not(bench, "59.980", 500_000)
    assert came(bench, "59.980", 700_000) == ("Dropped", "Read")


def test_the_ten_seconds_run_from_the_one_in_question_whatever_came_since(tmp_path: Path) -> None:
    bench = twice(tmp_path)
    why_not(bench, "59.990", 9_000_000)
    assert why_not(bench, "59.980", 1_000_001) == "it came more than 10 s after that"


def test_a_clock_set_back_answers_for_nothing(tmp_path: Path) -> None:
    bench = twice(tmp_path)
    assert "too soon" in why_not(bench, "59.980", -1)


def test_with_the_interval_off_a_repeat_may_be_answered_at_once(tmp_path: Path) -> None:
    bench = begun(tmp_path, *STACK, plan=at_once(AGAIN))
    assert came(bench, "59.980", 0, flags=("repeat",)) == ("Held",)
    assert came(bench, "59.980", 0) == ("Dropped", "Read")


# How near -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "answers"),
    [("59.982", True), ("59.978", True), ("59.983", False), ("59.977", False)],
)
def test_it_must_lie_within_two_steps(tmp_path: Path, value: str, answers: bool) -> None:
    """In question is 59.980; two steps of 0.001 mm are 0.002 mm."""
    bench = twice(tmp_path)
    if answers:
        assert came(bench, value, SECOND_US) == ("Dropped", "Read")
        assert bench.state.standing[FRONT_90].sent.value == value
    else:
        assert why_not(bench, value, SECOND_US) == "it is more than two steps of 0.001 mm away"


@pytest.mark.parametrize(("value", "answers"), [("59.990", True), ("59.991", False)])
def test_the_step_told_for_the_gauge_counts_where_it_is_coarser(
    tmp_path: Path, value: str, answers: bool
) -> None:
    """Two steps of 0.005 mm are 0.010 mm."""
    bench = twice(tmp_path, step="0.005 mm")
    if answers:
        assert came(bench, value, SECOND_US) == ("Dropped", "Read")
    else:
        assert why_not(bench, value, SECOND_US) == "it is more than two steps of 0.005 mm away"


@pytest.mark.parametrize(("value", "answers"), [("59.990", True), ("59.991", False)])
def test_so_does_the_step_in_its_file(tmp_path: Path, value: str, answers: bool) -> None:
    text = 'schema = 1\nprofile = "bench"\nport = "/dev/ttyUSB0"\nresolution = "0.005 mm"\n'
    plan = AGAIN.replace("readings = 2", 'readings = 2\nleast_interval = "0 s"')
    first = opened(plan, with_setup=setup(gauge_file=text))
    wide = first.plan.replace('high = "59.990 mm"', 'high = "60.100 mm"')
    first = msgspec.structs.replace(first, plan=wide)
    bench = Bench.new(tmp_path / "s", first).press(*STACK, "59.981")
    assert came(bench, "59.980", SOON_US) == ("Held",)
    assert (came(bench, value, SECOND_US) == ("Dropped", "Read")) is answers


@pytest.mark.parametrize(("value", "answers"), [("2.36142", True), ("2.36143", False)])
def test_inches_are_compared_exactly(tmp_path: Path, value: str, answers: bool) -> None:
    """In question is 2.36140 in; two steps of 0.00001 in are 0.00002 in."""
    bench = begun(tmp_path)
    bench.press("2.36102", "2.36102", "2.36141", unit="in", resolution="0.00001")
    inch: dict[str, Any] = {"unit": "in", "resolution": "0.00001"}
    assert came(bench, "2.36140", SOON_US, **inch) == ("Held",)
    assert (came(bench, value, SECOND_US, **inch) == ("Dropped", "Read")) is answers


# What else speaks against it ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "how", "words"),
    [
        ("59.980", {"channel": "2"}, "from another device: channel 2"),
        ("2.3614", {"unit": "in", "resolution": "0.0001"}, "The gauge is on inch"),
        ("59.98", {"resolution": "0.01"}, "a digit may be lost"),
        ("59.980", {"flags": ("repeat",)}, "the button may have been held"),
        ("59.980", {"flags": ("hold",)}, "the gauge is on hold"),
        ("59.980", {"flags": (LATE,)}, "it may answer an earlier press"),
        ("59.980", {"flags": ("zeroed",)}, "the gauge says zeroed"),
        ("61.000", {}, "outside the limits of M1"),
    ],
)
def test_a_second_one_in_doubt_itself_is_set_aside_with_the_doubt(
    tmp_path: Path, value: str, how: dict[str, Any], words: str
) -> None:
    assert words in why_not(twice(tmp_path), value, SECOND_US, **how)


@pytest.mark.parametrize(
    ("value", "how"),
    [
        ("61.000", {}),
        ("59.980", {"flags": (LATE,)}),
        ("59.980", {"flags": ("hold",)}),
        ("59.980", {"channel": "2"}),
        ("59.98", {"resolution": "0.01"}),
        ("2.3614", {"unit": "in", "resolution": "0.0001"}),
    ],
)
@pytest.mark.parametrize("after_us", [SOON_US, SECOND_US])
def test_where_another_doubt_stands_with_it_only_a_word_answers(
    tmp_path: Path, value: str, how: dict[str, Any], after_us: int
) -> None:
    bench = begun(tmp_path, *STACK, "59.981")
    assert came(bench, value, after_us, **how) == ("Held",)
    assert "once more" not in prompt(bench.state).action
    assert not is_offered(bench.state)
    assert why_not(bench, value, SECOND_US, **how) == ""
    assert why_not(bench, "59.980", SECOND_US) == ""


def test_many_in_a_row_that_come_too_soon_are_a_stream_and_no_presses(tmp_path: Path) -> None:
    bench = begun(tmp_path, *STACK, "59.981")
    for _ in range(4):
        came(bench, "59.980", SOON_US)
        bench.say(Drop(), 0)
    assert came(bench, "59.980", SOON_US) == ("Held",)  # the fifth
    assert not is_offered(bench.state)


@pytest.mark.parametrize("why", ["rested", "typed", "unasked"])
def test_what_nobody_pressed_answers_for_nothing(tmp_path: Path, why: Why) -> None:
    assert why_not(twice(tmp_path), "59.980", SECOND_US, why) == ""


def test_a_press_here_answers_as_one_of_the_gauge_does(tmp_path: Path) -> None:
    bench = begun(tmp_path, *STACK)
    assert came(bench, "59.980", SECOND_US, "pressed", flags=("repeat",)) == ("Held",)
    assert came(bench, "59.980", SECOND_US, "pressed") == ("Dropped", "Read")


def test_unasked_and_too_soon_is_more_than_a_doubt_of_time(tmp_path: Path) -> None:
    bench = begun(tmp_path, *STACK, "59.981")
    assert came(bench, "59.980", SOON_US, "unasked") == ("Held",)
    assert not is_offered(bench.state)


def test_a_gauge_that_types_is_asked_about_as_ever(tmp_path: Path) -> None:
    typed = msgspec.structs.replace(source(), port="typed:")
    first = opened(AGAIN, with_setup=msgspec.structs.replace(setup(), source=typed))
    bench = Bench.new(tmp_path / "s", first).press(*STACK)
    assert came(bench, "59.980", SECOND_US, "typed", flags=("repeat",)) == ("Held",)
    assert not is_offered(bench.state)
    assert why_not(bench, "59.980", SECOND_US, "typed") == ""


def test_a_check_grown_too_old_meanwhile_lets_nothing_count(tmp_path: Path) -> None:
    plan = AGAIN.replace("[check]\n", "[check]\nmax_age_min = 1\n")
    bench = begun(tmp_path, *STACK, plan=plan)
    bench.now_us += 57 * SECOND_US
    bench.press("59.981")  # 58 s after the check
    assert came(bench, "59.980", SOON_US) == ("Held",)
    assert "the last passed check is" in why_not(bench, "59.980", 2 * SECOND_US)


def test_a_retaken_place_has_the_same_rule(tmp_path: Path) -> None:
    bench = begun(tmp_path, *STACK, "59.981")
    bench.say(Retake("M1/front/0"), 0)
    assert came(bench, "59.981", SOON_US) == ("Held",)
    assert came(bench, "59.982", SECOND_US) == ("Dropped", "Read")
    assert bench.state.standing[Position("M1", "front", 0, 1)].sent.value == "59.982"


def test_a_cable_out_ends_the_question(tmp_path: Path) -> None:
    bench = twice(tmp_path)
    bench.say(LoseLink("unplugged"), 0)
    bench.say(FindLink(source()), 0)
    assert bench.state.held is None
    assert not is_offered(bench.state)


def test_a_press_here_is_let_through_for_ten_seconds(tmp_path: Path) -> None:
    bench = twice(tmp_path)
    held = bench.state.held
    assert held is not None
    assert can_be_pressed(bench.state, held.at_us + LONGEST_US)
    assert not can_be_pressed(bench.state, held.at_us + LONGEST_US + 1)
    bench.say(Drop())
    assert not can_be_pressed(bench.state, bench.now_us)


# Whatever comes -----------------------------------------------------------------------------------

VALUES = st.sampled_from(["59.979", "59.980", "59.981", "59.984", "61.000", "2.3614"])
COMING = st.lists(
    st.tuples(
        VALUES,
        st.sampled_from([0, SOON_US, 699_999, 700_000, SECOND_US, 10_000_000, 10_000_001]),
        st.sampled_from([None, "2"]),
        st.sampled_from([(), (), (), ("repeat",), ("hold",), (LATE,)]),
        st.sampled_from(["sent", "sent", "pressed", "rested", "unasked"]),
    ),
    min_size=1,
    max_size=8,
)


@cache
def at_front_90(plan: str) -> State:
    """A session that waits for the second place."""
    with TemporaryDirectory() as folder:
        bench = begun(Path(folder), *STACK, "59.981", plan=plan)
        bench.close()
    return bench.state


def played(
    plan: str, coming: list[tuple[str, int, str | None, tuple[str, ...], Why]]
) -> tuple[State, list[Entry]]:
    """What comes of it, without a disk."""
    state, entries = at_front_90(plan), list[Entry]()
    at_us = state.last_us
    for value, after_us, channel, flags, why in coming:
        at_us += after_us
        terms: dict[str, Any] = {"unit": "in", "resolution": "0.0001"} if value == "2.3614" else {}
        made = reading(value, at_us, channel=channel, flags=flags, **terms)
        advance = decide(state, TakeReading(made, why), at_us)
        state, entries = advance.state, [*entries, *advance.entries]
    return state, entries


@given(COMING)
def test_asked_about_nothing_but_a_word_ever_answers(
    coming: list[tuple[str, int, str | None, tuple[str, ...], Why]],
) -> None:
    state, entries = played(ONE, coming)
    asked = False
    for entry, after in pairwise([*entries, None]):
        assert entry is not None
        is_question = isinstance(entry.event, Held) and not (
            after is not None and isinstance(after.event, Dropped) and after.event.held == entry.seq
        )
        asked = asked or is_question
        assert not (asked and isinstance(entry.event, Read | CheckRead))
    assert asked == (state.held is not None)


@given(COMING)
def test_pressed_again_no_reading_in_another_doubt_ever_counts(
    coming: list[tuple[str, int, str | None, tuple[str, ...], Why]],
) -> None:
    _, entries = played(AGAIN, coming)
    held = {each.seq: each for each in entries if isinstance(each.event, Held)}
    for entry in entries:
        if isinstance(entry.event, Read | CheckRead):
            sent = entry.event.sent
            assert (sent.unit, sent.resolution, sent.channel) == ("mm", "0.001", None)
            assert not {"repeat", "hold", LATE}.intersection(sent.flags)
            assert sent.value.startswith("59.9")
    for before, entry in pairwise(entries):
        if isinstance(before.event, Dropped) and before.event.why == PRESSED_AGAIN:
            assert isinstance(entry.event, Read | CheckRead)
            first = held[before.event.held]
            assert isinstance(first.event, Held)
            assert 300_000 <= entry.at_us - first.at_us <= LONGEST_US
            apart = Decimal(entry.event.sent.value) - Decimal(first.event.sent.value)
            assert abs(apart) <= Decimal("0.002")
            assert set(first.event.sent.flags) <= {"repeat"}
            assert first.event.sent.channel is None
