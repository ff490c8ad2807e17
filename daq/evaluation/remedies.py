"""What would settle an undecided limit: a better measurement, by the guard it would bring. Pure.

Found as a record, from which the words of the closing line are made here; these words never change,
for `verify` makes them again. Those for a person to act on are made where they are shown.
"""

from collections.abc import Callable, Sequence
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from functools import reduce
from typing import Literal

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


RemedyKind = Literal[
    "closing-check", "repeats", "temperatures", "ten-a-check", "better-stack", "finer-gauge"
]


class Remedy(msgspec.Struct, frozen=True):
    """A better measurement: in words, and what it makes of a place (its estimate staying as it
    is).
    """

    kind: RemedyKind
    words: str
    better: Callable[[Place], Place]


class Settling(msgspec.Struct, frozen=True):
    """What would settle one undecided limit. `of`: what is undecided; `at`: the place in doubt,
    empty for a form; `away_mm`: how far it is from the limit, rounded down to GUARD_STEP_MM, with
    zero for less; `guard_mm`: how near is too near.

    `answer`: each of `ways` alone is enough; all of them are, `together`; not even all of them,
    `none`; it lies `on-limit` or so near to it, `at-limit`, that no gauge can tell; the limit is
    under FORM_STEPS steps of the gauge, so only a `finer-gauge` helps. `readings` a place are what
    the way "repeats" means, `finer_mm` is the step of a gauge that reads ten times finer.
    """

    of: Literal["size", "out-of-round", "taper"]
    answer: Literal["alone", "together", "none", "on-limit", "at-limit", "finer-gauge"]
    at: str = ""
    away_mm: Decimal = Decimal(0)
    guard_mm: Decimal = Decimal(0)
    ways: tuple[RemedyKind, ...] = ()
    words: tuple[str, ...] = ()
    readings: int = 0
    finer_mm: Decimal = Decimal(0)


def size_settling(found: Sequence[Place], limits: Limits, by: SizeRule) -> Settling:
    """What would bring the guards of undecided sizes down to their distance from the limits that
    they are too near to; it speaks of the place that is too near by the most.

    The easiest first: two readings a place average the scatter that decides most often.
    """
    at, room = nearest(found, limits, by)
    name = at.place.at
    needed = _floored(abs(room))
    if not needed:
        return Settling("size", "at-limit" if room else "on-limit", name)
    ways = remedies(at.place.about, at.place.count)

    def settles(chosen: Sequence[Remedy]) -> bool:
        return judge_size(_better(found, chosen), limits, by).answer != "undecided"

    return _settled(Settling("size", "none", name, needed, at.guard_mm), at.place, ways, settles)


def form_settling(
    judged: FormJudged,
    found: Sequence[Place],
    journal: JournalPlan,
    decision: DecisionPlan,
    step_mm: Decimal | None,
) -> Settling:
    """The same of a form limit, the form staying what it is."""
    what: Literal["taper", "out-of-round"] = "taper" if judged.is_taper else "out-of-round"
    if not is_fit(judged.limit_mm, step_mm):
        return Settling(what, "finer-gauge", finer_mm=_finer_step(judged.limit_mm))
    assert judged.value is not None, "what was not measured is not undecided"
    away = _floored(abs(judged.value.value_mm - Fraction(judged.limit_mm)))

    def settles(ways: Sequence[Remedy]) -> bool:
        better = _better(found, ways)
        form = form_of_places(better, journal.taper_limit, decision.confidence)
        again = judged_form(journal.limits, form, decision.rule, _step(better))
        return bool(again) and again[0].answer in ("within", "over")

    place = max(found, key=lambda place: place.about.step_mm)
    count = min(each.count for each in found)
    ways = form_remedies(place.about, count)
    begun = Settling(what, "none", "", away, judged.value.guard_mm)
    return _settled(begun, msgspec.structs.replace(place, count=count), ways, settles)


def _finer_step(limit_mm: Decimal) -> Decimal:
    """The coarsest usual step, 1, 2 or 5 times a power of ten in mm, of which a form limit has
    FORM_STEPS.
    """
    most = Fraction(limit_mm) / FORM_STEPS
    exponent = 0
    while Fraction(10) ** exponent > most:
        exponent -= 1
    lead = next(n for n in (5, 2, 1) if n * Fraction(10) ** exponent <= most)
    return EXACT.scaleb(Decimal(lead), exponent)


def settling_words(settling: Settling) -> str:
    """The words of the closing line."""
    if settling.answer == "finer-gauge":
        return f"a finer gauge: the form limit is under {FORM_STEPS} steps of this one"
    if settling.answer == "on-limit":
        return f"{settling.at} lies on the limit itself: no gauge can decide this"
    if settling.answer == "at-limit":
        return f"{settling.at} lies within 0.00001 mm of the limit: no gauge can decide this"
    name = settling.at or settling.of
    whose = "the" if settling.at else "its"
    begin = (
        f"{name} is {shortest(settling.away_mm)} mm from {whose} limit and known to "
        f"{plain(settling.guard_mm)} mm"
    )
    if settling.answer == "alone":
        return f"{begin}. This would settle it: {', or '.join(settling.words)}"
    if settling.answer == "together":
        return f"{begin}. Only together would settle it: {' and '.join(settling.words)}"
    every = "; ".join(settling.words)
    return f"{begin}. None of these would settle it, nor all together: {every}"


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
        found.append(Remedy("closing-check", "the closing check", _closed))
    found.append(_repeats(count))
    if about.part_c is None or about.reference.celsius is None:
        words = "let part, gauge and stack come to the same temperature, measure and give it"
        found.append(Remedy("temperatures", words, _measured_temperatures))
    if about.checks.readings < 10:
        found.append(Remedy("ten-a-check", "read the stack ten times a check", _ten_a_check))
    if about.stack_u_mm > GRADE_0_U_MM:
        found.append(
            Remedy("better-stack", "a better stack: grade 0 or with a certificate", _better_stack)
        )
    found.append(Remedy("finer-gauge", "a gauge that reads ten times finer", _finer))
    return found


def form_remedies(about: Conditions, count: int) -> list[Remedy]:
    """The same of a form, of which stack and temperatures are no part."""
    found = [_repeats(count)]
    if about.checks.readings < 10:
        found.append(Remedy("ten-a-check", "read the stack ten times a check", _ten_a_check))
    found.append(Remedy("finer-gauge", "a gauge that reads ten times finer", _finer))
    return found


def _repeats(count: int) -> Remedy:
    many = {1: "two readings a place"}.get(count, f"{2 * count} readings a place")
    return Remedy("repeats", many, _twice)


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
    begun: Settling,
    place: Place,
    ways: Sequence[Remedy],
    settles: Callable[[Sequence[Remedy]], bool],
) -> Settling:
    """`begun` with the ways that are enough; `place`: of what the remedies are told."""
    answer: Literal["alone", "together", "none"] = "none"
    enough = [way for way in ways if settles([way])]
    if enough:
        answer = "alone"
    else:
        counts = range(2, len(ways) + 1)
        enough = next((list(ways[:n]) for n in counts if settles(ways[:n])), [])
        if enough:
            answer = "together"
    told = enough or ways
    return msgspec.structs.replace(
        begun,
        answer=answer,
        ways=tuple(way.kind for way in told),
        words=tuple(way.words for way in told),
        readings=2 * place.count,
        finer_mm=place.about.step_mm / 10,
    )


__all__ = [
    "Remedy",
    "RemedyKind",
    "Settling",
    "form_remedies",
    "form_settling",
    "remedies",
    "settling_words",
    "size_settling",
]
