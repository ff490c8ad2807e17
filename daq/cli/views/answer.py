"""What a session comes to, as it is printed when it ends: the answer first. Pure: records to lines.

In this order: the part; a sentence a group; the journals with a word each; whether the measurement
is good, and why; what was not examined; what to mind. All else is for whoever asks for details.
"""

from daq.board.shown_lengths import CONVERTED, stated_unit
from daq.cli.views.answer_details import detail_paragraphs
from daq.cli.views.answer_groups import Sentence, answer_of_groups
from daq.cli.views.answer_measurement import cautions, measurement, not_examined
from daq.cli.views.answer_table import table_lines
from daq.cli.views.ended import SessionEnd
from daq.cli.views.paragraphs import PrintedLine, paragraph, wrapped
from drivers.printable import printable

LEAST_WIDTH = 30
"""A narrower terminal is taken to be so wide: a number with its name needs it."""

MOST_APART = 9
"""With more journals the answer has no empty line, so that a terminal of 24 lines holds it."""


def answer(end: SessionEnd, width: int, *, details: bool = False) -> list[PrintedLine]:
    """The whole answer in lines of at most `width` columns."""
    width = max(width, LEAST_WIDTH)
    lines = [
        *_part(end, width),
        *_said(answer_of_groups(end), width),
        *_journals(end, width),
        *_said([measurement(end), *not_examined(end), *cautions(end)], width),
        *_converted(end, width),
    ]
    if details:
        lines.append(PrintedLine(""))
        for text in detail_paragraphs(end):
            indent = " " * (len(text) - len(text.lstrip(" ")))
            lines += [
                PrintedLine(line)
                for line in wrapped(text.lstrip(" "), width, indent, indent + "  ")
            ]
    return lines


def answer_sentences(end: SessionEnd) -> list[str]:
    """The answer without its table, a sentence each: for where the journals stand beside it."""
    said = [*answer_of_groups(end), measurement(end), *not_examined(end), *cautions(end)]
    return [one.text for one in said]


def said_again(end: SessionEnd, width: int, printed: int, rows: int) -> list[PrintedLine]:
    """The sentences of the groups once more, for a terminal of so many rows on which the `printed`
    lines of the answer have pushed them out of sight.
    """
    if printed < rows:
        return []
    first = [one for one in answer_of_groups(end) if not one.indent]
    return _said(first, max(width, LEAST_WIDTH))


def _part(end: SessionEnd, width: int) -> list[PrintedLine]:
    opened = end.state.opened
    part = printable(opened.part or end.state.plan.part)
    plan_part = printable(end.state.plan.part)
    what = part if part == plan_part else f"{part} ({plan_part})"
    job = f", job {printable(opened.job)}" if opened.job else ""
    study = end.state.plan.study
    if study is not None:
        what = f"Gauge study on {what}"
    return paragraph(f"{what}{job}", width, "bold")


def _said(found: list[Sentence], width: int) -> list[PrintedLine]:
    return [line for said in found for line in paragraph(said.text, width, said.style, said.indent)]


def _journals(end: SessionEnd, width: int) -> list[PrintedLine]:
    if end.is_study or not any(result.positions_measured for result in end.results):
        return []
    apart = [PrintedLine("")] if len(end.results) <= MOST_APART else []
    return [*apart, *table_lines(end, width)]


def _converted(end: SessionEnd, width: int) -> list[PrintedLine]:
    """What the mark means, where a unit is shown that is not the plan's."""
    is_marked = any(
        unit != stated_unit(journal.limits.low)
        for journal in end.state.plan.journals
        for unit in end.units(journal.name)
    )
    if not is_marked or end.is_study or not end.state.standing:
        return []
    return paragraph(
        f"{CONVERTED} converted for reading, limits rounded inward: the verdicts are by the exact "
        "ones.",
        width,
    )


__all__ = ["answer", "said_again"]
