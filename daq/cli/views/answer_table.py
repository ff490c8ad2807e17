"""The journals of an answer as a table: a word a journal, and its numbers, never cut. Pure."""

from collections.abc import Sequence

import msgspec

from daq.board.shown_lengths import CONVERTED
from daq.cli.views.answer_numbers import JournalShown, shown_journal, signed_text
from daq.cli.views.ended import SessionEnd
from daq.cli.views.paragraphs import (
    PrintedLine,
    columns,
    listed,
    padded,
    paragraph,
    pieces,
    wrapped,
)
from daq.lengths import plain
from daq.record.results import JournalResult
from drivers.printable import printable

WORDS = {
    "within": "ok",
    "below": "below",
    "above": "above",
    "out-of-form": "form",
    "incomplete": "missing",
    "undecided": "undecided",
}
"""The verdict on a journal in one word."""

UNPROVEN = "unproven"
"""Of a journal that was measured, whose readings no check has proven."""

_STYLES = {
    "ok": "green",
    "below": "bold red",
    "above": "bold red",
    "form": "bold red",
    "undecided": "bold yellow",
    UNPROVEN: "bold yellow",
    "missing": "dim",
}
_LEAST_NAME = 7
"""Columns that a name has at least before the table gives way to a list."""


class _Table(msgspec.Struct, frozen=True):
    """Headings, and rows of cells; the first two columns stand left, the others right."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def word_of(end: SessionEnd, result: JournalResult) -> str:
    """The one word for a journal."""
    if end.unproven.get(result.journal):
        return UNPROVEN
    return WORDS.get(result.verdict, printable(result.verdict))


def table_lines(end: SessionEnd, width: int) -> list[PrintedLine]:
    """The journals in lines of at most `width` columns; with the limits in their own columns where
    there is room, else in sentences below.
    """
    for limits in (True, False):
        table = _table(end, limits=limits)
        for gap in (2, 1):
            drawn = _drawn(table, width, gap)
            if drawn is not None and (gap == 2 or not limits):
                return [*drawn, *([] if limits else _limit_lines(end, width))]
    return [*_list(end, width), *_limit_lines(end, width)]


def _table(end: SessionEnd, *, limits: bool) -> _Table:
    has_largest = any(
        end.journals[result.journal].is_ground or result.size_verdict == "above"
        for result in end.results
    )
    units = {unit for result in end.results for unit in end.units(result.journal)}
    one_unit = next(iter(units)) if len(units) == 1 else ""
    headings = [
        "journal",
        "verdict",
        "smallest",
        "over low",
        *(["largest"] if has_largest else []),
        "off round",
        "taper",
        *([f"limits, {one_unit}" if one_unit else "limits", "form"] if limits else []),
    ]
    rows = []
    for result in end.results:
        journal = end.journals[result.journal]
        for number, unit in enumerate(end.units(result.journal)):
            shown = shown_journal(result, journal, unit)
            rows.append(
                (
                    "" if number else printable(result.journal),
                    "" if number else word_of(end, result),
                    *_numbers(shown, has_largest=has_largest),
                    *([size_limits(shown, one_unit), form_limits(shown)] if limits else []),
                )
            )
    used = [
        index
        for index, heading in enumerate(headings)
        if heading != "form" or any(row[index] for row in rows)
    ]
    return _Table(
        tuple(headings[index] for index in used),
        tuple(tuple(row[index] for index in used) for row in rows),
    )


def _numbers(shown: JournalShown, *, has_largest: bool) -> list[str]:
    mark = CONVERTED if shown.is_converted else ""
    sizes = [shown.smallest, shown.over_low, shown.largest, shown.off_round, shown.taper]
    cells = [
        "" if value is None else (signed_text(value) if at == 1 else mark + plain(value))
        for at, value in enumerate(sizes)
    ]
    return cells if has_largest else [*cells[:2], *cells[3:]]


def size_limits(shown: JournalShown, one_unit: str) -> str:
    """The limits of size in a cell; with their unit where not all of the table has `one_unit`."""
    unit = "" if one_unit else f" {shown.unit}"
    if shown.high is None:
        return f"from {shown.low}{unit}"
    return f"{shown.low}-{shown.high}{unit}"


def form_limits(shown: JournalShown) -> str:
    """The limits of form in a cell, empty where there are none."""
    limits = (shown.off_round_limit, shown.taper_limit)
    if limits == (None, None):
        return ""
    texts = ["-" if limit is None else str(limit) for limit in limits]
    same = texts[0] if texts[0] == texts[1] and not shown.taper_per else "/".join(texts)
    return same + shown.taper_per


def _drawn(table: _Table, width: int, gap: int) -> list[PrintedLine] | None:
    """The table at `width`, names folded in their own column if need be; None: too wide."""
    widths = [max(map(columns, column)) for column in zip(table.headings, *table.rows, strict=True)]
    rest = sum(widths[1:]) + gap * (len(widths) - 1)
    name = min(widths[0], width - rest)
    if name < min(widths[0], _LEAST_NAME):
        return None
    between = " " * gap

    def drawn(cells: Sequence[str], piece: str) -> str:
        aligned = [
            padded(cell, at, right=number > 0)
            for number, (cell, at) in enumerate(zip(cells[1:], widths[1:], strict=True))
        ]
        return between.join([padded(piece, name), *aligned]).rstrip()

    lines = [PrintedLine(drawn(table.headings, pieces(table.headings[0], name)[0]), "bold")]
    for row in table.rows:
        first, *others = pieces(row[0], name)
        start = name + gap
        lines.append(
            PrintedLine(drawn(row, first), _STYLES.get(row[1], ""), start, start + len(row[1]))
        )
        lines += [PrintedLine(piece) for piece in others]
    return lines


def _list(end: SessionEnd, width: int) -> list[PrintedLine]:
    """Where there is no room for a table: a journal after the other, numbers with their names."""
    table = _table(end, limits=False)
    lines = []
    for row in table.rows:
        numbers = [
            f"{heading} {cell}"
            for heading, cell in zip(table.headings[2:], row[2:], strict=True)
            if cell
        ]
        head = f"{row[0]}: {row[1]}" if row[0] else ""
        text = ", ".join(filter(None, [head, *numbers]))
        lines += [PrintedLine(line) for line in wrapped(text, width, "" if row[0] else "  ", "  ")]
    return lines


def _limit_lines(end: SessionEnd, width: int) -> list[PrintedLine]:
    """The limits in sentences, journals with the same ones together."""
    together: dict[str, list[str]] = {}
    for result in end.results:
        first, *others = [
            _limit_words(shown_journal(result, end.journals[result.journal], unit))
            for unit in end.units(result.journal)
        ]
        words = first + "".join(f" ({other})" for other in others)
        together.setdefault(words, []).append(result.journal)
    if len(together) == 1:
        return paragraph(f"Limits: {next(iter(together))}.", width)
    return [
        line
        for words, names in together.items()
        for line in paragraph(f"Limits of {_called(end, names)}: {words}.", width)
    ]


def _called(end: SessionEnd, names: Sequence[str]) -> str:
    """Journals by the names of their groups, where the whole group is among them."""
    rest, called = dict.fromkeys(names), []
    for group in dict.fromkeys(result.group for result in end.results):
        own = [result.journal for result in end.of_group(group)]
        if group and all(name in rest for name in own):
            called.append(group)
            rest = {name: None for name in rest if name not in own}
    every = [printable(name) for name in (*called, *rest)]
    return listed(every, len(every))


def _limit_words(shown: JournalShown) -> str:
    size = f"from {shown.low}" if shown.high is None else f"{shown.low} to {shown.high}"
    words = [f"{size} {shown.unit}"]
    off_round, taper = shown.off_round_limit, shown.taper_limit
    if off_round is not None and str(off_round) == str(taper) and not shown.taper_per:
        words.append(f"form {off_round}")
    else:
        words += [f"off round {off_round}"] if off_round is not None else []
        words += [f"taper {taper}{shown.taper_per}"] if taper is not None else []
    return ", ".join(words)


__all__ = ["UNPROVEN", "WORDS", "form_limits", "size_limits", "table_lines", "word_of"]
