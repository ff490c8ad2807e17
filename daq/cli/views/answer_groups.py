"""What a session says of its part: a sentence a group, and what to do where it cannot say. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.board.shown_lengths import shown_limit, stated_unit
from daq.cli.views.answer_numbers import JournalShown, amount_of, amounts, shown_journal
from daq.cli.views.ended import SessionEnd
from daq.cli.views.paragraphs import listed
from daq.disposition.next_step import NOT_SEEN
from daq.evaluation.remedies import RemedyKind, Settling
from daq.record.results import GroupResult, JournalResult
from drivers.printable import printable

_STYLES = {
    "serve-as-is": "bold green",
    "bearing-undersize": "bold yellow",
    "grind": "bold red",
    "shelf": "bold red",
    "undecided": "bold yellow",
    "not-assessed": "bold",
}
_MOST = 3
"""Journals that are spoken of by name with their number; of more the worst."""


class Sentence(msgspec.Struct, frozen=True):
    """A sentence of the answer, and how a terminal with colour shows it; `indent` before it."""

    text: str
    style: str = ""
    indent: str = ""


def answer_of_groups(end: SessionEnd) -> list[Sentence]:
    """One sentence a group, in the plan's order, each followed by what would decide it."""
    if end.is_study:
        return []
    if not any(result.positions_measured for result in end.results):
        return [Sentence("Nothing of the part was measured, so there is no answer for it.", "bold")]
    if not end.steps:
        return [_counted(end)]
    said: list[Sentence] = []
    for step in end.steps:
        said.append(
            Sentence(f"{_label(end, step)}: {_sentence(end, step)}", _STYLES.get(step.step, "bold"))
        )
        if step.step == "undecided":
            said += _to_decide(end, step)
    return said


def _label(end: SessionEnd, step: GroupResult) -> str:
    if step.group:
        return printable(step.group).upper()
    return "ALL JOURNALS" if len(end.steps) == 1 else "OTHER JOURNALS"


def _counted(end: SessionEnd) -> Sentence:
    """Of a session that was closed before groups had a next step."""
    bad = [r for r in end.results if r.verdict != "within"]
    if not bad:
        return Sentence("All journals lie within their limits.", "bold green")
    names = [printable(result.journal) for result in bad]
    return Sentence(f"Not within their limits, or not known to be: {listed(names)}.", "bold red")


def _sentence(end: SessionEnd, step: GroupResult) -> str:
    own = end.of_group(step.group)
    name = printable(step.undersize)
    why = _forced(end, own)
    match step.step:
        case "serve-as-is":
            return _served(end, own, step)
        case "bearing-undersize":
            return f"fit {name} bearings, no grinding{why}."
        case "grind":
            return _grind(end, own, name)
        case "shelf":
            return f"SHELF, no undersize is left{why}."
        case "undecided":
            return _undecided(end, own, step)
        case _:
            return _not_assessed(end, own, step)


def _grind(end: SessionEnd, own: Sequence[JournalResult], name: str) -> str:
    """To which undersize; what was not measured may ask for a greater one."""
    missing = [printable(r.journal) for r in own if r.positions_measured < r.positions_planned]
    if not missing:
        return f"GRIND ALL to {name}{_forced(end, own)}."
    more = f"; {listed(missing)} not measured in full"
    return f"GRIND ALL to {name} or further{_forced(end, own).removesuffix(')')}{more})."


def _served(end: SessionEnd, own: Sequence[JournalResult], step: GroupResult) -> str:
    is_ground = any(end.journals[result.journal].is_ground for result in own)
    if is_ground:
        served = f"good at {printable(step.undersize)}, as ground"
    elif step.undersize:
        served = f"may serve at {printable(step.undersize)}, as it is"
    else:
        served = "may serve"
    limitless = sum(result.form_verdict == "no-limit" for result in own)
    if limitless:
        which = "no" if limitless == len(own) else "not for all"
        return f"{served} by size ({which} limits on form in the plan)."
    if NOT_SEEN in step.remarks or any(result.form_verdict == "not-seen" for result in own):
        return f"{served} by size (out-of-round was not seen)."
    return f"{served}."


def finished_words(end: SessionEnd, step: GroupResult) -> str:
    """The limits to grind a group to, in the unit that its journals are shown in first; empty if
    the plan has none.
    """
    chosen = next(
        (one for one in end.group(step.group).undersizes if one.name == step.undersize), None
    )
    own = end.of_group(step.group)
    if chosen is None or chosen.high is None or not own:
        return ""
    unit = end.units(own[0].journal)[0]
    low = shown_limit(chosen.low, unit, is_low=True)
    high = shown_limit(chosen.high, unit, is_low=False)
    stated = stated_unit(chosen.low)
    if unit == stated:
        return f"{low}-{high} {unit}"
    exact = [
        shown_limit(limit, stated, is_low=is_low)
        for limit, is_low in ((chosen.low, True), (chosen.high, False))
    ]
    return f"{exact[0]}-{exact[1]} {stated} ({low}-{high} {unit})"


# Which journals, and by how much -----------------------------------------------------------------


def _shown(end: SessionEnd, result: JournalResult) -> list[JournalShown]:
    journal = end.journals[result.journal]
    return [shown_journal(result, journal, unit) for unit in end.units(result.journal)]


def _forced(end: SessionEnd, own: Sequence[JournalResult]) -> str:
    """The journals that cannot stay as they are, the worst first, in brackets."""
    found = [_bad(end, result) for result in own if _is_forced(result)]
    return f" ({_worst(found)})" if found else ""


def _is_forced(result: JournalResult) -> bool:
    return result.size_verdict == "below" or result.form_verdict == "over"


def _worst(found: Sequence[tuple[Fraction, str]]) -> str:
    in_order = sorted(found, key=lambda one: -one[0])
    more = len(found) - _MOST
    words = "; ".join(words for _, words in in_order[:_MOST])
    return words + (f" and {more} more" if more > 0 else "")


def _bad(end: SessionEnd, result: JournalResult) -> tuple[Fraction, str]:
    """By how many mm a journal is outside, and the words for it; a size counts before a form."""
    name = printable(result.journal)
    shown = _shown(end, result)
    if result.size_verdict == "below":
        under = [(one.over_low, one) for one in shown if one.over_low is not None]
        mm = abs(Fraction(result.margin_to_low_mm or 0))
        return 1 + mm, f"{name} is {amounts(under)} under"
    off = [
        (value, limit, what, one)
        for one in shown
        for value, limit, what in (
            (one.off_round, one.off_round_limit, "out of round"),
            (one.taper, one.taper_limit, "tapered"),
        )
        if value is not None and limit is not None and value > limit.value
    ]
    if not off:
        return Fraction(0), f"{name} is out of form"
    worst = max(off, key=lambda one: (one[3] is shown[0], one[0] - one[1].value))
    value, limit, what, _ = worst
    same = [(v, o) for v, _, w, o in off if w == what]
    return (
        Fraction(value) - Fraction(limit.value),
        f"{name} is {amounts(same)} {what}, {limit} allowed",
    )


def _not_assessed(end: SessionEnd, own: Sequence[JournalResult], step: GroupResult) -> str:
    unproven = [printable(r.journal) for r in own if end.unproven.get(r.journal)]
    if unproven:
        are = "was" if len(unproven) == 1 else "were"
        return f"no answer: {listed(unproven)} {are} not proven by a check. Measure again."
    above = [result for result in own if result.size_verdict == "above"]
    if above:
        return _above(end, above)
    missing = [result for result in own if result.positions_measured < result.positions_planned]
    if missing and not any(_is_forced(result) for result in own):
        places = sum(r.positions_planned - r.positions_measured for r in missing)
        total = sum(r.positions_planned for r in own)
        names = listed([printable(result.journal) for result in missing])
        word = "to measure" if end.verdict == "open" else "not measured"
        return f"no answer yet: {places} of {total} places {word} ({names})."
    if any(_is_forced(result) for result in own):
        return f"cannot serve{_forced(end, own)}; the plan has no undersize to grind to."
    return f"no answer: {printable(step.reason)}."


def _above(end: SessionEnd, above: Sequence[JournalResult]) -> str:
    found = []
    for result in above:
        over = [
            (each.over_high, each) for each in _shown(end, result) if each.over_high is not None
        ]
        mm = max(abs(over[0][0]), Decimal(0)) if over else Decimal(0)
        by = f"{amounts(over)} over its high limit" if over else "over its high limit"
        found.append((Fraction(mm), f"{printable(result.journal)} is {by}"))
    if all(end.journals[result.journal].is_ground for result in above):
        return f"NOT ground to size ({_worst(found)})."
    return (
        f"no answer ({_worst(found)}). Wear cannot do that: right part, limits and present "
        "undersize?"
    )


# What cannot be said, and what would decide it ----------------------------------------------------


def _near(result: JournalResult) -> bool:
    return result.size_verdict == "undecided" or result.form_verdict in (
        "undecided",
        "not-enough-positions",
    )


def _undecided(end: SessionEnd, own: Sequence[JournalResult], step: GroupResult) -> str:
    near = [result for result in own if _near(result)]
    if not near:
        _, _, doubt = step.reason.partition("; ")
        return f"undecided{_forced(end, own)}: {printable(doubt or step.reason)}."
    if len(near) > 1:
        names = listed([printable(result.journal) for result in near])
        return f"undecided ({names} are too near a limit to say)."
    return f"undecided ({_how_near(end, near[0])})."


def _how_near(end: SessionEnd, result: JournalResult) -> str:
    name = printable(result.journal)
    settling = end.settlings.get(result.journal)
    if settling is None or not settling.away_mm:
        if result.form_verdict == "not-enough-positions" and result.size_verdict == "within":
            return f"{name} has too few places for its limits on form"
        return f"{name} is too near a limit to say"
    units = end.units(result.journal)
    stated = stated_unit(end.journals[result.journal].limits.low)
    what = "size" if settling.of == "size" else settling.of
    away = amount_of(settling.away_mm, units, stated)
    known = amount_of(settling.guard_mm, units, stated)
    return f"the {what} of {name} is {away} from its limit and could be off by {known}"


def _to_decide(end: SessionEnd, step: GroupResult) -> list[Sentence]:
    """What to do about each journal that is undecided, those with the same advice together."""
    together: dict[tuple[str, str], list[str]] = {}
    for result in end.of_group(step.group):
        if _near(result):
            advice = _advice(end, result)
            together.setdefault(advice, []).append(printable(result.journal))
    return [
        Sentence((one if len(names) == 1 else many).format(listed(names)), indent="  ")
        for (one, many), names in together.items()
    ]


_ON_LIMIT = (
    "{} is exactly on its limit: no gauge can decide this.",
    "{} are exactly on their limits: no gauge can decide this.",
)
_AT_LIMIT = (
    "{} is on its limit within 0.00001 mm: no gauge can decide this.",
    "{} are on their limits within 0.00001 mm: no gauge can decide this.",
)
_TOO_FEW = (
    "To decide {}: add stations or angles to the plan, its form limits need them.",
    "To decide {}: add stations or angles to the plan, their form limits need them.",
)
_AGAIN = ("To decide {}: measure it again.", "To decide {}: measure them again.")


def _advice(end: SessionEnd, result: JournalResult) -> tuple[str, str]:
    """What to do, for one journal and for several, with a place for their names."""
    settling = end.settlings.get(result.journal)
    if settling is None:
        few = result.form_verdict == "not-enough-positions" and result.size_verdict == "within"
        return _TOO_FEW if few else _AGAIN
    if settling.answer == "on-limit":
        return _ON_LIMIT
    if settling.answer == "at-limit" or (settling.answer != "finer-gauge" and not settling.away_mm):
        what = "" if settling.of == "size" else f"In {settling.of} "
        return what + _AT_LIMIT[0], what + _AT_LIMIT[1]
    stated = stated_unit(end.journals[result.journal].limits.low)
    finer = amount_of(settling.finer_mm, end.units(result.journal), stated)
    if settling.answer == "finer-gauge":
        text = f"To decide {{}}: a gauge that reads to {finer} or finer, the form limit needs it."
        return text, text
    if settling.answer == "none":
        text = "To decide {}: a better gauge. Reading this one more often is not enough."
    elif settling.answer == "together":
        needed = [_thing(way, settling, finer) for way in settling.ways]
        text = f"To decide {{}} it takes all of this: {listed(needed)}."
    else:
        ways = [_way(way, settling, finer) for way in settling.ways[:2]]
        text = f"To decide {{}}: {', or '.join(ways)}."
    return text, text


def _thing(way: RemedyKind, settling: Settling, finer: str) -> str:
    """One of several things that are wanted."""
    match way:
        case "closing-check":
            return "the check after measuring"
        case "repeats":
            return f"{_readings(settling)} a place"
        case "temperatures":
            return "temperatures equal and given"
        case "ten-a-check":
            return "ten readings a check"
        case "better-stack":
            return "a stack of grade 0"
        case "finer-gauge":
            return f"a gauge that reads to {finer}"


def _readings(settling: Settling) -> str:
    return f"{'two' if settling.readings == 2 else settling.readings} readings"


def _way(way: RemedyKind, settling: Settling, finer: str) -> str:
    match way:
        case "closing-check":
            return "finish with the check on the stack"
        case "repeats":
            return f"measure again with {_readings(settling)} a place"
        case "temperatures":
            return "let part, gauge and stack get equally warm, measure that and give it"
        case "ten-a-check":
            return "take ten readings a check"
        case "better-stack":
            return "use a stack of grade 0 or with a certificate"
        case "finer-gauge":
            return f"use a gauge that reads to {finer} or finer"


__all__ = ["Sentence", "answer_of_groups", "finished_words"]
