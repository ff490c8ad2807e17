"""What would settle an undecided limit: a better measurement, by the guard it would bring. Pure."""

from collections.abc import Callable, Sequence
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from functools import reduce

import msgspec

from daq.evaluation.conditions import GUARD_STEP_MM, Conditions
from daq.evaluation.journal_form import form_of_places
from daq.evaluation.judged_form import FormJudged, judged_form
from daq.evaluation.places import Place
from daq.evaluation.size import SizeRule, judge_size, nearest
from daq.lengths import EXACT, Limits, plain, shortest
from daq.metrology.form_conformity import FORM_STEPS, is_fit
from daq.plan.plan import DecisionPlan, JournalPlan

GRADE_0_U_MM = 0.0002
"""About what a stack of good blocks is known to; a worse one may be the remedy."""


class Remedy(msgspec.Struct, frozen=True):
    """A better measurement: in words, and what it makes of a place (its estimate staying as it
    is).
    """

    words: str
    better: Callable[[Place], Place]


def size_settled_by(found: Sequence[Place], limits: Limits, by: SizeRule) -> str:
    """What would bring the guards of undecided sizes down to their distance from the limits that
    they are too near to; it speaks of the place that is too near by the most.

    The easiest first: two readings a place average the scatter that decides most often.
    """
    at, room = nearest(found, limits, by)
    name = at.place.at
    if not room:
        return f"{name} lies on the limit itself: no gauge can decide this"
    needed = _floored(abs(room))
    if not needed:
        return f"{name} lies within 0.00001 mm of the limit: no gauge can decide this"
    begin = f"{name} is {shortest(needed)} mm from the limit and known to {plain(at.guard_mm)} mm"
    ways = remedies(at.place.about, at.place.count)

    def settles(chosen: Sequence[Remedy]) -> bool:
        return judge_size(_better(found, chosen), limits, by).answer != "undecided"

    return _settled(begin, ways, settles)


def form_settled_by(
    judged: FormJudged,
    found: Sequence[Place],
    journal: JournalPlan,
    decision: DecisionPlan,
    step_mm: Decimal | None,
) -> str:
    """The same of a form limit, the form staying what it is."""
    if not is_fit(judged.limit_mm, step_mm):
        return f"a finer gauge: the form limit is under {FORM_STEPS} steps of this one"
    assert judged.value is not None, "what was not measured is not undecided"
    what = "taper" if judged.is_taper else "out-of-round"
    away = _floored(abs(judged.value.value_mm - Fraction(judged.limit_mm)))
    begin = (
        f"{what} is {shortest(away)} mm from its limit and known to "
        f"{plain(judged.value.guard_mm)} mm"
    )

    def settles(ways: Sequence[Remedy]) -> bool:
        better = _better(found, ways)
        form = form_of_places(better, journal.taper_limit, decision.confidence)
        again = judged_form(journal.limits, form, decision.rule, _step(better))
        return bool(again) and again[0].answer in ("within", "over")

    place = max(found, key=lambda place: place.about.step_mm)
    ways = form_remedies(place.about, min(each.count for each in found))
    return _settled(begin, ways, settles)


def _step(found: Sequence[Place]) -> Decimal:
    return max(place.about.step_mm for place in found)


def _better(found: Sequence[Place], ways: Sequence[Remedy]) -> list[Place]:
    """The places measured better; those that shared their conditions still do."""
    about: dict[int, Conditions] = {}
    better = [reduce(lambda place, way: way.better(place), ways, place) for place in found]
    return [
        msgspec.structs.replace(one, about=about.setdefault(id(place.about), one.about))
        for one, place in zip(better, found, strict=True)
    ]


def _floored(mm: Fraction) -> Decimal:
    steps = mm / Fraction(GUARD_STEP_MM)
    whole = Decimal(steps.numerator // steps.denominator)
    return (whole * GUARD_STEP_MM).quantize(GUARD_STEP_MM, ROUND_FLOOR)


def remedies(about: Conditions, count: int) -> list[Remedy]:
    """What a shop can do to know a size better, the easiest first."""
    found = []
    if about.is_provisional:
        found.append(Remedy("the closing check", _closed))
    found.append(_repeats(count))
    if about.part_c is None or about.reference.celsius is None:
        words = "let part, gauge and stack come to the same temperature, measure and give it"
        found.append(Remedy(words, _measured_temperatures))
    if about.checks.readings < 10:
        found.append(Remedy("read the stack ten times a check", _ten_a_check))
    if about.stack_u_mm > GRADE_0_U_MM:
        found.append(Remedy("a better stack: grade 0 or with a certificate", _better_stack))
    found.append(Remedy("a gauge that reads ten times finer", _finer))
    return found


def form_remedies(about: Conditions, count: int) -> list[Remedy]:
    """The same of a form, of which stack and temperatures are no part."""
    found = [_repeats(count)]
    if about.checks.readings < 10:
        found.append(Remedy("read the stack ten times a check", _ten_a_check))
    found.append(Remedy("a gauge that reads ten times finer", _finer))
    return found


def _repeats(count: int) -> Remedy:
    many = {1: "two readings a place"}.get(count, f"{2 * count} readings a place")
    return Remedy(many, _twice)


def _twice(place: Place) -> Place:
    """Twice as many readings with the same mean."""
    return msgspec.structs.replace(
        place, count=2 * place.count, total_mm=EXACT.multiply(Decimal(2), place.total_mm)
    )


def _with(place: Place, **changes: object) -> Place:
    return msgspec.structs.replace(place, about=msgspec.structs.replace(place.about, **changes))


def _closed(place: Place) -> Place:
    """A closing check that finds the gauge where it was."""
    return _with(place, checks=msgspec.structs.replace(place.about.checks, moved_mm=Fraction(0)))


def _measured_temperatures(place: Place) -> Place:
    reference = place.about.reference
    at_20 = reference.celsius or place.about.part_c or Decimal(20)
    return _with(place, part_c=at_20, reference=msgspec.structs.replace(reference, celsius=at_20))


def _ten_a_check(place: Place) -> Place:
    """Ten readings in each of two checks: 18 degrees of freedom more."""
    about = place.about
    dof = max(18.0, about.on_stack.dof)
    on_stack = msgspec.structs.replace(about.on_stack, dof=dof)
    on_part = on_stack if about.is_one else about.on_part
    checks = msgspec.structs.replace(about.checks, readings=10)
    return _with(place, on_stack=on_stack, on_part=on_part, checks=checks)


def _better_stack(place: Place) -> Place:
    return _with(place, stack_u_mm=GRADE_0_U_MM)


def _finer(place: Place) -> Place:
    return _with(place, step_mm=place.about.step_mm / 10)


def _settled(
    begin: str, ways: Sequence[Remedy], settles: Callable[[Sequence[Remedy]], bool]
) -> str:
    enough = [way.words for way in ways if settles([way])]
    if enough:
        return f"{begin}. This would settle it: {', or '.join(enough)}"
    for count in range(2, len(ways) + 1):
        if settles(ways[:count]):
            together = " and ".join(way.words for way in ways[:count])
            return f"{begin}. Only together would settle it: {together}"
    every = "; ".join(way.words for way in ways)
    return f"{begin}. None of these would settle it, nor all together: {every}"
