"""What a gauge's history says before a session opens, and what a session adds to it."""

from collections.abc import Callable
from pathlib import Path

from daq.errors import HistoryError, SettingsError
from daq.gauges import gate
from daq.gauges.drift_history import drift_history
from daq.gauges.history import History, history_name
from daq.record.events import Repeatability
from daq.record.state import State
from daq.services.choose import Chosen
from daq.services.keep_checks import record_session_checks
from daq.services.option_values import text_of
from daq.storage.history_file import read

Tell = Callable[[str], None]
"""Says one thing that is worth knowing, without its full stop."""

AskWhy = Callable[[str], str | None]
"""Asks why a gauge is used all the same, given what speaks against it; None: nobody is there."""


def past_of(chosen: Chosen, device: str, home: Path, tell: Tell) -> History:
    """The history of the gauge that is about to measure; damage in it is told. Raises HistoryError
    for one that cannot be read.
    """
    name = chosen.gauge.name if chosen.gauge is not None else None
    found = read(history_name(name, device), home)
    for fault in found.faults:
        tell(f"{fault}. What it says of the gauge is not known")
    return found


def may_open(
    past: History, now_us: int, despite: str | None, ask: AskWhy, tell: Tell
) -> str | None:
    """The reason to write into the ledger, None if nothing shows the gauge to be out of control;
    what its history cannot settle is told.

    A gauge that is out of control needs `despite`, or an answer of `ask`; raises SettingsError
    without one.
    """
    for words in gate.unsettled(past, now_us):
        tell(words)
    trouble = gate.may_open(past, now_us)
    if trouble is None:
        return None
    if despite is None:
        despite = ask(trouble)
    if not (despite or "").strip():
        raise SettingsError(f"{trouble} To use it all the same, give --despite-history REASON.")
    return f"{text_of(despite or '', '--despite-history').strip()} (its history: {trouble})"


def kept_study(past: History) -> Repeatability | None:
    """The repeatability of the gauge's last kept study."""
    study = past.study
    if study is None:
        return None
    return Repeatability(study.repeatability_mm, study.repeatability_dof, study.source)


def kept_drift(past: History) -> Repeatability | None:
    """How far one stint's drift scatters, by the gauge's own history; None if it is too short."""
    found = drift_history(past)
    if found is None:
        return None
    return Repeatability(f"{found.sd_mm:.7f}", str(found.count), found.words)


def keep_checks(state: State, home: Path, tell: Tell) -> None:
    """Copy a session's checks into the gauge's history; trouble there never touches the session."""
    try:
        record_session_checks(state, home)
    except HistoryError as error:
        tell(f"{str(error).rstrip('.')}. The session's record holds the checks")
