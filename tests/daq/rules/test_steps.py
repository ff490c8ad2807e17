"""The true step of a gauge: what may be told of it, and what its readings show."""

import random
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from daq.board.of_session import first_shown, next_shown
from daq.lengths import parse_length
from daq.record.events import Dropped, Sent, Setup
from daq.record.state import Status, status
from daq.rules.commands import Command, TakeReading
from daq.rules.steps import counts_in_fives, step_fault
from tests.builders import SECOND_US, Bench, opened, reading, setup

GAUGE = 'schema = 1\nprofile = "p"\nport = "/dev/x"\nresolution = "0.005 mm"\n'


@pytest.mark.parametrize(
    ("step", "unit", "digit", "is_multiple"),
    [
        ("0.005 mm", "mm", "0.001", True),
        ("0.001 mm", "mm", "0.001", True),
        ("0.00005 in", "in", "0.00001", True),
        ("0.00127 mm", "in", "0.00005", True),  # 0.00005 x 25.4
        ("5 um", "mm", "0.001", True),
        ("0.0005 mm", "mm", "0.001", False),
        ("0.0015 mm", "mm", "0.001", False),
        ("0.00005 in", "mm", "0.001", False),  # 0.00127 mm
    ],
)
def test_a_step_is_a_multiple_of_the_last_digit(
    step: str, unit: str, digit: str, is_multiple: bool
) -> None:
    fault = step_fault(parse_length(step), unit, Decimal(digit))
    assert (fault is None) is is_multiple
    if fault is not None:
        assert f"the step {step} is no multiple of the gauge's last digit, {digit} {unit}" in fault


# What the readings show --------------------------------------------------------------------------


def sent(steps: int) -> Sent:
    """A reading of 59.970 mm and so many steps of 0.001 mm more."""
    return Sent(str(Decimal(59970 + steps) / 1000), "mm", "0.001", None, (), "")


def every(steps: Sequence[int]) -> list[Sent]:
    return [sent(each) for each in steps]


@given(st.lists(st.integers(-100, 100), min_size=6), st.lists(st.integers(-1, 1)))
def test_a_gauge_that_steps_by_five_is_always_named(part: list[int], stack: list[int]) -> None:
    on_part, on_stack = every([5 * each for each in part]), every([5 * each for each in stack])
    assume(len(part) + len(stack) >= 12)
    assume(len({*part, *stack}) >= 3)
    assert counts_in_fives(on_stack, on_part)


@given(
    st.lists(st.integers(-100, 100), min_size=6),
    st.lists(st.integers(-100, 100), min_size=6),
    st.data(),
)
def test_one_other_digit_is_enough_to_say_nothing(
    part: list[int], stack: list[int], data: st.DataObject
) -> None:
    other = sent(5 * data.draw(st.integers(-9, 9)) + data.draw(st.integers(1, 4)))
    on_part, on_stack = every([5 * each for each in part]), every([5 * each for each in stack])
    assert not counts_in_fives([*on_stack, other], on_part)
    assert not counts_in_fives(on_stack, [other, *on_part])


@pytest.mark.parametrize(
    ("stack", "part"),
    [
        ([0] * 5, [0, 5, 10, 5, 0, 5]),  # eleven presses
        ([0] * 10, [0, 5, 10, 5, 0]),  # five of the part
        ([0] * 6, [5] * 6),  # two values: a sound gauge on a round part may do so
    ],
)
def test_too_little_says_nothing(stack: list[int], part: list[int]) -> None:
    assert not counts_in_fives(every(stack), every(part))


@pytest.mark.parametrize("scatter", [0.3, 0.7])
def test_an_ordinary_gauge_is_rarely_named(scatter: float) -> None:
    # Five readings of a stack at 59.970 and eight of a part: by chance alone all eight end in 0 or
    # 5 in 0.2^8 = 0.00026 % of sessions, so in 5,000 sessions 0.013 are to be expected.
    chance = random.Random(20261125)
    named = 0
    for _ in range(5_000):
        stack = [round(chance.gauss(0, scatter)) for _ in range(5)]
        part = [round(chance.uniform(0, 20) + chance.gauss(0, scatter)) for _ in range(8)]
        named += counts_in_fives(every(stack), every(part))
    assert named == 0


def test_a_round_part_on_a_quiet_gauge_is_not_named() -> None:
    # Nothing scatters over a step, so all is 59.970 on the stack and nearly all 59.985 on the part.
    assert not counts_in_fives(every([0] * 10), every([15] * 20))
    assert not counts_in_fives(every([0] * 10), every([15] * 20 + [16]))


# In a session ------------------------------------------------------------------------------------

PLAN = """\
schema = 1
part = "p"
[check]
stack = "59.970 mm"
max_error = "0.005 mm"
max_spread = "0.005 mm"
max_drift = "0.005 mm"
[defaults]
stations = ["front", "rear"]
angles_deg = [0, 45, 90, 135]
[[journal]]
name = "M1"
low = "59.970 mm"
high = "59.990 mm"
"""
STACK = ("59.970",) * 5
PART = ("59.975", "59.980", "59.980", "59.975", "59.985", "59.980", "59.975", "59.980")


def news_of(folder: Path, run: Setup, *values: str) -> list[str]:
    """What is told while these values come, each line of news."""
    bench = Bench.new(folder / "s", opened(PLAN, with_setup=run))
    shown, told = first_shown(bench.state, bench.now_us), list[str]()
    for value in values:
        command: Command = TakeReading(reading(value, bench.now_us + SECOND_US))
        step = bench.say(command)
        shown = next_shown(shown, step.entries, bench.state, bench.now_us)
        told += shown.board.news
    bench.close()
    return told


def test_a_session_says_once_that_the_gauge_may_step_by_five(tmp_path: Path) -> None:
    told = news_of(tmp_path, setup(), *STACK, *PART)
    (words,) = [text for text in told if "last digit" in text]
    assert words == (
        "Every last digit so far is 0 or 5: this gauge may step by 0.005 mm. If it does, give "
        '--step "0.005 mm", or write resolution = "0.005 mm" into the gauge file.'
    )
    # The twelfth press, the seventh of the part.
    before = news_of(tmp_path / "before", setup(), *STACK, *PART[:6])
    assert not [text for text in before if "last digit" in text]


@pytest.mark.parametrize(
    "run",
    [setup(gauge_file=GAUGE), msgspec.structs.replace(setup(), step="0.005 mm")],
    ids=["gauge file", "told"],
)
def test_a_step_that_is_known_is_not_spoken_of(tmp_path: Path, run: Setup) -> None:
    told = news_of(tmp_path, run, *STACK, *PART)
    assert not [text for text in told if "last digit" in text]


def test_a_gauge_that_steps_by_one_is_not_spoken_of(tmp_path: Path) -> None:
    told = news_of(tmp_path, setup(), *STACK, *PART[:7], "59.981")
    assert [text for text in told if "last digit" in text] != []  # said at the twelfth press
    told = news_of(tmp_path / "t", setup(), *STACK[1:], "59.971", *PART)
    assert not [text for text in told if "last digit" in text]


def test_a_reading_that_cannot_be_of_the_step_told_does_not_count(tmp_path: Path) -> None:
    run = msgspec.structs.replace(setup(), step="0.0005 mm")
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=run)).press("59.970")
    last = bench.steps[-1].entries[-1].event
    assert isinstance(last, Dropped)
    assert "the step 0.0005 mm is no multiple of the gauge's last digit, 0.001 mm" in last.why
    assert bench.state.check is None
    assert status(bench.state) is Status.WAITING
    bench.close()


def test_by_the_step_told_the_limits_of_the_check_are_derived(tmp_path: Path) -> None:
    plan = PLAN.replace('max_error = "0.005 mm"\nmax_spread = "0.005 mm"\n', "")
    run = msgspec.structs.replace(setup(), step="0.005 mm")
    bench = Bench.new(tmp_path / "s", opened(plan, with_setup=run)).press(*STACK)
    found = bench.state.judged[0].event
    # Two steps and three, over a tenth of 0.020 mm.
    assert (found.max_error_mm, found.max_spread_mm) == ("0.010", "0.015")
    bench.close()
