"""The tables of a session that has come to its end."""

from daq.acquisition.manager import SessionManager
from daq.evaluation.verdict import ACCEPTED
from daq.export.csv_files import table_files, write_files
from daq.export.tables import tables


def write_tables(manager: SessionManager) -> None:
    """Write the tables of an accepted session; no other has any. Raises ExportError."""
    state = manager.state
    if state.closed is not None and state.closed.verdict == ACCEPTED:
        files = table_files(tables(state), state.opened.session, ACCEPTED, manager.chain)
        write_files(manager.folder, files)
