"""Whether a measurement is good, and why; what it cannot see; what to mind. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from daq.cli.views.answer_groups import Sentence, finished_words
from daq.cli.views.ended import SessionEnd
from daq.cli.views.paragraphs import listed
from daq.disposition.next_step import NOT_SEEN
from daq.disposition.words import GRINDER, NOT_EXAMINED
from daq.evaluation.verdict import (
    ABANDONED,
    ACCEPTED,
    OPEN,
    PART_SCATTERS,
    expired_stacks,
)
from daq.lengths import shortest
from daq.record.environment import reference
from daq.record.events import CheckJudged
from daq.record.results import GroupResult, JournalResult
from daq.record.rule_sets import RULE_SET_3
from daq.record.standing import PartReading
from daq.record.state import standing_readings
from drivers.printable import printable

_GOOD, _BAD = "bold green", "bold red"
_CHECKS = {
    "before": "check before measuring",
    "during": "check in between",
    "after": "check after measuring",
}
AGAIN = "Wipe anvils and stack, set the gauge to the stack, and measure again."


def measurement(end: SessionEnd) -> Sentence:
    """Is the measurement good: in plain words, and with the word of the record in brackets."""
    why = " ".join(_why(end))
    if end.verdict == ACCEPTED:
        return Sentence(f"Measurement good (accepted): {why}", _GOOD)
    if end.verdict == OPEN:
        return Sentence(f"Measurement not finished (open): {why}", "bold yellow")
    return Sentence(f"Measurement NOT good ({end.verdict}): {why}", _BAD)


def _why(end: SessionEnd) -> list[str]:
    said = [f"{_sentence(text)}" for text in end.said]
    failed = [judged.event for judged in end.state.judged if not judged.event.passed]
    if end.verdict == ACCEPTED:
        return [*_held(end), *_on_the_way(failed), *_not_measured(end), *said]
    if end.verdict == OPEN:
        last = end.state.judged[-1].event if end.state.judged else None
        fault = [_failed(last)] if last is not None and not last.passed else []
        return [*fault, *_not_measured(end), *_unproven(end)]
    if end.verdict == ABANDONED:
        given_up = "given up without the check after measuring."
        return [given_up, *said, *_unproven(end)]
    has_passed = any(each.event.passed for each in end.state.judged)
    told = [_failed(failed[-1])] if failed else []
    if not has_passed and not failed:
        told = ["the gauge was never checked on the stack."]
    return [*told, *said, *_unproven(end), *([AGAIN] if failed else [])]


def _sentence(text: str) -> str:
    """Words of the record as a sentence."""
    shown = printable(text)
    for word in ("stopped: ", "abandoned: "):
        if shown.startswith(word):
            return f'Reason given: "{shown.removeprefix(word)}".'
    return f"{shown[:1].upper()}{shown[1:]}."


def _held(end: SessionEnd) -> list[str]:
    """How the gauge did in the checks around the readings."""
    errors = [
        abs(Decimal(judged.event.mean_error_mm))
        for judged in end.state.judged
        if judged.event.passed
    ]
    most = max(errors, default=Decimal(0))
    if not most:
        return ["the gauge read the stack right."]
    taken_off = ", taken off" if end.state.rules >= RULE_SET_3 else ""
    return [f"gauge off by {shortest(most)} mm at most{taken_off}."]


def _on_the_way(failed: Sequence[CheckJudged]) -> list[str]:
    if not failed:
        return []
    count = "One check" if len(failed) == 1 else f"{len(failed)} checks"
    return [f"{count} failed on the way; nothing counts that it could not prove."]


def _not_measured(end: SessionEnd) -> list[str]:
    total = sum(result.positions_planned for result in end.results)
    if not end.missing:
        return ["All places are measured."] if end.verdict == OPEN else []
    skipped = len(end.state.skips)
    more = f" ({skipped} skipped)" if skipped else ""
    if end.verdict == OPEN:
        return [f"{end.missing} of {total} places are still to be measured{more}."]
    return [f"NOT whole: {end.missing} of {total} places not measured{more}."]


def _unproven(end: SessionEnd) -> list[str]:
    count = sum(end.unproven.values())
    if not count:
        return []
    names = listed([printable(name) for name in end.unproven])
    readings = "reading is" if count == 1 else "readings are"
    return [f"{count} {readings} not proven by a check: {names}."]


def _failed(event: CheckJudged) -> str:
    """A check that failed, in numbers that a machinist asks for."""
    found = []
    error, spread = Fraction(event.mean_error_mm), Fraction(event.spread_mm)
    drift = Fraction(event.drift_mm or 0)
    if abs(drift) > Fraction(event.max_drift_mm):
        found.append(f"the gauge had moved by {_mm(event.drift_mm)}, {_limit(event.max_drift_mm)}")
    if event.phase == "before" and abs(error) > Fraction(event.max_error_mm):
        found.append(f"the gauge was {_off(event.mean_error_mm)}, {_limit(event.max_error_mm)}")
    if spread > Fraction(event.max_spread_mm):
        found.append(
            f"its readings lay {_mm(event.spread_mm)} apart, {_limit(event.max_spread_mm)}"
        )
    why = " and ".join(found) or printable(event.reason)
    return f"the {_CHECKS[event.phase]} failed: {why}."


def _mm(text: str) -> str:
    return f"{shortest(abs(Decimal(text)))} mm"


def _off(text: str) -> str:
    side = "too small" if text.startswith("-") else "too large"
    return f"reading {_mm(text)} {side} on the stack"


def _limit(text: str) -> str:
    return f"{shortest(Decimal(text))} mm is allowed"


# What was not examined ----------------------------------------------------------------------------


def not_examined(end: SessionEnd) -> list[Sentence]:
    """What a measurement of diameters cannot see, once for the whole part."""
    if end.is_study or not end.state.standing:
        return []
    lobes = ", three or five lobes" if any(float(r.ovality_seen or 0) for r in end.results) else ""
    said = [
        "Not examined: cracks, hardness, straightness, run-out, fillets, surface, bores, shells, "
        f"places between{lobes}; a gauge that moved and came back."
    ]
    whole = [r for r in end.results if r.positions_measured == r.positions_planned]
    for what, some in (
        ("Out-of-round not seen (fewer than three angles)", [r for r in whole if _is_blind(r)]),
        ("Taper not measured", [r for r in whole if "taper was not measured" in r.remarks]),
        ("No limits on form in the plan", [r for r in whole if r.form_verdict == "no-limit"]),
    ):
        if some:
            said.append(f"{what}: {_names(end, some)}.")
    return [Sentence(" ".join(said))]


def _is_blind(result: JournalResult) -> bool:
    is_few = "two angles only" in result.remarks or "one angle only" in result.remarks
    return is_few or result.form_verdict == "not-seen"


def _names(end: SessionEnd, some: Sequence[JournalResult]) -> str:
    if len(some) == len(end.results):
        return "all journals" if len(some) > 1 else printable(some[0].journal)
    return listed([printable(result.journal) for result in some])


# What to mind -------------------------------------------------------------------------------------

_TOLD_ELSEWHERE = (*NOT_EXAMINED.split("; "), GRINDER, NOT_SEEN)
_BEGINNINGS_TOLD = (
    "two-point out-of-round",
    "no limit on form",
    "worn in",
    "not measured in full",
    "a smaller place there asks",
    "if it does not clean up",
)


PERMISSION = (
    "Evidence, not permission: the maker's manual, local codes and a licensed practice decide."
)


def cautions(end: SessionEnd) -> list[Sentence]:
    """What to mind, each thing once."""
    if not end.state.standing:
        return []
    said = [*_temperatures(end), *_of_gauge(end)]
    if not end.is_study:
        if PART_SCATTERS in end.reasons:
            said.append("The part scatters more than the stack: wipe it, read each place twice.")
        said += [*_grinding(end), *_of_groups(end)]
        said.append(PERMISSION)
    return [Sentence(f"Mind: {' '.join(said)}")] if said else []


def _temperatures(end: SessionEnd) -> list[str]:
    pairs = {(taken.run, end.state.stints[taken.stint - 1].stack) for taken in _standing(end)}
    is_unknown = set()
    for run, stack in pairs:
        around = end.state.environments[run]
        against = reference(around, stack)
        is_unknown.add((around.part_c is None, against.celsius is None))
    said = {
        (True, True): "no temperature was given: right if all was equally warm.",
        (True, False): "the part's temperature was not given: taken as warm as the stack.",
        (False, True): "the stack's temperature was not given: taken as 20 °C.",
    }
    return [words for which, words in said.items() if which in is_unknown]


def _standing(end: SessionEnd) -> Sequence[PartReading]:
    return standing_readings(end.state)


def _of_gauge(end: SessionEnd) -> list[str]:
    said = [
        f'The gauge was used although its checks of before speak against it: "{printable(text)}".'
        for text in end.state.despite
    ]
    said += [f"{text[:1].upper()}{printable(text[1:])}." for text in expired_stacks(end.state)]
    if any(result.provisional for result in end.results) and end.verdict == OPEN:
        said.append("Answers may change with the check after measuring.")
    return said


def _grinding(end: SessionEnd) -> list[str]:
    """What the groups that are to be ground are ground to, and what may come of it; once."""
    steps = [step for step in end.steps if step.step == "grind"]
    if not steps:
        return []
    to = [
        f"{printable(step.group) or 'all'} to {words}{_next(end, step)}"
        for step in steps
        if (words := finished_words(end, step))
    ]
    return [f"Grind {', '.join(to)}; one worn on one side needs up to twice its wear to clean up."]


def _next(end: SessionEnd, step: GroupResult) -> str:
    names = [one.name for one in end.group(step.group).undersizes]
    following = names[names.index(step.undersize) + 1 :] if step.undersize in names else []
    return f" (next {printable(following[0])})" if following else " (the last)"


def _of_groups(end: SessionEnd) -> list[str]:
    """What else was remarked of the groups; the same words once."""
    together: dict[str, list[str]] = {}
    for step in end.steps:
        for remark in filter(None, step.remarks.split("; ")):
            is_told = remark in _TOLD_ELSEWHERE or remark.startswith(_BEGINNINGS_TOLD)
            if not is_told:
                together.setdefault(remark, []).append(printable(step.group))
    return [
        f"{listed(list(filter(None, names)))}: {printable(remark)}."
        if any(names)
        else f"{remark[:1].upper()}{printable(remark[1:])}."
        for remark, names in together.items()
    ]


__all__ = ["cautions", "measurement", "not_examined"]
