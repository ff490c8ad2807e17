"""A ledger on disk to the state that it folds to; nothing is changed, no hold is taken."""

from collections.abc import Sequence
from pathlib import Path

from daq.errors import LedgerDamaged, PlanError, SettingsError
from daq.record.events import Entry
from daq.record.evolve import begin, evolve
from daq.record.shape import reference_fault
from daq.record.state import State
from daq.storage.ledger import Scan, scan


def replay(found: Scan, folder: Path) -> State:
    """The state of a scanned ledger; LedgerDamaged if its plan is none."""
    return replay_entries(found.entries, folder)


def replay_entries(entries: Sequence[Entry], folder: Path) -> State:
    """As `replay`, of entries at hand."""
    state = begin_state(entries[0], folder)
    for entry in entries[1:]:
        state = evolve_state(state, entry, folder)
    return state


def evolve_state(state: State, entry: Entry, folder: Path) -> State:
    """As `evolve`; LedgerDamaged if what a run recorded cannot be read by this program."""
    fault = reference_fault(state, entry.event)
    if fault:
        raise LedgerDamaged(folder, entry.seq, f"cannot be: {fault}")
    try:
        return evolve(state, entry)
    except (PlanError, SettingsError, ValueError, ArithmeticError, LookupError) as error:
        raise LedgerDamaged(folder, entry.seq, f"{type(error).__name__}: {error}") from error


def begin_state(first: Entry, folder: Path) -> State:
    """The state after the first line; LedgerDamaged if the plan in it is none."""
    try:
        return begin(first, f"{folder} (plan in the record)")
    except (PlanError, SettingsError, ValueError, ArithmeticError, LookupError) as error:
        raise LedgerDamaged(folder, 1, f"{type(error).__name__}: {error}") from error


def load_state(folder: Path) -> tuple[State, Scan]:
    """Read a session without taking hold of it."""
    found = scan(folder)
    return replay(found, folder), found
