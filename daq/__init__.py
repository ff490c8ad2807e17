"""Gauge readings into a session that can be trusted; `daq.load` gives a session as DataFrames."""

from typing import TYPE_CHECKING

from daq.errors import LedgerDamaged, LedgerError
from daq.version import __version__

if TYPE_CHECKING:
    from pathlib import Path

    from daq.export.frames import Session

__all__ = ["LedgerDamaged", "LedgerError", "__version__", "load"]


def load(session: "str | Path", *, exact: bool = False) -> "Session":
    """A session folder as pandas DataFrames: `readings`, `checks`, `judgements`, `journals`, with
    `verdict` and `reasons`.

    Works for open, rejected and abandoned sessions. Lengths in mm are float64 for analysis;
    `exact=True` gives Decimal. Raises LedgerDamaged where the ledger is damaged, another
    LedgerError where there is none to read.
    """
    from daq.export.frames import load as load_session  # noqa: PLC0415 - pandas loads slowly

    return load_session(session, exact=exact)
