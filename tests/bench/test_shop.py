"""The shop of the simulation: what its gauge shows of a size."""

import math
from random import Random

import msgspec
import pytest

from bench.cranks import End, Journal
from bench.shop import Drawn, Shop, check_shown, drawn_shop, measured

EXACT = Shop(
    scatter_um=0.0,
    offset_um=0.0,
    drift_um=0.0,
    jump_at=None,
    excursion=(0.0, 0.0, 0.0),
    screw_um=0.0,
    screw_at_rad=0.0,
    stack_um=0.0,
    part_c=20.0,
    stack_c=20.0,
    part_per_k=11.5e-6,
    stack_per_k=11.5e-6,
    part_said_c=200,
    stack_said_c=200,
)
"""A gauge without any error at 20 degrees Celsius."""
CRANK = (Journal(End(10, 4, 0), End(11, 0, 0)),)


def shop(**changes: object) -> Shop:
    return msgspec.structs.replace(EXACT, **changes)


def test_an_exact_gauge_shows_each_place_in_the_order_of_the_route() -> None:
    found = measured(Random(1), EXACT, CRANK, 2)
    # 10 + 2 cos(2t): 12, 10, 8, 10 at 0, 45, 90, 135 in front, 11 in the rear, each twice
    assert found.places == tuple((n, n) for n in (12, 10, 8, 10, 11, 11, 11, 11))
    assert found.before == found.after == (0, 0, 0, 0, 0)


def test_offset_and_stack_are_seen_by_checks_and_the_offset_by_all() -> None:
    found = measured(Random(1), shop(offset_um=2.0, stack_um=-1.0), CRANK, 1)
    assert found.before == (1,) * 5
    assert found.places[0] == (14,)


def test_a_creep_grows_evenly_and_a_jump_comes_at_once() -> None:
    creep, jump = shop(drift_um=4.0), shop(drift_um=4.0, jump_at=0.5)
    assert [creep.moved_um(at) for at in (0, 0.25, 1)] == [0, 1, 4]
    assert [jump.moved_um(at) for at in (0, 0.25, 0.5, 1)] == [0, 0, 4, 4]
    assert check_shown(Random(1), jump, 1) == (4,) * 5


def test_no_check_sees_an_excursion() -> None:
    away = shop(excursion=(0.2, 0.6, -2.0))
    assert [away.moved_um(at) for at in (0, 0.2, 0.5, 0.6, 1)] == [0, -2, -2, 0, 0]


def test_the_screw_errs_by_how_far_a_size_lies_from_the_stack() -> None:
    # A whole turn is 500 um: a quarter of it on, the sine has come from 0 to 1.
    turned = shop(screw_um=0.8)
    assert [turned.turned_um(size) for size in (0, 125, 500)] == pytest.approx([0, 0.8, 0])


def test_a_part_warmer_than_the_stack_is_shown_larger() -> None:
    # 60 mm * 11.5e-6 * 10 K is 6.9 um; both as warm as each other show nothing
    warm = measured(Random(1), shop(part_c=30.0), CRANK, 1)
    assert warm.places[1] == (17,)  # 10 + 6.9
    both = measured(Random(1), shop(part_c=30.0, stack_c=30.0), CRANK, 1)
    assert both.places[1] == (10,)


def test_what_is_drawn_lies_in_its_ranges() -> None:
    rng = Random(2)
    shops = [drawn_shop(rng, Drawn((0.2, 0.8), excursion=2.0)) for _ in range(2000)]
    assert all(0.2 <= one.scatter_um <= 0.8 for one in shops)
    assert all(0.3 <= one.screw_um <= 1 for one in shops)
    assert max(abs(one.stack_um) for one in shops) <= 0.8  # 0.2 + 0.2 + 0.4
    # Four standard errors of the share of jumps are 4 sqrt(0.25/2000) = 0.045
    assert sum(one.jump_at is not None for one in shops) / 2000 == pytest.approx(0.5, abs=0.045)
    # A standard deviation is known to 1/sqrt(2 * 2000) = 1.6 %, here four times that.
    assert _sd([one.offset_um for one in shops]) == pytest.approx(0.6, rel=0.065)
    assert _sd([one.drift_um for one in shops]) == pytest.approx(0.4, rel=0.065)
    assert _sd([one.part_c - one.stack_c for one in shops]) == pytest.approx(0.3536, rel=0.065)
    assert all(abs(one.part_said_c / 10 - one.part_c) <= 0.55 for one in shops)
    assert {one.excursion[2] for one in shops} == {2.0}
    assert all(0 <= one.excursion[0] < one.excursion[1] <= 1 for one in shops)


def _sd(values: list[float]) -> float:
    mean = sum(values) / len(values)
    return math.sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))
