"""The tables of a session: rows of text, with what every column holds. Pure."""

from collections.abc import Callable, Mapping, Sequence
from typing import cast

import msgspec

from daq.evaluation.verdict import OPEN
from daq.export.basis import Basis
from daq.export.column import SEPARATOR, Column, ColumnKind, joined
from daq.export.column_rows import ColumnRows, columns_of_rows
from daq.export.columns import columns_of, has_groups
from daq.export.keys import TableKeys, keys_among
from daq.export.rows import (
    Cell,
    Rows,
    check_rows,
    group_rows,
    journal_rows,
    judgement_rows,
    reading_rows,
)
from daq.export.session_rows import note_rows, session_rows, step_rows
from daq.record.events import RULES, Entry
from daq.record.rule_sets import RULE_SET_3
from daq.record.state import State

OF_GROUPS = ("groups", "steps")
"""The tables that a session may lack."""


class Table(msgspec.Struct, frozen=True):
    """One table: rows of text, one text for each column; its keys from rule set 3 on."""

    name: str
    columns: tuple[Column, ...]
    rows: Sequence[tuple[str, ...]]
    keys: TableKeys | None = None

    @property
    def may_be_empty(self) -> frozenset[str]:
        """The columns that are not said to be filled in every row; none where nothing is said."""
        required = self.keys.required if self.keys else self.names
        return frozenset(self.names).difference(required)

    @property
    def cells(self) -> Sequence[Sequence[str]]:
        """The columns, each with its cell of every row."""
        return columns_of_rows(self.rows, len(self.columns))

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the columns."""
        return tuple(column.name for column in self.columns)


def tables(
    state: State,
    entries: Sequence[Entry],
    chain: str,
    *,
    verdict: str | None = None,
    rules: int | None = None,
) -> tuple[Table, ...]:
    """The tables of a session as it stands, with the columns of the rule set that judges it, or of
    rule set `rules`; what was not known then is empty. `entries` are the lines of its ledger and
    `chain` its last digest: sessions before rule set 3 tell nothing of either.
    """
    return tables_of(basis_of(state, entries, chain, verdict), rules)


def basis_of(
    state: State, entries: Sequence[Entry], chain: str, verdict: str | None = None
) -> Basis:
    """What the tables of a session are made of; None is the verdict as it stands."""
    closed = state.closed
    return Basis(state, verdict or (closed.verdict if closed else OPEN), entries, chain)


def tables_of(basis: Basis, rules: int | None = None) -> tuple[Table, ...]:
    """As `tables`."""
    state = basis.state
    asked = state.rules if rules is None else rules
    names = [name for name in columns_of(asked) if _has(state, name, asked)]
    return _made(basis, asked, names)


def every_table(basis: Basis, *, rules: int | None = None) -> Mapping[str, Table]:
    """All tables by name: those that its rule set (or `rules`) does not have with today's columns,
    those that a session lacks without a row.
    """
    state = basis.state
    own = columns_of(state.rules if rules is None else rules)
    later = [name for name in columns_of(RULES) if name not in own and _has(state, name, RULES)]
    found = (*tables_of(basis, rules), *_made(basis, RULES, later))
    by_name = {table.name: table for table in found}
    return {
        name: by_name.get(name) or Table(name, own.get(name, columns), (), _keys(name, columns, ()))
        for name, columns in columns_of(RULES).items()
    }


def _has(state: State, name: str, rules: int) -> bool:
    return name not in OF_GROUPS or has_groups(rules, is_study=state.plan.study is not None)


ROWS: Mapping[str, Callable[[Basis], Rows]] = {
    "readings": reading_rows,
    "checks": check_rows,
    "judgements": judgement_rows,
    "journals": journal_rows,
    "groups": group_rows,
    "steps": step_rows,
    "sessions": session_rows,
    "notes": note_rows,
}
"""What makes the rows of each table."""


def _made(basis: Basis, rules: int, names: Sequence[str]) -> tuple[Table, ...]:
    columns_by = columns_of(rules)
    found = (
        Table(
            name,
            columns_by[name],
            _rows(columns_by[name], ROWS[name](basis)),
            _keys(name, columns_by[name], names) if rules >= RULE_SET_3 else None,
        )
        for name in names
    )
    return tuple(map(_whole_keys, found))


def _rows(columns: Sequence[Column], found: Rows) -> ColumnRows:
    """The rows as texts, of the columns of one rule set."""
    return ColumnRows([_column(column, found) for column in columns])


def _keys(name: str, columns: Sequence[Column], names: Sequence[str]) -> TableKeys:
    return keys_among(name, [column.name for column in columns], names)


def _whole_keys(table: Table) -> Table:
    """A table whose keys to others are filled in every row: of a plan without groups the one that
    there is has no name, and an empty key refers to nothing.
    """
    keys = table.keys
    if keys is None:
        return table
    cells = dict(zip(table.names, table.cells, strict=True))
    foreign = tuple(key for key in keys.foreign if all(all(cells[name]) for name in key.columns))
    return msgspec.structs.replace(table, keys=msgspec.structs.replace(keys, foreign=foreign))


def _column(column: Column, rows: Rows) -> Sequence[str]:
    """The texts of a column."""
    name = column.name
    if name in rows.own:
        own = rows.own[name]
        if set(map(type, own)) <= {str}:
            return cast(Sequence[str], own)
        texts = {cell: _text(column, cell) for cell in set(own)}
        return [texts[cell] for cell in own]
    if not rows.many:
        return ()
    return [_text(column, rows.same[name])] * rows.many


def _text(column: Column, cell: Cell) -> str:
    if isinstance(cell, str):
        return cell
    return joined(cell) if column.kind is ColumnKind.LIST else SEPARATOR.join(cell)
