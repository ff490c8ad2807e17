"""The tables of a session that has come to its end."""

from collections.abc import Mapping
from pathlib import Path

from daq.acquisition.manager import SessionManager
from daq.errors import ExportError
from daq.evaluation.verdict import ACCEPTED
from daq.export.csv_files import files_of, write_files
from daq.record.state import State
from daq.storage.ledger import held, scan
from daq.storage.whole import whole


def write_tables(manager: SessionManager) -> None:
    """Write the tables of an accepted session; no other has any. Raises ExportError, and
    LedgerTaken where the ledger is no longer what was written.
    """
    manager.confirm()
    if _is_accepted(manager.state):
        _write_files(manager.folder, files_of(manager.state, scan(manager.folder)))


def write_missing_tables(folder: Path) -> State | None:
    """Write the tables of an accepted session that was cut off between its closing line and them;
    gives its state, None if there was nothing to do.

    Raises what `whole` raises, LedgerLocked and ExportError.
    """
    state, found = whole(folder)
    if not _is_accepted(state):
        return None
    files = files_of(state, found)
    if all((folder / name).exists() for name in files):
        return None
    with held(folder):
        _write_files(folder, files)
    return state


def _write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    try:
        write_files(folder, files)
    except ExportError as error:
        raise error.then("export", folder) from error.__cause__


def _is_accepted(state: State) -> bool:
    return state.closed is not None and state.closed.verdict == ACCEPTED
