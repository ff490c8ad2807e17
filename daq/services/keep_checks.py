"""The checks of a session, copied into the histories of the gauges that made them."""

from pathlib import Path

from daq.gauges.history import AnyRecord
from daq.gauges.session_checks import checks_of
from daq.record.state import State
from daq.storage.history_file import append


def record_session_checks(state: State, home: Path) -> int:
    """Store every judged check of a session that is not there yet; gives how many were new.

    The session's ledger holds them in any case. Raises HistoryError, HistoryNotWritten.
    """
    by_name: dict[str, list[tuple[int, AnyRecord]]] = {}
    for name, at_us, check in checks_of(state):
        by_name.setdefault(name, []).append((at_us, check))
    return sum(append(name, home, entries) for name, entries in by_name.items())
