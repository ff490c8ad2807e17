"""A journal's form against its limits: out-of-round, taper, taper per length. Pure."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

import msgspec

from daq.lengths import EXACT, Limits, plain
from daq.metrology.conformity import DecisionRule, decide_upper
from daq.metrology.form import FINEST_MM, Form, FormFound

FORM_STEPS = 4
"""A form limit under so many resolution steps of the gauge cannot be judged with it."""

Settles: TypeAlias = Callable[[Decimal], str]
"""Words for what would bring an expanded uncertainty down to so many mm."""

_WORST_FIRST = ("over", "undecided", "not-enough-positions", "within")


class JudgedForm(msgspec.Struct, frozen=True):
    """A form limit judged: the answer, the value, its limit in mm, and which form it is."""

    answer: str
    form: Form | None
    limit_mm: Decimal
    is_taper: bool


class _Gauge(msgspec.Struct, frozen=True):
    """How well a form value is known, and by which rule it is judged."""

    guard_mm: Decimal
    rule: DecisionRule
    resolution_mm: Decimal | None


def judge_form(
    limits: Limits,
    found: FormFound,
    guard_mm: Decimal | None,
    rule: DecisionRule,
    resolution_mm: Decimal | None,
) -> list[JudgedForm]:
    """The judged form limits, the worst first; empty where there is none.

    `guard_mm`: expanded uncertainty of a difference; `resolution_mm`: the gauge's coarsest step.
    """
    gauge = _Gauge(guard_mm or Decimal(0), rule, resolution_mm)
    answers = []
    if limits.out_of_round is not None:
        limit_mm = limits.out_of_round.mm
        answer = _answer(found.out_of_round, limit_mm, limits, gauge)
        answers.append(JudgedForm(answer, found.out_of_round, limit_mm, False))
    if limits.taper is not None:
        answers += _tapers(limits, found, gauge)
    return sorted(answers, key=lambda one: _WORST_FIRST.index(one.answer))


def _tapers(limits: Limits, found: FormFound, gauge: _Gauge) -> list[JudgedForm]:
    """Of a limit per length every pair is judged; one whose own limit is under four steps of the
    gauge can only be proven over, and decides nothing else where others can be judged.
    """
    assert limits.taper is not None
    if not found.tapers:
        return [JudgedForm("not-enough-positions", None, limits.taper.mm, True)]
    every = [
        JudgedForm(_answer(form, limit_mm, limits, gauge), form, limit_mm, True)
        for form, limit_mm in sorted(found.tapers, key=lambda pair: pair[0].value, reverse=True)
    ]
    if not any(is_fit(one.limit_mm, gauge.resolution_mm) for one in every):
        return every
    return [
        one for one in every if one.answer == "over" or is_fit(one.limit_mm, gauge.resolution_mm)
    ]


def is_fit(limit_mm: Decimal, resolution_mm: Decimal | None) -> bool:
    """The gauge is fine enough for this form limit."""
    return resolution_mm is None or limit_mm >= EXACT.multiply(resolution_mm, Decimal(FORM_STEPS))


def _answer(form: Form | None, limit_mm: Decimal, limits: Limits, gauge: _Gauge) -> str:
    if form is None:
        return "not-enough-positions"
    answer = decide_upper(
        form.value,
        limit_mm,
        gauge.guard_mm,
        gauge.rule,
        equal_allowed=limits.is_form_equal_allowed,
    )
    if limits.taper_per is not None and answer == "over":
        return answer
    return answer if is_fit(limit_mm, gauge.resolution_mm) else "undecided"


def decided_by(taper: JudgedForm | None, found: FormFound) -> list[str]:
    """By which pair of stations a taper per length was judged, in words."""
    if taper is None or taper.form is None or not taper.form.at.count("between"):
        return []
    steepest = (
        "steepest taper" if (taper.form, taper.limit_mm) == found.steepest else "taper judged"
    )
    limit = plain(taper.limit_mm)
    return [f"{steepest} {taper.form.text} mm at {taper.form.at}, {limit} mm allowed there"]


def form_settles(judged: JudgedForm, resolution_mm: Decimal | None, settled_by: Settles) -> str:
    """What would settle an undecided form limit."""
    if not is_fit(judged.limit_mm, resolution_mm):
        return f"a finer gauge: the form limit is under {FORM_STEPS} steps of this one"
    assert judged.form is not None, "what was not measured is not undecided"
    away = abs(judged.form.value - Fraction(judged.limit_mm)) / Fraction(FINEST_MM)
    return settled_by(EXACT.multiply(Decimal(away.numerator // away.denominator), FINEST_MM))
