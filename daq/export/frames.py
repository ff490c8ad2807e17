"""Sessions as pandas DataFrames; the only module that knows pandas, and loaded only when asked."""

import io
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from itertools import chain, groupby
from pathlib import Path
from typing import Any

import msgspec
import pandas as pd

from daq.export.column import Column, ColumnKind
from daq.export.columns import columns_of
from daq.export.dialect import WITH_DECIMALS
from daq.export.kept_tables import kept_cells
from daq.export.keys import keys_among
from daq.export.tables import Table, basis_of, every_table, tables
from daq.record.events import RULES
from daq.storage.whole import whole


class Frames(msgspec.Struct, frozen=True):
    """The tables of one session or of many as DataFrames.

    `readings`: one row a reading that counts; `value` is a number, its digits as they were sent
    stand in `value_text`. `checks`: one row a reading of the stack, `judgements`: one a check,
    `journals`: one a journal, `groups`: one a group with its next step, `steps`: one a group and
    size, whether it cleans up there, `sessions`: one a session, `notes`: one a note, skip, reading
    taken back, loss or return. What every column means stands in csv-metadata.json.
    """

    readings: pd.DataFrame
    checks: pd.DataFrame
    judgements: pd.DataFrame
    journals: pd.DataFrame
    groups: pd.DataFrame
    steps: pd.DataFrame
    sessions: pd.DataFrame
    notes: pd.DataFrame


class Session(Frames, frozen=True):
    """One session: its tables as DataFrames, the verdict (`open` while it is) and its reasons.

    `readings` (`value` is a number, its digits as they were sent stand in `value_text`), `checks`,
    `judgements`, `journals`, `groups`, `steps`, `sessions` and `notes` are as `Frames` has them.
    `groups` is empty for a session of rule set 1 and, from rule set 3 on, for a gauge study, which
    has no `steps` either. `steps`, `sessions` and `notes` have today's columns, whatever the
    session's rule set.
    """

    verdict: str
    reasons: tuple[str, ...]


def load(session: str | Path, *, exact: bool = False) -> Session:
    """A session folder as pandas DataFrames: `readings`, `checks`, `judgements`, `journals`,
    `groups`, `steps`, `sessions`, `notes`, with `verdict` and `reasons`.

    Works for open, rejected and abandoned sessions. Lengths and other decimals are float64 for
    analysis; `exact=True` gives Decimal. Texts are as they were given. Raises LedgerDamaged where
    the ledger is damaged, another LedgerError where there is none to read.
    """
    state, scanned = whole(Path(session))
    basis = basis_of(state, scanned.entries, scanned.chain)
    found = every_table(basis)
    frames = {
        name: typed_frame(table, dict(zip(table.names, table.cells, strict=True)), exact=exact)
        for name, table in found.items()
    }
    return Session(**frames, verdict=basis.verdict, reasons=basis.reasons)


def load_many(sessions: str | Path | Iterable[str | Path], *, exact: bool = False) -> Frames:
    """Many session folders, or one, as the same DataFrames as `load` gives, each over all of them,
    in the order in which they are given; `session_id` tells them apart, `sessions` has a row each.

    Every session has today's columns, empty where its version did not know. Where the tables beside
    a ledger are whole they are read, and the ledger is not proven again: `jbridge verify` does
    that. Else they are derived from it. Raises LedgerDamaged, naming the session, and other
    LedgerErrors as `load` does.
    """
    if isinstance(sessions, str | Path):  # a text is a row of letters too
        sessions = [sessions]
    shape = {
        name: Table(name, columns, (), keys_among(name, _names(columns), columns_of(RULES)))
        for name, columns in columns_of(RULES).items()
    }
    parts: dict[str, list[pd.DataFrame]] = {name: [] for name in shape}
    folders = map(Path, sessions)
    for is_kept, together in groupby(((f, kept_cells(f)) for f in folders), _is_kept):
        if is_kept:
            kept = [cells for _, cells in together if cells is not None]
            for name, table in shape.items():
                cells = b"".join(each.get(name, b"") for each in kept)
                parts[name].append(_read(table, cells, exact=exact))
        else:
            derived = [_derived(folder) for folder, _ in together]
            for name, table in shape.items():
                rows = [row for each in derived for row in each.get(name, ())]
                parts[name].append(frame(table, rows, exact=exact))
    return Frames(
        **{
            name: pd.concat(found, ignore_index=True)
            if found
            else frame(shape[name], (), exact=exact)
            for name, found in parts.items()
        }
    )


def _is_kept(found: tuple[Path, Mapping[str, bytes] | None]) -> bool:
    return found[1] is not None


def _read(table: Table, cells: bytes, *, exact: bool) -> pd.DataFrame:
    """The cells of CSV as a DataFrame; pandas reads what it reads exactly, all else is a text."""
    if not cells:
        return frame(table, (), exact=exact)
    may_be_empty = table.may_be_empty
    kinds = {c.name: _type_of(c, c.name in may_be_empty, exact) for c in table.columns}
    as_read = {name: _READ.get(kind, "string") for name, kind in kinds.items()}
    made = pd.read_csv(
        io.BytesIO(cells),
        header=None,
        names=list(kinds),
        dtype=as_read,
        keep_default_na=False,
        na_values={name: [""] for name, kind in as_read.items() if kind == "Int64"},
    )
    for column in table.columns:
        name = column.name
        if column.kind is ColumnKind.HEX_TEXT:
            made[name] = made[name].str.slice(3).str.replace(" ", "", regex=False)
        elif as_read[name] == "string" and kinds[name] != "text":
            texts = made[name].tolist()
            if name == "value":
                made.insert(list(made.columns).index(name) + 1, "value_text", made[name])
            made[name] = _CONVERT[kinds[name]](texts)
    return made


_READ = {"whole": "int64", "whole or none": "Int64", "truth": "bool"}
"""The types that pandas reads from CSV exactly; how exactly it reads a float has changed with its
versions.
"""


def _names(columns: Sequence[Column]) -> list[str]:
    return [column.name for column in columns]


def _derived(folder: Path) -> Mapping[str, Sequence[Sequence[str]]]:
    state, scanned = whole(folder)
    of_session = tables(state, scanned.entries, scanned.chain, rules=RULES)
    return {table.name: table.rows for table in of_session}


def frame(table: Table, rows: Sequence[Sequence[str]], *, exact: bool) -> pd.DataFrame:
    """Rows of text as a DataFrame with the types of a table's columns."""
    cells = dict(zip(table.names, zip(*rows, strict=True), strict=True)) if rows else {}
    return typed_frame(table, {name: cells.get(name, ()) for name in table.names}, exact=exact)


def typed_frame(table: Table, cells: Mapping[str, Sequence[str]], *, exact: bool) -> pd.DataFrame:
    """As `frame`, of columns. Those of one type are converted together: each call of pandas costs
    more than what it does for a column of one session.
    """
    by_type: dict[str, list[Column]] = {}
    may_be_empty = table.may_be_empty
    for column in table.columns:
        kind = _type_of(column, column.name in may_be_empty, exact)
        by_type.setdefault(kind, []).append(column)
    made: dict[str, Any] = {}
    for kind, columns in by_type.items():
        texts = list(chain.from_iterable(cells[column.name] for column in columns))
        values = _CONVERT[kind](texts)
        many = len(texts) // len(columns)
        for place, column in enumerate(columns):
            made[column.name] = values[place * many : (place + 1) * many]
    found = {}
    for column in table.columns:
        found[column.name] = made[column.name]
        if column.name == "value":
            found["value_text"] = pd.array(list(cells["value"]), dtype="string")
    return pd.DataFrame(found, copy=False)  # each column is a part of its own


def _type_of(column: Column, may_be_empty: bool, exact: bool) -> str:
    match column.kind:
        case kind if kind in WITH_DECIMALS:
            return "exact" if exact else "float"
        case ColumnKind.WHOLE:
            return "whole or none" if may_be_empty else "whole"
        case ColumnKind.TIME:
            return "time"
        case ColumnKind.DATE:
            return "date"
        case ColumnKind.TRUTH:
            return "truth"
        case _:
            return "text"


def _floats(texts: list[str]) -> Any:
    numbers = [float(text) if text else float("nan") for text in texts]
    return pd.Series(numbers, dtype="float64").to_numpy()


def _decimals(texts: list[str]) -> Any:
    numbers = [Decimal(text) if text else None for text in texts]
    return pd.Series(numbers, dtype=object).to_numpy()


def _wholes(texts: list[str]) -> Any:
    return pd.Series(list(map(int, texts)), dtype="int64").to_numpy()


def _wholes_or_none(texts: list[str]) -> Any:
    return pd.array([int(text) if text else None for text in texts], dtype="Int64")


def _times(texts: list[str]) -> Any:
    moments = pd.to_datetime(texts, utc=True, format="ISO8601")
    return moments.as_unit("us").array


def _dates(texts: list[str]) -> Any:
    """Many rows have the same day, and each table has such a column: pandas reads it slower."""
    found = {text: _day_us(text) for text in set(texts)}
    return pd.Series([found[text] for text in texts], dtype="int64").to_numpy().view(_DAY)


_DAY, _NONE = "datetime64[us]", -(2**63)
"""NumPy's type of a day, and what stands for none in it."""


def _day_us(text: str) -> int:
    return (date.fromisoformat(text) - date(1970, 1, 1)).days * 86_400_000_000 if text else _NONE


def _truths(texts: list[str]) -> Any:
    return pd.Series([text == "true" for text in texts], dtype="bool").to_numpy()


def _texts(texts: list[str]) -> Any:
    return pd.array(texts, dtype="string")


_CONVERT = {
    "float": _floats,
    "exact": _decimals,
    "whole": _wholes,
    "whole or none": _wholes_or_none,
    "time": _times,
    "date": _dates,
    "truth": _truths,
    "text": _texts,
}
