"""A journal's form against its limits: out-of-round, taper, taper per length. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

import msgspec

from daq.evaluation.journal_form import FormValue, JournalForm
from daq.lengths import Limits, mean_text, plain
from daq.metrology.conformity import DecisionRule, decide_upper
from daq.metrology.form_conformity import FORM_STEPS, is_fit

FormAnswer = Literal["over", "undecided", "not-seen", "not-enough-positions", "within"]
_WORST_FIRST: tuple[FormAnswer, ...] = (
    "over",
    "undecided",
    "not-seen",
    "not-enough-positions",
    "within",
)


class FormJudged(msgspec.Struct, frozen=True):
    """A form limit judged: the answer, the value, its limit in mm, and which form it is."""

    answer: FormAnswer
    value: FormValue | None
    limit_mm: Decimal
    is_taper: bool


class _Gauge(msgspec.Struct, frozen=True):
    rule: DecisionRule
    step_mm: Decimal | None
    is_equal_allowed: bool


def judged_form(
    limits: Limits, found: JournalForm, rule: DecisionRule, step_mm: Decimal | None
) -> list[FormJudged]:
    """The judged form limits, the worst first; empty where there is none. `step_mm`: the gauge's
    coarsest step.

    within: value + k u <= limit; over: value - k u > limit; equal counts as inside, unless the
    plan's limit must be stayed under.
    """
    gauge = _Gauge(rule, step_mm, limits.is_form_equal_allowed)
    answers = []
    if limits.out_of_round is not None:
        answers.append(_out_of_round(found, limits.out_of_round.mm, gauge))
    if limits.taper is not None:
        answers += _tapers(limits, found, gauge)
    return sorted(answers, key=lambda one: _WORST_FIRST.index(one.answer))


def _out_of_round(found: JournalForm, limit_mm: Decimal, gauge: _Gauge) -> FormJudged:
    """Two angles can miss all of an oval: what they show may be over a limit, and never within."""
    value = found.out_of_round
    if value is None:
        return FormJudged("not-enough-positions", None, limit_mm, False)
    answer = _against(value, limit_mm, gauge)
    if found.is_blind:
        return FormJudged("over" if answer == "over" else "not-seen", value, limit_mm, False)
    if not is_fit(limit_mm, gauge.step_mm):
        answer = "undecided"
    return FormJudged(answer, value, limit_mm, False)


def _tapers(limits: Limits, found: JournalForm, gauge: _Gauge) -> list[FormJudged]:
    """Of a limit per length every pair is judged; one whose own limit is under four steps of the
    gauge can only be proven over, and decides nothing else where others can be judged.
    """
    assert limits.taper is not None
    if not found.tapers:
        return [FormJudged("not-enough-positions", None, limits.taper.mm, True)]
    is_per_length = limits.taper_per is not None
    every = []
    for value, limit_mm in sorted(found.tapers, key=lambda pair: pair[0].value_mm, reverse=True):
        answer = _against(value, limit_mm, gauge)
        if not (is_per_length and answer == "over") and not is_fit(limit_mm, gauge.step_mm):
            answer = "undecided"
        every.append(FormJudged(answer, value, limit_mm, True))
    if not any(is_fit(one.limit_mm, gauge.step_mm) for one in every):
        return every
    return [one for one in every if one.answer == "over" or is_fit(one.limit_mm, gauge.step_mm)]


def _against(value: FormValue, limit_mm: Decimal, gauge: _Gauge) -> FormAnswer:
    return decide_upper(
        value.value_mm,
        limit_mm,
        value.guard_mm,
        gauge.rule,
        equal_allowed=gauge.is_equal_allowed,
    )


def form_answer(answers: Sequence[FormJudged], *, is_complete: bool) -> str:
    """By the worst of the judged form limits; what was not measured may be worse."""
    answer = answers[0].answer if answers else "no-limit"
    if answer in ("within", "undecided") and not is_complete:
        return "not-enough-positions"
    return answer


def form_remarks_of(found: JournalForm, answers: Sequence[FormJudged]) -> list[str]:
    """What these places cannot show, and by which pair a taper per length was judged."""
    remarks = []
    if len(found.angles_deg) == 1:
        remarks.append("one angle only: out-of-round was not measured")
    elif len(found.angles_deg) == 2:
        remarks.append("two angles only: they can miss all of the ovality")
    if found.angles_deg and found.stations < 2:
        remarks.append("fewer than two stations: taper was not measured")
    per_length = next((one for one in answers if one.is_taper and len(found.tapers) > 1), None)
    if per_length is not None and per_length.value is not None:
        value = per_length.value
        where = value.at.replace(";", " and ") if ";" in value.at else value.at
        remarks.append(
            f"taper judged {mean_text(value.value_mm)} mm at {where}, "
            f"{plain(per_length.limit_mm)} mm allowed there"
        )
    return remarks


__all__ = ["FORM_STEPS", "FormJudged", "form_answer", "form_remarks_of", "judged_form"]
