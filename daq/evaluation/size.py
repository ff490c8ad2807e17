"""A journal's size against its limits: which place decides, how sure that is. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal

import msgspec

from daq.evaluation.conditions import GUARD_STEP_MM, Conditions, size_budget
from daq.evaluation.places import Place, are_alike, largest, smallest
from daq.lengths import Limits
from daq.metrology.conformity import DecisionRule
from daq.metrology.statistics.distributions import t_cdf
from daq.metrology.uncertainty.budget import Budget, rounded_up

SizeAnswer = Literal["below", "above", "undecided", "within"]
_WORST_FIRST: tuple[SizeAnswer, ...] = ("below", "above", "undecided", "within")


class SizeRule(msgspec.Struct, frozen=True):
    """How sizes are decided: "guarded" or "simple", with what confidence, and whether the journal
    was ground, so that its high limit must be kept too.
    """

    rule: DecisionRule
    confidence: float
    is_ground: bool


class Sized(msgspec.Struct, frozen=True):
    """An extreme place, its estimate, the budget of that and the guard that this gives; in mm."""

    place: Place
    y_mm: Fraction
    budget: Budget
    guard_mm: Decimal


class JudgedSize(msgspec.Struct, frozen=True):
    """A journal's sizes judged. `smallest`, `largest`: of all its places; `decisive`: the place
    that gives `probability`, that the true size keeps the limits that count.
    """

    answer: SizeAnswer
    smallest: Sized
    largest: Sized
    decisive: Sized
    probability: float


def judge_size(found: Sequence[Place], limits: Limits, by: SizeRule) -> JudgedSize:
    """The sizes of a journal's places, at least one, in route order.

    The smallest estimate alone is held against the low limit, the largest against the high one. The
    smallest and the largest of each bracket (the same checks around them) are judged with their own
    uncertainty, and the worst answer and the least probability are the journal's.
    """
    brackets = [_bracket(own, limits, by) for own in _by_bracket(found)]
    doubtful = min(brackets, key=lambda one: one.probability)
    if len(brackets) == 1:
        return brackets[0]
    turn = {id(place): number for number, place in enumerate(found)}  # the first of equal ones
    return JudgedSize(
        min((one.answer for one in brackets), key=_WORST_FIRST.index),
        min(
            (one.smallest for one in brackets),
            key=lambda one: (one.y_mm, turn[id(one.place)]),
        ),
        min(
            (one.largest for one in brackets),
            key=lambda one: (-one.y_mm, turn[id(one.place)]),
        ),
        doubtful.decisive,
        doubtful.probability,
    )


def _by_bracket(found: Sequence[Place]) -> Sequence[Sequence[Place]]:
    first = found[0].about
    if all(place.about is first for place in found):
        return [found]
    listed: list[tuple[Conditions, list[Place]]] = []
    for place in found:
        own = next((own for about, own in listed if about is place.about), None)
        if own is None:
            listed.append((place.about, [place]))
        else:
            own.append(place)
    return [own for _, own in listed]


def sized(place: Place, confidence: float) -> Sized:
    """A place with the guard of its estimate."""
    y_mm = place.y_mm
    budget = size_budget(place.about, y_mm, place.count, confidence)
    return Sized(place, y_mm, budget, rounded_up(budget.expanded, GUARD_STEP_MM))


def nearest(found: Sequence[Place], limits: Limits, by: SizeRule) -> tuple[Sized, Fraction]:
    """The extreme place that is too near to its limit by the most, and how far inside in mm."""
    sides = []
    for own in _by_bracket(found):
        judged = _bracket(own, limits, by)
        sides.append((judged.smallest, judged.smallest.y_mm - Fraction(limits.low.mm)))
        if by.is_ground and limits.high is not None:
            most = judged.largest
            sides.append((most, Fraction(limits.high.mm) - most.place.y_mm))
    return min(sides, key=lambda side: side[1] - Fraction(side[0].guard_mm))


def _bracket(found: Sequence[Place], limits: Limits, by: SizeRule) -> JudgedSize:
    alike = are_alike(found)
    least = sized(smallest(found, alike=alike), by.confidence)
    most = sized(largest(found, alike=alike), by.confidence)
    low, high = limits.low.mm, None if limits.high is None else limits.high.mm
    answer = _answer(least, most, low, high, by)
    over = _share_over(least, low)
    under = 1.0 if high is None else _share_under(most, high)
    if by.is_ground:
        probability = max(over + under - 1, 0.0)
    else:
        probability = under if answer == "above" else over
    decisive = most if answer == "above" else least
    return JudgedSize(answer, least, most, decisive, probability)


def _answer(
    smallest: Sized, largest: Sized, low: Decimal, high: Decimal | None, by: SizeRule
) -> SizeAnswer:
    if by.rule == "simple":
        if smallest.y_mm < low:
            return "below"
        return "above" if high is not None and largest.y_mm > high else "within"
    room = smallest.y_mm - Fraction(low)
    if room <= -Fraction(smallest.guard_mm):
        return "below"
    if high is not None:
        left = Fraction(high) - largest.y_mm
        if left <= -Fraction(largest.guard_mm):
            return "above"
        if by.is_ground and left < Fraction(largest.guard_mm):
            return "undecided"
    return "within" if room >= Fraction(smallest.guard_mm) else "undecided"


def _share_over(sized: Sized, low: Decimal) -> float:
    """Probability that the true size is over `low` (JCGM 106:2012, 7.2, with Student's t for the
    few degrees of freedom of a budget).
    """
    return _probability(sized.y_mm - Fraction(low), sized.budget)


def _share_under(sized: Sized, high: Decimal) -> float:
    return _probability(Fraction(high) - sized.y_mm, sized.budget)


def _probability(inside_mm: Fraction, budget: Budget) -> float:
    return t_cdf(float(inside_mm) / budget.combined, budget.dof)
