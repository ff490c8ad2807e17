"""A hand needs time: which readings come too soon, and what is said of them."""

from pathlib import Path

import pytest

from daq.lengths import Position
from daq.record.events import Dropped, Held
from daq.record.state import STACK, Status, next_position, status
from daq.rules.commands import (
    Back,
    Drop,
    FindLink,
    Keep,
    LoseLink,
    Retake,
    SetAside,
    TakeReading,
    TakeReject,
    Why,
)
from daq.rules.interval import (
    MOST_SOON,
    STREAMS,
    UNASKED,
    early_words,
    place_words,
    seconds,
    stream_words,
)
from daq.rules.unattended import unattended
from drivers.reading import LATE
from tests.builders import ONE, PLAN, Bench, at_once, kind_of, opened, reading, reject, source

STACK_READ = ("59.970", "59.970")


def begun(folder: Path, plan: str = ONE, *values: str) -> Bench:
    return Bench.new(folder / "s", opened(plan)).press(*values)


def came(
    bench: Bench, after_ms: int, value: str = "59.980", why: Why = "sent", **how: object
) -> list[str]:
    """A reading so long after the last one: why it is held, nothing if it counts."""
    at_us = bench.now_us + after_ms * 1000
    made = reading(value, at_us, **how)  # type: ignore[arg-type]
    step = bench.say(TakeReading(made, why), after_ms * 1000)
    held = [entry.event for entry in step.entries if isinstance(entry.event, Held)]
    return list(held[0].reasons) if held else []


# The limits themselves --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("after_ms", "said"),
    [
        (0, "that came less than 0.1 s after M1 front 0°: pressed twice?"),
        (160, "that came 0.2 s after M1 front 0°: pressed twice?"),
        (350, "that came 0.4 s after M1 front 0°: pressed twice?"),
        (699, "that came 699 ms after M1 front 0°: pressed twice?"),
        (700, ""),
    ],
)
def test_the_next_place_needs_seven_tenths_of_a_second(
    tmp_path: Path, after_ms: int, said: str
) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, after_ms) == ([said] if said else [])


@pytest.mark.parametrize(("after_ms", "is_held"), [(299, True), (300, False)])
def test_within_a_check_three_tenths_do(tmp_path: Path, after_ms: int, is_held: bool) -> None:
    bench = begun(tmp_path, ONE, "59.970")
    said = came(bench, after_ms, "59.970")
    assert bool(said) is is_held
    assert not said or said[0].endswith("after the stack: pressed twice?")


def test_the_first_place_after_a_check_and_the_first_of_a_check_need_the_longer_time(
    tmp_path: Path,
) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ)
    assert came(bench, 690) == ["that came 690 ms after the stack: pressed twice?"]
    bench.say(Drop())
    bench.press("59.980", "59.981")  # the route is done: the check after it is due
    assert status(bench.state) is Status.CLOSING
    assert came(bench, 500, "59.970") == ["that came 0.5 s after M1 front 90°: pressed twice?"]
    bench.say(Drop())
    assert came(bench, 700, "59.970") == []
    assert came(bench, 300, "59.970") == []
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"


def test_a_check_whose_only_reading_was_taken_back_begins_anew(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, "59.970")
    bench.say(Back(), 100_000)
    assert came(bench, 300, "59.970") == ["that came 0.4 s after the stack: pressed twice?"]


def test_a_place_asked_for_again_within_the_closing_check_needs_the_longer_time(
    tmp_path: Path,
) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980", "59.981", "59.970")
    assert status(bench.state) is Status.CLOSING
    bench.say(Retake("M1/front/0"), 100_000)
    assert came(bench, 400) == ["that came 0.5 s after the stack: pressed twice?"]


def test_the_plan_s_own_intervals_count(tmp_path: Path) -> None:
    plan = ONE.replace("[check]\n", '[check]\nleast_interval = "50 ms"\n').replace(
        "[defaults]\n", '[defaults]\nleast_interval = "2 s"\n'
    )
    bench = begun(tmp_path, plan, "59.970")
    assert came(bench, 50, "59.970") == []
    assert came(bench, 1900) == ["that came 1.9 s after the stack: pressed twice?"]


def test_0_s_switches_it_off(tmp_path: Path) -> None:
    bench = begun(tmp_path, at_once(ONE))
    for value in (*STACK_READ, "59.980", "59.981", *STACK_READ):
        assert came(bench, 0, value) == []
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"


# From which reading it runs -----------------------------------------------------------------------


def test_it_runs_from_the_reading_before_whatever_became_of_that(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 500)  # held
    bench.say(Drop(), 100_000)
    # It was held as of the place before: so what comes now is told against that.
    assert came(bench, 500) == ["that came 0.6 s after M1 front 0°: pressed twice?"]
    assert came(bench, 400)  # dropped by the next line, since a question waits
    bench.say(Drop(), 0)
    assert came(bench, 699)
    bench.say(Drop(), 0)
    assert came(bench, 700) == []


def test_rejects_do_not_count(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    bench.say(TakeReject(reject(b"x")), 650_000)
    assert came(bench, 50) == []


def test_each_channel_has_a_time_of_its_own(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK_READ, "59.980", channel="1")
    said = came(bench, 100, channel="2")
    assert len(said) == 1
    assert "another device" in said[0]
    bench.say(Drop(), 0)
    assert "pressed twice?" in came(bench, 100, channel="1")[0]


def test_it_runs_over_a_lost_link(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, "59.970")
    bench.say(LoseLink("unplugged"), 100_000)
    bench.say(FindLink(source()), 100_000)
    assert came(bench, 499, "59.970") == ["that came 699 ms after the stack: pressed twice?"]


def test_a_clock_that_was_set_back_between_two_runs_doubts_nothing(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, "59.970")
    assert came(bench, -5000, "59.970") == []


def test_what_counts_is_of_its_own_place_however_soon_it_came(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 10, "59.981", "pressed") == []
    assert came(bench, 100, "59.970") == ["that came 0.1 s after M1 front 90°: pressed twice?"]


def test_what_is_held_for_another_reason_is_of_the_place_that_was_asked_for(
    tmp_path: Path,
) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert "outside the limits" in came(bench, 2000, "61.000")[0]
    bench.say(Drop(), 0)
    assert came(bench, 200) == ["that came 0.2 s after M1 front 90°: pressed twice?"]


def test_what_came_behind_a_kept_one_stays_of_the_place_before(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 200)
    assert came(bench, 100)  # set aside, since a question waits
    bench.say(Keep(), 0)
    assert came(bench, 100, "59.970") == ["that came 0.1 s after M1 front 0°: pressed twice?"]


def test_two_set_aside_are_one_line_and_the_interval_runs_from_the_last(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK_READ, channel="1")
    first = reading("59.980", channel="1")
    step = bench.say(SetAside(first, "why", 2, first), 2_000_000)
    assert [kind_of(entry) for entry in step.entries] == ["dropped"]
    assert bench.state.arrivals["1"].at_us == bench.now_us
    assert came(bench, 699, channel="1")


# Who is exempt, and who is doubted for more ---------------------------------------------------


@pytest.mark.parametrize("why", ["pressed", "rested", "typed"])
def test_what_was_pressed_for_here_rested_or_typed_is_exempt(tmp_path: Path, why: Why) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 10, "59.981", why) == []


def test_what_an_asked_gauge_sends_unasked_is_doubted_and_so_is_its_haste(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 800, "59.981", "unasked") == [UNASKED]
    bench.say(Drop(), 0)
    hasty = "that came 0.2 s after M1 front 90°: pressed twice?"
    assert came(bench, 200, "59.981", "unasked") == [hasty, UNASKED]
    bench.say(Drop())
    said = came(bench, 0, "59.981", "unasked", flags=(LATE,))
    assert len(said) == 1
    assert "earlier press" in said[0]


def test_two_doubts_at_once_are_both_said(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 200, "61.000") == [
        "that came 0.2 s after M1 front 0°: pressed twice?",
        "it lies more than 0.5 mm outside the limits of M1",
    ]


def test_kept_it_counts_where_it_would_have(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ, "59.980")
    assert came(bench, 200, "59.981")
    bench.say(Keep(), 100_000)
    assert [str(place) for place in sorted(bench.state.standing)] == ["M1/front/0", "M1/front/90"]
    assert next_position(bench.state) is None
    # Kept it is of that place, and of no other.
    assert came(bench, 100, "59.970") == ["that came 0.2 s after M1 front 90°: pressed twice?"]


# A stream -----------------------------------------------------------------------------------------


def test_the_first_of_a_stream_stands_and_the_fifth_too_soon_names_continuous(
    tmp_path: Path,
) -> None:
    bench = begun(tmp_path, ONE)
    assert came(bench, 1000, "59.970") == []
    said = []
    for _ in range(6):
        said.append(came(bench, 100, "59.970"))
        bench.say(Drop(), 0)
    assert [STREAMS in "; ".join(each) for each in said] == [False] * 4 + [True] * 2
    assert "5 in a row came too soon" in said[4][1]
    assert bench.state.check is not None
    assert len(bench.state.check.readings) == 1


def test_what_comes_while_the_question_waits_says_so_too(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, "59.970")
    whys = []
    for _ in range(7):
        at_us = bench.now_us + 100_000
        step = bench.say(TakeReading(reading("59.970", at_us)), 100_000)
        whys += [entry.event.why for entry in step.entries if isinstance(entry.event, Dropped)]
    assert [STREAMS in why for why in whys] == [False] * 3 + [True] * 3
    assert all(why.startswith("the reading before waits for keep or drop") for why in whys)


@pytest.mark.parametrize(("every_ms", "counted"), [(100, 1), (350, 2), (690, 2)])
def test_nobody_at_the_keyboard_the_tenth_ends_a_stream_with_these_words(
    tmp_path: Path, every_ms: int, counted: int
) -> None:
    """0.1 s: one reading of the check stands. 0.35 s and 0.69 s: the check is done, no place is."""
    bench = begun(tmp_path, ONE)
    for _ in range(20):
        came(bench, every_ms, "59.970")
        command = unattended(bench.state, bench.steps[-1].entries)
        while command is not None and bench.state.closed is None:
            step = bench.say(command, 0)
            command = unattended(bench.state, step.entries)
        if bench.state.closed is not None:
            break
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "abandoned"
    where = "the stack" if counted == 1 else "M1/front/0"
    said = f"abandoned: 10 held readings in a row at {where}; {STREAMS}"
    assert bench.state.closed.reasons[0] == said
    assert bench.kinds().count("check_reading") == counted
    assert bench.kinds().count("held") == 10
    assert not bench.state.standing


def test_ten_that_are_wrong_for_another_reason_are_no_stream(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ)
    for _ in range(10):
        bench.press("61.000").say(Drop())
    command = unattended(bench.state, ())
    assert command is not None
    assert STREAMS not in str(command)


@pytest.mark.parametrize(("slow", "is_stream"), [(5, True), (6, False)])
def test_ten_that_end_in_a_stream_of_five_are_one(
    tmp_path: Path, slow: int, is_stream: bool
) -> None:
    """Of another channel than the check before: what came last says what it is."""
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK_READ, channel="1")
    for number in range(10):
        assert came(bench, 1000 if number < slow else 100, "61.000", channel="2")
        bench.say(Drop(), 0)
    assert (STREAMS in str(unattended(bench.state, ()))) is is_stream


def test_a_folded_line_counts_as_many_as_it_says(tmp_path: Path) -> None:
    bench = begun(tmp_path, ONE, *STACK_READ)
    first, last = reading("59.980", raw=b"a"), reading("59.980", raw=b"z")
    assert unattended(bench.state, ()) is None
    step = bench.say(SetAside(first, "why", 9, last), 100_000)
    (dropped,) = (entry.event for entry in step.entries)
    assert dropped == Dropped(
        # nine within 0.1 s: each sooner than a hand
        held=0,
        why=f"why; 9 in a row came too soon: {STREAMS}",
        count=9,
        raw_hex="61",
        last_raw_hex="7a",
    )
    assert bench.state.drops_in_row == 9
    bench.say(SetAside(first, "why", 2, last), 100_000)
    assert unattended(bench.state, ()) is not None


@pytest.mark.parametrize(("after_ms", "soon"), [(6299, 9), (6300, 0)])
def test_a_folded_line_is_judged_by_the_time_that_each_of_it_had(
    tmp_path: Path, after_ms: int, soon: int
) -> None:
    """Nine in a row, each at 0.7 s: 6.3 s."""
    bench = begun(tmp_path, ONE, *STACK_READ)
    bench.say(SetAside(reading("59.980"), "why", 9, reading("59.980")), after_ms * 1000)
    assert bench.state.arrivals[None].soon == soon


# Words --------------------------------------------------------------------------------------------


def test_places_are_called_as_the_prompt_calls_them() -> None:
    assert place_words(Position("M1", "front", 0, 1)) == "M1 front 0°"
    assert place_words(Position("M1", "front", 0, 2)) == "M1 front 0° repeat 2"
    assert place_words(Position("R 2", "rear", 135, 3)) == "R 2 rear 135° repeat 3"
    assert place_words(STACK) == "the stack"
    assert place_words(None) == "the reading before"


def test_what_came_too_early_says_so_and_what_rested_too_early_what_to_do() -> None:
    place = Position("M1", "front", 0, 1)
    assert early_words(place, "sent") == "it came before M1 front 0° was asked for"
    assert early_words(STACK, "rested") == (
        "it rested there before the stack was asked for: take the gauge off, then measure that"
    )


@pytest.mark.parametrize(
    ("gap_ms", "said"),
    [
        (49, "less than 0.1 s"),
        (50, "0.1 s"),
        (149, "0.1 s"),
        (649, "0.6 s"),
        # 0.65 rounds to 0.7, which is the limit itself
        (650, "650 ms"),
    ],
)
def test_a_time_is_told_in_tenths_but_never_as_the_limit(gap_ms: int, said: str) -> None:
    assert seconds(gap_ms * 1000, 700_000) == said


def test_a_few_in_a_row_are_a_hand_s_doing() -> None:
    assert stream_words(MOST_SOON - 1) == []
    assert stream_words(MOST_SOON) == [f"5 in a row came too soon: {STREAMS}"]


def test_of_two_stacks_the_place_before_is_named_over_the_change(tmp_path: Path) -> None:
    bench = begun(tmp_path, PLAN, *STACK_READ, "59.980", "59.981", "59.979", "59.982", *STACK_READ)
    assert came(bench, 400, "50.780") == ["that came 0.4 s after the stack: pressed twice?"]
