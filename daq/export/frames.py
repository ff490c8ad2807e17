"""A session as pandas DataFrames; the only module that knows pandas, which it loads when called."""

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from daq.evaluation.verdict import OPEN, reasons
from daq.export.column import Column, ColumnKind
from daq.export.tables import Table, every_table
from daq.storage.whole import whole

if TYPE_CHECKING:
    import pandas as pd


class Session(msgspec.Struct, frozen=True):
    """One session: its tables as DataFrames, the verdict (`open` while it is) and its reasons.
    `groups` is empty for a session of rule set 1 and, from rule set 3 on, for a gauge study, which
    has no `steps` either. `steps`, `sessions` and `notes` have today's columns, whatever the
    session's rule set.
    """

    readings: "pd.DataFrame"
    checks: "pd.DataFrame"
    judgements: "pd.DataFrame"
    journals: "pd.DataFrame"
    groups: "pd.DataFrame"
    steps: "pd.DataFrame"
    sessions: "pd.DataFrame"
    notes: "pd.DataFrame"
    verdict: str
    reasons: tuple[str, ...]


def load(session: str | Path, *, exact: bool = False) -> Session:
    """Read a session folder; see `daq.load`."""
    state, scanned = whole(Path(session))
    found = every_table(state, scanned.entries, scanned.chain)
    verdict = state.closed.verdict if state.closed else OPEN
    said = state.closed.reasons if state.closed else tuple(reasons(state, OPEN))
    return Session(
        **{name: _frame(table, exact) for name, table in found.items()},
        verdict=verdict,
        reasons=said,
    )


def _frame(table: Table, exact: bool) -> "pd.DataFrame":
    import pandas as pd  # noqa: PLC0415 - loads slowly

    columns = zip(*table.rows, strict=True) if table.rows else ((),) * len(table.columns)
    return pd.DataFrame(
        {
            column.name: _series(column, list(cells), exact, column.name in table.may_be_empty)
            for column, cells in zip(table.columns, columns, strict=True)
        }
    )


def _series(
    column: Column, cells: list[str], exact: bool, may_be_empty: bool = False
) -> "pd.Series":
    import pandas as pd  # noqa: PLC0415 - loads slowly

    match column.kind:
        case ColumnKind.LENGTH if column.name.endswith("_mm"):
            if exact:
                decimals = [Decimal(cell) if cell else None for cell in cells]
                return pd.Series(decimals, dtype=object)
            return pd.Series([float(cell) if cell else float("nan") for cell in cells], dtype=float)
        case ColumnKind.NUMBER:
            return pd.Series([float(cell) if cell else float("nan") for cell in cells], dtype=float)
        case ColumnKind.WHOLE:
            if may_be_empty:
                return pd.Series([int(cell) if cell else pd.NA for cell in cells], dtype="Int64")
            return pd.Series([int(cell) for cell in cells], dtype="int64")
        case ColumnKind.TIME:
            moments = pd.to_datetime(pd.Series(cells, dtype=str), utc=True)
            return pd.Series(moments.astype("datetime64[us, UTC]"))
        case ColumnKind.DATE:
            days = pd.to_datetime(pd.Series(cells, dtype=str), format="%Y-%m-%d")
            return pd.Series(days.astype("datetime64[us]"))
        case ColumnKind.TRUTH:
            return pd.Series([cell == "true" for cell in cells], dtype=bool)
        case _:
            return pd.Series(cells, dtype="string")
