"""The journals on the live screen: a line each, in one or two columns, the nearest where not all
fit. A board to lines; no terminal touched here.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction

from daq.board.board import Board, JournalRow
from daq.board.row_choice import nearest, rest_counts
from daq.board.row_words import BAD, places_in, word_of
from daq.board.shown_lengths import (
    ShownIn,
    shown_difference,
    shown_limit,
    shown_size,
    units_shown,
)
from daq.cli.views.pieces import Line, Piece, line, padded, short_name, width, wrapped
from daq.lengths import Length
from daq.record.results import JournalResult
from drivers.printable import printable
from drivers.reading import plain

MOST_NAME = 16
BETWEEN = 3
"""Columns between two columns of journals."""

_MARK, _GAP = 2, 2
"""Columns of the mark before a row, and behind each cell."""

LONGEST_WORD = len("OUT OF FORM, unproven")

_STYLES = {
    "within": "green",
    "below": "bold red",
    "above": "bold red",
    "out-of-form": "bold red",
    "undecided": "yellow",
}

Cells = tuple[str, ...]
"""One row: name, places, smallest, to the low limit, out of round, taper."""

HEADS: Cells = ("", "places", "smallest", "to low", "round", "taper")
DROPPED = (5, 4, 2, 3)
"""Which columns go first where a line is too short."""


def has_two(board: Board, columns: int) -> bool:
    """Two columns of journals fit beside one another, each with its name, places and the longest
    word that there is: so that a run keeps its form whatever comes.
    """
    if not board.rows:
        return False
    names = max(width(_name(row)) for row in board.rows)
    places = max(len(HEADS[1]), *(len(_places(row)) for row in board.rows))
    return (_MARK + names + _GAP + places + _GAP + LONGEST_WORD) * 2 + BETWEEN <= columns


def journals_high(count: int, room: int, *, is_two: bool) -> int | None:
    """How many lines so many journals take, in one column or, where `is_two`, in two; None if there
    is not so much room.
    """
    if not count:
        return 0
    for high in (count + 1, _halved(count) + 1):
        if high <= room and (high == count + 1 or is_two):
            return high
    return None


def journal_lines(
    board: Board, columns: int, high: int, *, is_two: bool, show: ShownIn | None = None
) -> list[Line]:
    """The journals in at most `high` lines with their heading; of too many the nearest to what is
    measured now and those that need work, and how many more there are. `show`: the units of their
    lengths; None for those of the plan.
    """
    count = len(board.rows)
    if not count or high < 2:
        return []
    if count + 1 <= high:
        return _one(board.rows, columns, show)
    if is_two and _halved(count) + 1 <= high:
        return _two(board.rows, columns, show)
    fit = (high - 2) * (2 if is_two else 1)
    if fit < 1:
        return [line(_rest(board.rows, (), columns), "dim")]
    kept = nearest(board.rows, _here(board), fit)
    drawn = _two(kept, columns, show) if is_two else _one(kept, columns, show)
    return [*drawn, line(_rest(board.rows, kept, columns), "dim")]


def _halved(count: int) -> int:
    return (count + 1) // 2


def _one(rows: Sequence[JournalRow], columns: int, show: ShownIn | None) -> list[Line]:
    """One column of journals."""
    return _drawn(rows, columns, show, pad=False)


def _two(rows: Sequence[JournalRow], columns: int, show: ShownIn | None) -> list[Line]:
    """Two columns, read downwards."""
    half = _halved(len(rows))
    wide = (columns - BETWEEN) // 2
    left = _drawn(rows[:half], wide, show, pad=True)
    right = _drawn(rows[half:], wide, show, pad=False)
    right += [line("")] * (len(left) - len(right))
    blank = Piece(" " * BETWEEN)
    return [(*one, blank, *other) for one, other in zip(left, right, strict=True)]


def _drawn(
    rows: Sequence[JournalRow], columns: int, show: ShownIn | None, *, pad: bool
) -> list[Line]:
    """A heading and the rows, with as many of the numbers as fit whole."""
    table = [_cells(row, units_shown(show, row.unit)) for row in rows]
    words = [word_of(row) for row in rows]
    spare = columns - _MARK - max(width(cells[0]) for cells in table) - len(HEADS[1]) - 2 * _GAP
    if max(map(width, words)) > spare:
        words = [word_of(row, is_short=True) for row in rows]
    word_wide = max(map(width, words))
    widths = [
        max(width(head), *(width(cells[at]) for cells in table)) for at, head in enumerate(HEADS)
    ]
    shown = [0, 1, *(at for at in range(2, len(HEADS)) if any(cells[at] for cells in table))]
    for at in DROPPED:
        if _wide(shown, widths) + word_wide <= columns:
            break
        if at in shown:
            shown.remove(at)
    over = _wide(shown, widths) + word_wide - columns
    widths[0] = max(1, widths[0] - max(0, over))
    lines: list[Line] = [_headed(shown, widths, columns, pad=pad)]
    for row, cells, word in zip(rows, table, words, strict=True):
        left = "> " if row.is_asked else "  "
        left += "".join(_cell(cells[at], at, widths[at]) for at in shown)
        text = padded(word, columns - width(left)) if pad else word
        weight = "bold" if row.is_asked else ""
        lines.append((Piece(left, weight), Piece(text, _style(row))))
    return lines


def _headed(shown: Sequence[int], widths: Sequence[int], columns: int, *, pad: bool) -> Line:
    text = "  " + "".join(_cell(HEADS[at], at, widths[at]) for at in shown)
    text = text.rstrip() if width(text) > columns else text
    return line(padded(text, columns) if pad else text, "dim")


def _wide(shown: Sequence[int], widths: Sequence[int]) -> int:
    return _MARK + sum(widths[at] + _GAP for at in shown)


def _cell(text: str, at: int, wide: int) -> str:
    """A cell with two blanks behind it: the name to the left, all others to the right."""
    if at == 0:
        return padded(short_name(text, wide), wide) + "  "
    return " " * (wide - width(text)) + text + "  "


def _name(row: JournalRow) -> str:
    return short_name(printable(row.result.journal), MOST_NAME)


def _places(row: JournalRow) -> str:
    """How many of its places are measured, but for those that must be again."""
    return f"{places_in(row)}/{row.result.positions_planned}"


def _cells(row: JournalRow, units: Sequence[str]) -> Cells:
    """What is shown of a journal but its word, its lengths in these units."""
    result = row.result
    margin, name, places = result.margin_to_low_mm, _name(row), _places(row)
    if result.positions_measured == row.tainted:
        return (name, places, "", "", "", "")  # nothing that stands there will stay
    return (
        name,
        places,
        _in_units(units, result.smallest_mm, lambda mm, unit: _size(result, mm, unit)),
        _in_units(units, margin, _margin),
        _in_units(units, result.out_of_round_mm, _difference),
        _in_units(units, result.taper_mm, _difference),
    )


def _in_units(units: Sequence[str], mm: str, shown: Callable[[Fraction, str], str]) -> str:
    """A length of a result in each of these units; empty where there is none."""
    return " = ".join(shown(Fraction(mm), unit) for unit in units) if mm else ""


def _size(result: JournalResult, mm: Fraction, unit: str) -> str:
    """A size on the true side of its limits, which are rounded inward where they are converted."""
    limits = [
        shown_limit(Length(Decimal(limit), "mm"), unit, is_low=is_low)
        for limit, is_low in ((result.low_limit_mm, True), (result.high_limit_mm, False))
        if limit
    ]
    return plain(shown_size(mm, unit, limits))


def _margin(mm: Fraction, unit: str) -> str:
    text = _difference(mm, unit)
    return text if text.startswith("-") else f"+{text}"


def _difference(mm: Fraction, unit: str) -> str:
    return plain(shown_difference(mm, unit))


def _style(row: JournalRow) -> str:
    """What is not proven is dim, unless it needs work."""
    if row.tainted:
        return "bold"
    if row.not_yet_proven and row.result.verdict not in BAD:
        return "dim"
    return _STYLES.get(row.result.verdict, "")


def _here(board: Board) -> int:
    """Where the run is: the journal asked for, else the one measured last, else the first."""
    names = [row.result.journal for row in board.rows]
    for at, row in enumerate(board.rows):
        if row.is_asked:
            return at
    journal = board.last.place.split("/")[0] if board.last is not None else ""
    return names.index(journal) if journal in names else 0


def _rest(rows: Sequence[JournalRow], kept: Sequence[JournalRow], columns: int) -> str:
    """How many journals are not shown, and how they stand."""
    text = f"and {len(rows) - len(kept)} more"
    full = f"{text}: {', '.join(rest_counts(rows, kept))}"
    return "  " + (full if width(full) + 2 <= columns else wrapped(text, columns - 2, 1)[0])
