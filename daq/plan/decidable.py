"""Whether a gauge can decide a plan's limits at all, told before anybody measures. Pure.

Best cases: a journal of perfect form, or in the middle of its limits, with nothing uncertain but
how the gauge reads. What cannot be decided then cannot be decided ever; what can may still come out
undecided. Statistics are floats in mm.

Source of the formulas: those that the verdict goes by, with nothing in them but step and scatter;
standard uncertainty of a step q / sqrt(12) after JCGM 100:2008, F.2.2.1.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction

import msgspec

from daq.lengths import EXACT, shortest
from daq.metrology.form import for_length
from daq.metrology.form_conformity import FORM_STEPS
from daq.metrology.gauge_check import MOST_SHARE
from daq.metrology.oval import MOST_STRETCH, design
from daq.metrology.statistics.distributions import normal_quantile
from daq.metrology.uncertainty.mean import Scatter, mean_of
from daq.plan.key_words import several
from daq.plan.plan import JournalPlan, Plan
from daq.plan.review import Finding

USUAL_SCATTER = 0.5
"""Standard deviation of one reading in steps of the gauge where no study tells it: a sound gauge
repeats to about a step. Chosen by us."""

MOST_READINGS = 10
"""More readings a place than this are no advice."""

_FINEST_MM = Decimal("0.00001")


class GaugeKnown(msgspec.Struct, frozen=True):
    """What is known of a gauge beforehand: its step, and the standard deviation of one reading by
    a kept study.
    """

    step_mm: Decimal
    sd_mm: float | None = None

    @property
    def scatter_mm(self) -> float:
        """The standard deviation of one reading."""
        return USUAL_SCATTER * float(self.step_mm) if self.sd_mm is None else self.sd_mm

    def mean_u_mm(self, readings: int) -> float:
        """Of the mean of so many readings: scatter falls with them, the step does not."""
        scatter = Scatter(Fraction(self.scatter_mm) ** 2, math.inf, "")
        return mean_of(readings, scatter, self.step_mm).u_mm


def size_u_mm(gauge: GaugeKnown, repeats: int, check_readings: int) -> float:
    """Least standard uncertainty of a size: that of its place and of the check that it is corrected
    by.
    """
    return math.hypot(gauge.mean_u_mm(repeats), gauge.mean_u_mm(check_readings))


def oval_factor(angles_deg: Sequence[int], stations: int) -> float | None:
    """Standard uncertainty of an oval fitted over all stations, each with a mean of its own, as a
    multiple of that of a place; None where the angles do not show every oval.

    Of N places at even angles 2 * sqrt(2 / N).
    """
    seen = design([tuple(angles_deg)] * stations)
    return None if seen is None else seen.stretch


def form_factors(journal: JournalPlan) -> tuple[float, float]:
    """Least standard uncertainty of out-of-round and taper as multiples of that of a place: by the
    fitted oval where stations and angles allow one, else by the difference of two places.
    """
    angles, stations = journal.angles_deg, len(journal.stations)
    oval = oval_factor(angles, stations) if stations >= 2 and len(angles) >= 4 else None
    if oval is None or oval > MOST_STRETCH:
        return math.sqrt(2), math.sqrt(2)
    return oval, math.sqrt(2 / len(angles))


def undecidable(plan: Plan, gauge: GaugeKnown) -> tuple[Finding, ...]:
    """The tolerances and form limits that this gauge cannot decide by this plan, and what could."""
    found: dict[tuple[str, str], list[tuple[JournalPlan, str]]] = {}
    for journal in plan.journals:
        for word, words in (*_size(plan, journal, gauge), *_form(plan, journal, gauge)):
            found.setdefault((word, words), []).append((journal, word))
    return tuple(
        Finding(
            f"{members[0][0].key}.{word}",
            "cannot-be-decided",
            f"{several([journal.name for journal, _ in members])}: {words}",
        )
        for (word, words), members in found.items()
    )


def _k(plan: Plan) -> float:
    return normal_quantile(plan.decision.confidence)


def _readings(plan: Plan, journal: JournalPlan) -> int:
    """Readings that a place's mean is made of: in a study those of one operator."""
    return plan.study.trials if plan.study is not None else journal.repeats


def _size(plan: Plan, journal: JournalPlan, gauge: GaugeKnown) -> Iterator[tuple[str, str]]:
    tolerance = journal.limits.tolerance_mm
    if tolerance is None:
        return
    if EXACT.multiply(gauge.step_mm, Decimal(MOST_SHARE)) > tolerance:
        yield (
            "high",
            f"the step of {shortest(gauge.step_mm)} mm is over a quarter of high - low = "
            f"{shortest(tolerance)} mm, so measure refuses the gauge. {_finer(tolerance, 4)}",
        )
        return
    sides = 2 if journal.is_ground else 1

    def need(readings: int) -> float:
        return sides * _k(plan) * size_u_mm(gauge, readings, plan.check.readings)

    least = need(_readings(plan, journal))
    if plan.decision.rule == "guarded" and least >= float(tolerance):
        what = "both limits" if journal.is_ground else "the low limit"
        yield (
            "high",
            f"to be within, a size must keep clear of {what} by {least / sides:.5f} mm at the "
            f"least, and high - low is {shortest(tolerance)} mm. "
            f"{_remedy(plan, journal, need, float(tolerance))}",
        )


def _form(plan: Plan, journal: JournalPlan, gauge: GaugeKnown) -> Iterator[tuple[str, str]]:
    oval, taper = form_factors(journal)
    limits = journal.limits
    if limits.out_of_round is not None and len(journal.angles_deg) > 1:
        yield from _form_limit(plan, journal, gauge, ("out_of_round", limits.out_of_round.mm, oval))
    if limits.taper is not None and len(journal.stations) > 1:
        yield from _form_limit(plan, journal, gauge, ("taper", _taper_mm(journal), taper))


def _taper_mm(journal: JournalPlan) -> Decimal:
    """The limit on taper; of one per length that of the stations farthest apart."""
    limits = journal.limits
    assert limits.taper is not None
    if limits.taper_per is None:
        return limits.taper.mm
    places = [where.mm for where in journal.station_at]
    apart = EXACT.subtract(max(places), min(places))
    return for_length(limits.taper, limits.taper_per, apart)


def _form_limit(
    plan: Plan, journal: JournalPlan, gauge: GaugeKnown, what: tuple[str, Decimal, float]
) -> Iterator[tuple[str, str]]:
    word, limit, factor = what
    shown = shortest(limit.quantize(_FINEST_MM, ROUND_FLOOR))
    if limit < FORM_STEPS * gauge.step_mm:
        yield (
            word,
            f"{word} = {shown} mm is under four steps of {shortest(gauge.step_mm)} mm, so it stays "
            f"undecided. {_finer(limit, FORM_STEPS)}",
        )
        return

    def need(readings: int) -> float:
        return _k(plan) * factor * gauge.mean_u_mm(readings)

    least = need(_readings(plan, journal))
    if plan.decision.rule == "guarded" and least >= float(limit):
        yield (
            word,
            f"{word} = {shown} mm cannot be shown to be kept, not even by a perfect journal: "
            f"{least:.5f} mm of it are not known. {_remedy(plan, journal, need, float(limit))}",
        )


def _finer(room: Decimal, steps: int) -> str:
    step = (room / steps).quantize(_FINEST_MM, ROUND_FLOOR)
    return f"A gauge with a step of at most {shortest(step)} mm could"


def _remedy(plan: Plan, journal: JournalPlan, need: Callable[[int], float], room: float) -> str:
    """What would decide it: more readings a place, the fewest that do, or a better gauge."""
    now = _readings(plan, journal)
    for readings in range(now + 1, MOST_READINGS + 1):
        if need(readings) < room:
            count = {2: "Two", 3: "Three"}.get(readings, str(readings))
            key = "trials" if plan.study is not None else "repeats"
            return f"{count} readings a place ({key} = {readings}) or a better gauge could"
    return "A gauge with a finer step that repeats better could"
