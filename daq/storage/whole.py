"""Is a session folder whole? The one place that decides, for whoever reads a session.

A chain sees every change inside a ledger but not an end that is gone: an old copy is as well
chained as today's ledger. What tells is what was written beside it after its closing line: the
tables, and their metadata with the chain's last value.
"""

from pathlib import Path

import msgspec

from daq.errors import LedgerAbsent, LedgerDamaged
from daq.record.state import State
from daq.storage.ledger import Scan
from daq.storage.replay import load_state
from drivers.plain_file import plain_bytes

METADATA = "csv-metadata.json"
DATAPACKAGE = "datapackage.json"
TABLES = (
    "readings.csv",
    "checks.csv",
    "judgements.csv",
    "journals.csv",
    "groups.csv",
    "steps.csv",
    "sessions.csv",
    "notes.csv",
)
"""Every table that a session may have; one of rule set 1, and a gauge study, has no groups, and
none before rule set 3 has those that follow.
"""
WRITTEN = (*TABLES, DATAPACKAGE, METADATA)
"""All that is derived from a ledger and lies beside it."""

MOST_METADATA_BYTES = 1024 * 1024


class _Note(msgspec.Struct):
    session_id: str
    ledger_chain: str


class _Metadata(msgspec.Struct):
    notes: tuple[_Note, ...]


_METADATA = msgspec.json.Decoder(_Metadata)


def whole(folder: Path) -> tuple[State, Scan]:
    """Read a session whose ledger, closing line and metadata go together; takes no hold of it.

    Raises LedgerDamaged where they do not, LedgerTooNew, or LedgerError where there is nothing to
    read. What the tables hold is not looked at.
    """
    try:
        state, found = load_state(folder)
    except LedgerAbsent as error:
        if written := _written(folder):
            raise LedgerDamaged(folder, 0, f"{written[0]} is here, but {error.reason}") from error
        raise
    damage = damage_beside(folder, state, found)
    if damage is not None:
        raise damage
    return state, found


def damage_beside(folder: Path, state: State, found: Scan) -> LedgerDamaged | None:
    """What the files beside a ledger that is whole in itself say against it; None for nothing."""
    written = _written(folder)
    if state.closed is None and written:
        return LedgerDamaged(
            folder,
            len(found.entries) + 1,
            (
                f"is missing: {written[0]} was written, so the session was closed, and the "
                "closing line is not here"
            ),
        )
    named = noted(folder)
    if named is None or named == (state.opened.session, found.chain):
        return None
    return LedgerDamaged(
        folder,
        0,
        (
            f"{METADATA} belongs to another record: it names session {named[0]} and chain "
            f"{named[1]}, here are session {state.opened.session} and chain {found.chain}"
        ),
        (
            "Restore the record that belongs to the tables from a copy. If the tables are "
            "wrong here, move them away, then jbridge export"
        ),
    )


def _written(folder: Path) -> list[str]:
    return [name for name in WRITTEN if (folder / name).exists()]


def noted(folder: Path) -> tuple[str, str] | None:
    """The session and the chain's last value in the metadata; None where it says none."""
    try:
        found = _METADATA.decode(plain_bytes(folder / METADATA, MOST_METADATA_BYTES))
    except (OSError, ValueError, RecursionError):  # msgspec's errors are ValueErrors
        return None
    return (found.notes[0].session_id, found.notes[0].ledger_chain) if found.notes else None
