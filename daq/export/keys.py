"""What holds between the tables and within them: keys, what is never empty, units. Pure.

From rule set 3 on the metadata tells it, so that other programs can refuse tables that were damaged
or edited by hand.
"""

from collections.abc import Collection, Mapping

import msgspec

from daq.export.column import Column, ColumnKind


class ForeignKey(msgspec.Struct, frozen=True):
    """These columns, which have the same names there, name a row of another table."""

    columns: tuple[str, ...]
    table: str


class TableKeys(msgspec.Struct, frozen=True):
    """The columns that name a row, what they refer to, and the columns that are never empty."""

    primary: tuple[str, ...]
    required: tuple[str, ...]
    foreign: tuple[ForeignKey, ...] = ()


_OF_SESSION = ForeignKey(("session_id",), "sessions")
_OF_GROUP = ForeignKey(("session_id", "group"), "groups")
_OF_JOURNAL = ForeignKey(("session_id", "journal"), "journals")


def _keys(primary: str, required: str, *foreign: ForeignKey) -> TableKeys:
    names = tuple(primary.split())
    return TableKeys(names, (*names, *required.split()), foreign)


KEYS: Mapping[str, TableKeys] = {
    "readings": _keys(
        "session_id seq",
        "gauge journal station angle_deg repeat taken_at value unit resolution diameter_mm "
        "diameter_20c_mm session_verdict stint typed",
        _OF_SESSION,
        _OF_JOURNAL,
    ),
    "checks": _keys(
        "session_id seq",
        "gauge phase stack_size_mm taken_at value unit session_verdict stint check_no counted",
        _OF_SESSION,
    ),
    "judgements": _keys(
        "session_id check_no",
        "stint gauge phase stack_size_mm readings mean_error_mm spread_mm max_error_mm "
        "max_spread_mm max_drift_mm passed",
        _OF_SESSION,
    ),
    "journals": _keys(
        "session_id journal",
        "positions_planned positions_measured low_limit_mm verdict session_verdict size_verdict "
        "form_verdict decision_rule",
        _OF_SESSION,
        _OF_GROUP,
    ),
    # Of a plan without groups the one that there is has an empty name; so has the present size.
    "groups": TableKeys(
        ("session_id", "group"), ("session_id", "step", "reason", "session_verdict"), (_OF_SESSION,)
    ),
    "steps": TableKeys(
        ("session_id", "group", "undersize"),
        ("session_id", "by_mm", "cleans_up", "chosen", "session_verdict"),
        (_OF_SESSION, _OF_GROUP),
    ),
    "sessions": _keys(
        "session_id",
        "rule_set plan_sha256 begun_at session_verdict readings held taken_back skipped stints "
        "checks checks_failed program last_chain",
    ),
    "notes": _keys("session_id seq", "at kind", _OF_SESSION),
}


def keys_among(table: str, columns: Collection[str], tables: Collection[str]) -> TableKeys:
    """The keys of a table of which only these columns are written, among these tables; the primary
    one is empty where no row of it can be named by them.
    """
    keys = KEYS[table]
    return TableKeys(
        keys.primary if set(keys.primary) <= set(columns) else (),
        tuple(name for name in keys.required if name in columns),
        tuple(
            key for key in keys.foreign if key.table in tables and set(key.columns) <= set(columns)
        ),
    )


class UnitCodes(msgspec.Struct, frozen=True):
    """A unit: its UCUM code (Unified Code for Units of Measure) and its address in QUDT 2.1."""

    ucum: str
    qudt: str


_QUDT = "http://qudt.org/vocab/unit/"
_UNITS = {
    "_mm": UnitCodes("mm", f"{_QUDT}MilliM"),
    "_deg": UnitCodes("deg", f"{_QUDT}DEG"),
    "_c": UnitCodes("Cel", f"{_QUDT}DEG_C"),
}
_MEASURES = (ColumnKind.LENGTH, ColumnKind.NUMBER, ColumnKind.WHOLE)


def unit_of(column: Column) -> UnitCodes | None:
    """The unit of a column, which its name ends in; None where it has none, or where another column
    says it row by row.
    """
    if column.kind not in _MEASURES:
        return None
    return next((unit for end, unit in _UNITS.items() if column.name.endswith(end)), None)
