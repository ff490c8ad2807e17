"""Which readings of a stream count: the first after a press, a value that came to rest."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as some

from daq.acquisition.stream_gate import MOVED_STEPS, Gate, Rest
from drivers.reading import Instant, Reading

STEP = Decimal("0.001")


def at(ms: int) -> Instant:
    return Instant(ms * 1000, ms * 1_000_000)


def reading(ms: int, text: str, unit: str = "mm") -> Reading:
    return Reading(Decimal(text), unit, STEP, text.encode(), at(ms))


def kinds(gate: Gate, *readings: Reading) -> list[str | None]:
    return [gate.take(one) for one in readings]


def test_without_a_press_nothing_counts() -> None:
    assert kinds(Gate(), *(reading(100 * n, "1.000") for n in range(50))) == [None] * 50


def test_the_first_reading_after_a_press_counts_and_no_other() -> None:
    gate = Gate()
    assert gate.take(reading(100, "1.000")) is None
    gate.press(at(150))
    assert gate.is_open
    found = kinds(gate, reading(150, "1.001"), reading(151, "1.002"), reading(250, "1.003"))
    assert found == [None, "pressed", None]
    assert not gate.is_open


def test_two_presses_before_a_reading_take_one() -> None:
    gate = Gate()
    gate.press(at(10))
    gate.press(at(20))
    assert kinds(gate, reading(30, "1.000"), reading(40, "1.000")) == ["pressed", None]


def test_a_press_can_be_forgotten() -> None:
    gate = Gate()
    gate.press(at(10))
    gate.shut()
    assert gate.take(reading(20, "1.000")) is None


def approach(start: int = 0) -> list[Reading]:
    """Jaws closing from 65 mm onto a journal of 59.980 mm, ten values a second."""
    return [reading(start + 100 * n, f"{65 - n}.000") for n in range(5)]


def test_a_value_that_moved_and_then_rested_counts_once() -> None:
    gate = Gate(0.5)
    still = [reading(500 + 100 * n, "59.980") for n in range(12)]
    found = kinds(gate, *approach(), *still)
    assert found == [None] * 5 + [None] * 5 + ["rested"] + [None] * 6


def test_what_lay_still_from_the_start_is_no_reading() -> None:
    assert kinds(Gate(0.5), *(reading(100 * n, "59.980") for n in range(40))) == [None] * 40


def test_flicker_of_one_step_is_rest_and_of_two_is_not() -> None:
    one = [reading(500 + 100 * n, ("59.980", "59.981")[n % 2]) for n in range(8)]
    two = [reading(500 + 100 * n, ("59.980", "59.982")[n % 2]) for n in range(8)]
    assert "rested" in kinds(Gate(0.5), *approach(), *one)
    assert "rested" not in kinds(Gate(0.5), *approach(), *two)


@pytest.mark.parametrize(("moved", "counts"), [(MOVED_STEPS, False), (MOVED_STEPS + 1, True)])
def test_the_next_rest_counts_only_after_the_value_went_away(moved: int, counts: bool) -> None:
    gate = Gate(0.5)
    kinds(gate, *approach(), *(reading(500 + 100 * n, "59.980") for n in range(8)))
    there = str(Decimal("59.980") + moved * STEP)
    found = kinds(gate, *(reading(2000 + 100 * n, there) for n in range(8)))
    assert ("rested" in found) is counts


def test_a_press_while_it_rests_takes_it_once() -> None:
    gate = Gate(0.5)
    kinds(gate, *approach(), reading(500, "59.980"), reading(600, "59.980"))
    gate.press(at(650))
    found = kinds(gate, *(reading(700 + 100 * n, "59.980") for n in range(12)))
    assert found == ["pressed"] + [None] * 11


def test_another_unit_begins_afresh() -> None:
    rest = Rest(0.3)
    for one in approach():
        rest.take(one)
    inches = [reading(500 + 100 * n, "2.361", "in") for n in range(8)]
    assert not any(rest.take(one) for one in inches)


@given(some.lists(some.integers(-30, 30), min_size=1, max_size=60))
def test_a_rest_is_told_only_where_the_values_rested(jumps: list[int]) -> None:
    """Whatever is sent: told at a value, the time before holds no value over a step away."""
    rest, size, seen = Rest(0.4), Decimal(60), list[Reading]()
    for number, jump in enumerate(jumps):
        size += (jump if abs(jump) > 20 else 0) * STEP
        seen.append(reading(100 * number, f"{size:f}"))
        if rest.take(seen[-1]):
            window = [r.value for r in seen if seen[-1].at.mono_ns - r.at.mono_ns <= 400_000_000]
            assert len(window) >= 5
            assert max(window) - min(window) <= STEP
