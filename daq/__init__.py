"""Gauge readings into a session that can be trusted.

`daq.load` gives a session as DataFrames, `daq.load_many` many of them, `daq.plot_crank` and
`daq.plot_journal` pictures of one, `daq.open_session` and `daq.resume_session` run one from a
Python program. These names, and the classes that they give, are what is public; every other module
may change with any version.
"""

import importlib
from typing import TYPE_CHECKING, Any

from daq.errors import LedgerDamaged, LedgerError
from daq.version import __version__

if TYPE_CHECKING:
    from daq.export.frames import Frames, Session, load, load_many
    from daq.services.from_python import open_session, resume_session
    from daq.services.live_session import LiveSession
    from daq.services.plots import Drawing, plot_crank, plot_journal

__all__ = [
    "Drawing",
    "Frames",
    "LedgerDamaged",
    "LedgerError",
    "LiveSession",
    "Session",
    "__version__",
    "load",
    "load_many",
    "open_session",
    "plot_crank",
    "plot_journal",
    "resume_session",
]

_LOADED_WHEN_ASKED_FOR = {
    "Drawing": "daq.services.plots",
    "Frames": "daq.export.frames",
    "Session": "daq.export.frames",
    "load": "daq.export.frames",
    "load_many": "daq.export.frames",
    "LiveSession": "daq.services.live_session",
    "open_session": "daq.services.from_python",
    "plot_crank": "daq.services.plots",
    "plot_journal": "daq.services.plots",
    "resume_session": "daq.services.from_python",
}
"""Pandas, drivers and sessions load slowly, and the command line needs none of them to begin. What
is loaded is the function itself, so that its help and its types can be read.
"""


def __getattr__(name: str) -> Any:
    if name not in _LOADED_WHEN_ASKED_FOR:
        raise AttributeError(f"module 'daq' has no attribute {name!r}")
    return getattr(importlib.import_module(_LOADED_WHEN_ASKED_FOR[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *_LOADED_WHEN_ASKED_FOR})
