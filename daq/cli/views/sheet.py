"""A session as the customer's sheet says it: words of the answer, drawings, numbers. Pure.

Written from what was stored; the sentences are those of the answer that a terminal shows.
"""

from collections.abc import Iterator

from daq.board.shown_lengths import shown_limit
from daq.cli.views.answer import converted_words, part_name
from daq.cli.views.answer_details import how_decided
from daq.cli.views.answer_groups import answer_of_groups
from daq.cli.views.answer_measurement import cautions, measurement, not_examined
from daq.cli.views.ended import SessionEnd
from daq.cli.views.sheet_drawings import drawings_of, rows_of
from daq.cli.views.sheet_tables import checks_table, journals_table
from daq.cli.views.sheet_times import local_days
from daq.evaluation.temperature_notes import correction_words
from daq.evaluation.verdict import ABANDONED, ACCEPTED, OPEN
from daq.lengths import parse_length
from daq.pictures.crank_side import SKETCH
from daq.plan.groups import Undersize
from daq.record.events import Setup, is_by_hand
from daq.record.results import GroupResult
from daq.record.rule_sets import RULE_SET_3
from daq.record.state import State
from daq.sheet.content import (
    SheetContent,
    SheetFact,
    SheetGroup,
    SheetSentence,
    SheetStep,
)
from daq.version import __version__

MOST_GAUGES = 8

_ACROSS = {
    OPEN: (
        "NOT FINISHED",
        "This measurement is still under way: what stands here may change and is not to be relied "
        "on.",
    ),
    ABANDONED: (
        "ABANDONED",
        "This measurement was given up without the check after measuring: what stands here is not "
        "to be relied on.",
    ),
}
_REJECTED = (
    "REJECTED",
    "This measurement could not be proven: what stands here is not to be relied on.",
)


def content_of(end: SessionEnd, line: int, chain: str, units: str) -> SheetContent:
    """The sheet of a session whose record has `line` lines, the last of them with `chain`; `units`
    is what --units said.
    """
    state = end.state
    is_measured = bool(state.standing)
    across, why = ("", "") if end.verdict == ACCEPTED else _ACROSS.get(end.verdict, _REJECTED)
    drawn = drawings_of(end)
    how = _how(end)
    return SheetContent(
        session=state.opened.session,
        line=line,
        chain=chain,
        program=__version__,
        units=units,
        verdict=end.verdict,
        title=part_name(end),
        facts=tuple(_facts(end)),
        across=across,
        across_why=why,
        answer=tuple(SheetSentence(one.text, bool(one.indent)) for one in answer_of_groups(end)),
        measurement=measurement(end).text,
        crank=drawn.crank,
        around=drawn.around,
        around_key=drawn.key,
        around_left_out=drawn.left_out,
        journals=journals_table(end, rows_of(end)) if is_measured else None,
        journals_notes=tuple(_notes(end, how[0])) if is_measured else (),
        groups=tuple(_groups(end)),
        gauges=tuple(_gauges(state)),
        checks=checks_table(end),
        temperatures=tuple(how[1]),
        not_examined=tuple(one.text for one in not_examined(end)),
        cautions=tuple(one.text for one in cautions(end)),
    )


def _facts(end: SessionEnd) -> Iterator[SheetFact]:
    state = end.state
    days = local_days(state.opened_us, state.last_us, state.setup.local_offset)
    if state.opened.job:
        yield SheetFact("Job", state.opened.job)
    yield SheetFact("Measured", days)
    if state.opened.operator:
        yield SheetFact("by", state.opened.operator)
    gauges = list(dict.fromkeys(stint.source.gauge for stint in state.stints))
    if gauges:
        yield SheetFact("with", ", ".join(gauges[:MOST_GAUGES]))
    yield SheetFact("Measurement", end.verdict)


# The numbers, how they were decided --------------------------------------------------------------


def _how(end: SessionEnd) -> tuple[str, list[str]]:
    """The rule of decision; then what was done about temperatures and the gauge's error."""
    if end.state.rules >= RULE_SET_3:
        rule, *others = how_decided(end)
        return rule, others
    rules = list(dict.fromkeys(result.decision_rule for result in end.results))
    said = [f"{text[:1].upper()}{text[1:]}." for text in correction_words(end.state)]
    return f"The rule of decision, as the record has it: {', '.join(rules)}.", said


def _notes(end: SessionEnd, rule: str) -> Iterator[str]:
    if end.state.rules >= RULE_SET_3:
        yield (
            "Smallest, largest, out of round and taper are estimates: the mean of the readings at "
            f"a place, less the gauge's error on the blocks, at 20 °C. {rule}"
        )
    else:
        yield rule
    yield SKETCH
    converted = converted_words(end)
    if converted:
        yield converted


# What comes next ---------------------------------------------------------------------------------


def _groups(end: SessionEnd) -> Iterator[SheetGroup]:
    """The groups that have undersizes; what a group is to be brought to is marked."""
    results = {step.group: step for step in end.steps}
    for group in end.state.plan.groups:
        own = end.of_group(group.name)
        if not group.undersizes or not own:
            continue
        unit = end.units(own[0].journal)[0]
        yield SheetGroup(
            group.name,
            tuple(
                SheetStep(
                    one.name,
                    _limits(one, unit),
                    is_chosen=_is_next(one, results.get(group.name)),
                    is_present=one.name == group.present_undersize,
                )
                for one in group.undersizes
            ),
        )


def _is_next(one: Undersize, step: GroupResult | None) -> bool:
    return (
        step is not None
        and step.step in ("grind", "bearing-undersize")
        and step.undersize == one.name
    )


def _limits(one: Undersize, unit: str) -> str:
    low = shown_limit(one.low, unit, is_low=True)
    if one.high is None:
        return f"from {low} {unit}"
    return f"{low}-{shown_limit(one.high, unit, is_low=False)} {unit}"


# The gauge ----------------------------------------------------------------------------------------


def _gauges(state: State) -> list[str]:
    """Each gauge that measured, and how it was proven."""
    said = []
    for run, setup in enumerate(state.setups):
        words = _gauge(state, run, setup)
        if words not in said:
            said.append(words)
    rest = [f"and {len(said) - MOST_GAUGES} more gauges."] if len(said) > MOST_GAUGES else []
    return [*said[:MOST_GAUGES], *rest, _proven(state)]


def _gauge(state: State, run: int, setup: Setup) -> str:
    source, gauge = setup.source, state.gauges[run]
    parts = [f"Measured with {source.gauge}"]
    if source.serial and source.serial not in source.gauge:
        parts.append(f"number {source.serial}")
    own = str(gauge.resolution) if gauge is not None and gauge.resolution is not None else ""
    step = setup.step or own or _sent_step(state)
    if step:
        parts.append(f"step {step}")
    if gauge is not None and gauge.permitted_error is not None:
        parts.append(f"permitted error ±{gauge.permitted_error}")
    if gauge is not None and gauge.certificate:
        parts.append(f"certificate {gauge.certificate}")
    if gauge is not None and gauge.due is not None:
        parts.append(f"next calibration by {gauge.due}")
    if is_by_hand(setup):
        parts.append("its display read and typed by a person")
    return f"{', '.join(parts)}."


def _sent_step(state: State) -> str:
    if not state.checks:
        return ""
    sent = state.checks[0].sent
    return f"{sent.resolution} {sent.unit}"


def _proven(state: State) -> str:
    judged = [one.event for one in state.judged]
    if not judged:
        return "It was never checked on gauge blocks."
    sizes = dict.fromkeys(str(parse_length(state.stints[e.stint - 1].stack_size)) for e in judged)
    failed = sum(not event.passed for event in judged)
    count = "one check" if len(judged) == 1 else f"{len(judged)} checks"
    how = "passed" if not failed else f"{failed} of them failed" if len(judged) > 1 else "failed"
    return f"Held against gauge blocks of {' and '.join(sizes)}: {count}, {how}."


__all__ = ["content_of"]
