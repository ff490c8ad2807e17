"""The tables of a session: rows of text, with what every column holds. Pure."""

import msgspec

from daq.evaluation.verdict import OPEN
from daq.export.column import SEPARATOR, Column, ColumnKind, joined
from daq.export.columns import columns_of, has_groups
from daq.export.rows import ROWS, Cells
from daq.record.state import State


class Table(msgspec.Struct, frozen=True):
    """One table: rows of text, one text for each column."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


def tables(state: State, *, verdict: str | None = None) -> tuple[Table, ...]:
    """Readings, checks, judgements, journals and, where it has any, groups of a session as it
    stands, with the columns of the rule set that judges it.
    """
    given = verdict or (state.closed.verdict if state.closed else OPEN)
    return tuple(
        Table(name, columns, tuple(_row(columns, cells) for cells in ROWS[name](state, given)))
        for name, columns in columns_of(state.rules).items()
        if name != "groups" or _has_groups(state)
    )


def no_groups(state: State) -> Table:
    """The table of groups without a row, for a session that has none."""
    return Table("groups", columns_of(state.rules)["groups"], ())


def _has_groups(state: State) -> bool:
    return has_groups(state.rules, is_study=state.plan.study is not None)


def _row(columns: tuple[Column, ...], cells: Cells) -> tuple[str, ...]:
    return tuple(_text(column, cells[column.name]) for column in columns)


def _text(column: Column, cell: str | tuple[str, ...]) -> str:
    if isinstance(cell, str):
        return cell
    return joined(cell) if column.kind is ColumnKind.LIST else SEPARATOR.join(cell)
