"""Whole sessions judged a second time, straight from the formulas of rule set 3, in floats and with
quantiles from scipy: nothing of the program's own evaluation has a part in it.

All in um over the low limit of 59 970, for what `bench.crank_sessions` measures: two stations, four
even angles, one stint of one bracket, a stack of three blocks of grade 1 that is as long as the low
limit is, both temperatures given, no history and no gauge file.
"""

import math
from collections.abc import Sequence
from random import Random
from typing import NamedTuple

import pytest

from bench.crank_sessions import Job, checks, session, temperatures
from bench.cranks import POPULATIONS
from bench.shop import CHECK_READINGS, LOW_UM, PER_K, Drawn, Shown, drawn_shop, measured
from daq.evaluation.verdict import journals

CONFIDENCE, AGREE_UP_TO, FORM_LIMIT = 0.95, 0.70, 5.0
STEP_U = 1 / math.sqrt(12)
BLOCKS = (0.2**2 + 0.2**2 + 0.4**2) / 3  # limits of grade 1, rectangular
WRINGING = 2 * 0.012**2  # two joints
ANGLES = (0, 45, 90, 135)


class Found(NamedTuple):
    """What is compared: the verdict, how form was found, and the guards of size, out-of-round and
    taper in um.
    """

    verdict: str
    by: str
    guards: tuple[float, float, float]


class Known(NamedTuple):
    """How well a place, a check and a size are known; `nu`, `nu_s`: of the size, of the place."""

    place: float
    nu_s: float
    check: float
    size: float
    nu: float


def k(dof: float) -> float:
    """One-sided."""
    from scipy import stats  # loads slowly

    if math.isinf(dof):
        return float(stats.norm.ppf(CONFIDENCE))
    return float(stats.t.ppf(CONFIDENCE, math.floor(dof)))


def up(guard: float) -> float:
    """To 0.01 um."""
    return math.ceil(guard * 100 - 1e-7) / 100


def squares(values: Sequence[int]) -> float:
    mean = sum(values) / len(values)
    return sum((value - mean) ** 2 for value in values)


def temperature_variance(celsius: float) -> float:
    """Of a thermometer within 0.5 K and a coefficient within a tenth, with their product."""
    u_t, u_a = 0.5 / math.sqrt(3), 0.1 * PER_K / math.sqrt(3)
    first = (LOW_UM * PER_K * u_t) ** 2 + (LOW_UM * (celsius - 20) * u_a) ** 2
    return first + (LOW_UM * u_t * u_a) ** 2


def known(shown: Shown, part_c: float, stack_c: float) -> Known:
    from scipy import stats  # loads slowly

    n, r = len(shown.places[0]), CHECK_READINGS
    on_stack, c = squares(shown.before) + squares(shown.after), 2 * (r - 1)
    repeats, p = sum(map(squares, shown.places)), len(shown.places) * (n - 1)
    both = (on_stack + repeats) / (c + p), c + p
    part, check, is_one = both, both, True
    if p and repeats / p > on_stack / c * stats.f.ppf(0.95, p, c):
        part, check, is_one = (repeats / p, p), (on_stack / c, c), False
    elif p and on_stack / c > repeats / p * stats.f.ppf(0.95, c, p):
        part = check = on_stack / c, c
    u_place, nu_s = _larger(part, n)
    u_check, nu_check = _larger(check, r)
    moved = abs(sum(shown.after) - sum(shown.before)) / r
    variance = BLOCKS + WRINGING + temperature_variance(part_c) + temperature_variance(stack_c)
    variance += u_check**2 + u_place**2 + (moved / 2) ** 2
    if is_one and not math.isinf(nu_s) and not math.isinf(nu_check):
        below = (u_place**2 + u_check**2) ** 2 / nu_s  # one component
    else:
        below = u_place**4 / nu_s + u_check**4 / nu_check
    nu = variance**2 / below if below else math.inf
    return Known(u_place, nu_s, u_check, math.sqrt(variance), nu)


def _larger(scatter: tuple[float, int], count: int) -> tuple[float, float]:
    """The scatter of a mean or the step, and the degrees of freedom of that."""
    s = math.sqrt(scatter[0] / count)
    return (s, scatter[1]) if s >= STEP_U - 1e-12 else (STEP_U, math.inf)


def judged(shown: Shown, part_c: float, stack_c: float, tolerance: int) -> list[Found]:
    """Every journal of a session."""
    about, r = known(shown, part_c, stack_c), CHECK_READINGS
    error = (sum(shown.before) + sum(shown.after)) / (2 * r)
    ratio = (1 + PER_K * (stack_c - 20)) / (1 + PER_K * (part_c - 20))
    y = [(LOW_UM + sum(one) / len(one) - error) * ratio - LOW_UM for one in shown.places]
    moved = abs(sum(shown.after) - sum(shown.before)) / r
    extra = moved / 2 if moved > 2 * math.sqrt(2) * about.check + 1e-12 else 0.0
    return [
        _journal((y[at : at + 4], y[at + 4 : at + 8]), about, extra, tolerance)
        for at in range(0, len(y), 8)
    ]


def _journal(
    ends: tuple[list[float], list[float]], about: Known, extra: float, tolerance: int
) -> Found:
    from scipy import stats  # loads slowly

    front, rear = ends
    guard = up(k(about.nu) * about.size)
    cosines = [math.cos(2 * math.radians(angle)) for angle in ANGLES]
    sines = [math.sin(2 * math.radians(angle)) for angle in ANGLES]
    ovals = [
        (_along(cosines, end) / 2, _along(sines, end) / 2)  # of one end: sum of squares 2
        for end in ends
    ]
    a, b = ((ovals[0][n] + ovals[1][n]) / 2 for n in (0, 1))
    left_over = sum(
        (value - sum(end) / 4 - a * c - b * s) ** 2
        for end in ends
        for value, c, s in zip(end, cosines, sines, strict=True)
    )
    quantile = (
        stats.chi2.ppf(AGREE_UP_TO, 4) / 4
        if math.isinf(about.nu_s)
        else stats.f.ppf(AGREE_UP_TO, 4, about.nu_s)
    )
    if left_over / 4 / about.place**2 <= quantile:
        by, out_of_round, taper = "fit", 2 * math.hypot(a, b), abs(sum(front) - sum(rear)) / 4
        shares = 1.0, math.sqrt(1 / 2)  # 2 sqrt(2 / 8), sqrt(2 / 4)
    else:
        by, shares = "range", (math.sqrt(2), math.sqrt(2))
        widest = max(max(end) - min(end) for end in ends)
        oval = max(2 * math.hypot(*one) for one in ovals)
        out_of_round = oval if oval > widest + 1e-6 else widest
        taper = max(abs(one - other) for one, other in zip(front, rear, strict=True))
    form_guards = [up(k(about.nu_s) * math.hypot(share * about.place, extra)) for share in shares]
    pairs = list(zip((out_of_round, taper), form_guards, strict=True))
    guards = guard, form_guards[0], form_guards[1]
    smallest, largest = min(*front, *rear), max(*front, *rear)
    if smallest <= -guard:
        return Found("below", by, guards)
    if largest - tolerance >= guard:
        return Found("above", by, guards)
    if any(value - u > FORM_LIMIT + 1e-9 for value, u in pairs):
        return Found("out-of-form", by, guards)
    is_within = smallest >= guard and all(value + u <= FORM_LIMIT + 1e-9 for value, u in pairs)
    return Found("within" if is_within else "undecided", by, guards)


def _along(waves: Sequence[float], end: Sequence[float]) -> float:
    return sum(wave * value for wave, value in zip(waves, end, strict=True))


@pytest.mark.parametrize("repeats", [1, 2, 3])
@pytest.mark.parametrize("population", POPULATIONS)
def test_the_program_judges_whole_sessions_as_the_formulas_do(
    population: str, repeats: int
) -> None:
    job, rng, compared = Job(20, repeats), Random(f"formulas/{population}/{repeats}"), 0
    while compared < 12:
        shop = drawn_shop(rng, Drawn((0.2, 0.8)))
        shown = measured(rng, shop, POPULATIONS[population](rng, job.tolerance), repeats)
        if not all(check.passed for check in checks(job, shown)):
            continue
        results = journals(session(job, shown, temperatures(shop)))
        wanted = judged(shown, shop.part_said_c / 10, shop.stack_said_c / 10, job.tolerance)
        for result, want in zip(results, wanted, strict=True):
            assert (result.verdict, result.form_by) == (want.verdict, want.by)
            texts = (
                result.uncertainty_mm,
                result.out_of_round_uncertainty_mm,
                result.taper_uncertainty_mm,
            )
            assert [1000 * float(text) for text in texts] == pytest.approx(want.guards, abs=1e-6)
        compared += 1
