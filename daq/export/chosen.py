"""Some columns of a session's tables, in an order that somebody asks for. Pure."""

from collections.abc import Sequence
from difflib import get_close_matches

import msgspec

from daq.errors import UsageError
from daq.export.keys import keys_among
from daq.export.tables import Table

OPTION = "--columns"


def chosen(tables: Sequence[Table], wanted: Sequence[str]) -> tuple[Table, ...]:
    """The tables with the columns `wanted` in that order: TABLE.COLUMN of one table, or COLUMN of
    every table that has all that is asked for without a table's name.

    Raises UsageError for a name that there is not, or where no table has all of them.
    """
    by_name = {table.name: table for table in tables}
    for name in wanted:
        _known(name, tables)
    plain = [name for name in wanted if "." not in name]
    fitting = {table.name for table in tables if plain and set(plain) <= set(table.names)}
    asked = {name.partition(".")[0] for name in wanted if "." in name}
    if plain and not fitting and not asked:
        names = ", ".join(plain)
        raise UsageError(
            f"no table has all of {names}. Say which is of which, like "
            f"{_of_which(plain[0], tables)}",
            OPTION,
        )
    order = [name for name in by_name if name in fitting | asked]
    columns = {
        table: [
            name.rpartition(".")[2]
            for name in wanted
            if name.startswith(f"{table}.") or ("." not in name and _takes(by_name[table], name))
        ]
        for table in order
    }
    return tuple(_only(by_name[table], columns[table], order, columns) for table in order)


def _takes(table: Table, name: str) -> bool:
    return name in table.names


def _known(name: str, tables: Sequence[Table]) -> None:
    of, dot, column = name.rpartition(".")
    found = [table for table in tables if not dot or of == table.name]
    if any(column in table.names for table in found):
        return
    known = sorted({each for table in found or tables for each in table.names})
    near = get_close_matches(column, known, n=1)
    hint = f"Is {near[0]} meant?" if near else "The guide's topic data has the tables."
    raise UsageError(f"there is no column {name[:60]!r} in these tables. {hint}", OPTION)


def _of_which(name: str, tables: Sequence[Table]) -> str:
    table = next(table.name for table in tables if name in table.names)
    return f"{table}.{name}"


def _only(
    table: Table, names: Sequence[str], order: Sequence[str], all_names: dict[str, list[str]]
) -> Table:
    names = list(dict.fromkeys(names))
    places = [table.names.index(name) for name in names]
    keys = keys_among(table.name, names, order) if table.keys else None
    if keys is not None:
        foreign = tuple(
            key for key in keys.foreign if set(key.columns) <= set(all_names[key.table])
        )
        keys = msgspec.structs.replace(keys, foreign=foreign)
    return Table(
        table.name,
        tuple(table.columns[place] for place in places),
        tuple(tuple(row[place] for place in places) for row in table.rows),
        keys,
    )
