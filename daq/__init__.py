"""Gauge readings into a session that can be trusted.

`daq.load` gives a session as DataFrames, `daq.open_session` and `daq.resume_session` run one from a
Python program. These names, and the classes that they give, are what is public; every other module
may change with any version.
"""

from typing import TYPE_CHECKING

from daq.errors import LedgerDamaged, LedgerError
from daq.version import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal
    from pathlib import Path

    from daq.export.frames import Session
    from daq.services.live_session import LiveSession

__all__ = [
    "LedgerDamaged",
    "LedgerError",
    "__version__",
    "load",
    "open_session",
    "resume_session",
]


def load(session: "str | Path", *, exact: bool = False) -> "Session":
    """A session folder as pandas DataFrames: `readings`, `checks`, `judgements`, `journals`, with
    `verdict` and `reasons`.

    Works for open, rejected and abandoned sessions. Lengths in mm are float64 for analysis;
    `exact=True` gives Decimal. Raises LedgerDamaged where the ledger is damaged, another
    LedgerError where there is none to read.
    """
    from daq.export.frames import load as load_session  # noqa: PLC0415 - pandas loads slowly

    return load_session(session, exact=exact)


def open_session(
    plan: "str | Path",
    *,
    gauge: str | None = None,
    port: str | None = None,
    profile: str | None = None,
    stack: str | None = None,
    only: "Sequence[str]" = (),
    job: str = "",
    part: str | None = None,
    operator: str = "",
    part_temp: "str | int | Decimal | None" = None,
    gauge_temp: "str | int | Decimal | None" = None,
    stack_temp: "str | int | Decimal | None" = None,
    session: "str | Path | None" = None,
    home: "str | Path | None" = None,
    despite_history: str | None = None,
    continuous: bool = False,
    stable_s: float | None = None,
    send_key: str | None = None,
    wait_back_s: float | None = None,
    step: str | None = None,
    ground_to: "Sequence[str]" = (),
    is_attended: bool = True,
) -> "LiveSession":
    """Open a new session by a plan file on a gauge, as `jbridge measure` does, and give it open:
    readings are taken in by its `wait` or `run`, words said by `say`, all that is to be shown
    stands in its `board`.

    `gauge` names a gauge file of the shop, or `port` and `profile` say where the gauge is and how
    it talks; the other arguments are the options of that name. Temperatures are degrees Celsius,
    `step` is a length with its unit. `ground_to` names undersizes of the plan that the part was
    ground to, GROUP=NAME, or NAME in every group that has it.
    `is_attended` False: nobody answers questions, so a held reading is dropped and a failed check
    ends the session; unless `send_key` has keys for both `keep` and `drop`.

    Raises UsageError, PlanError, SettingsError, LedgerError and HistoryError of `daq.errors`,
    ProfileError and PortError of `drivers.errors`.
    """
    from daq.services import from_python  # noqa: PLC0415 - loads drivers and sessions

    return from_python.open_session(
        plan,
        from_python.run_wanted(
            gauge=gauge,
            port=port,
            profile=profile,
            stack=stack,
            only=only,
            temps=(part_temp, gauge_temp, stack_temp),
            despite_history=despite_history,
            trigger=(continuous, stable_s, send_key, wait_back_s),
            step=step,
            ground_to=ground_to,
        ),
        texts=(job, part, operator),
        folder=session,
        home=home,
        is_attended=is_attended,
    )


def resume_session(
    session: "str | Path",
    *,
    gauge: str | None = None,
    port: str | None = None,
    profile: str | None = None,
    stack: str | None = None,
    only: "Sequence[str]" = (),
    part_temp: "str | int | Decimal | None" = None,
    gauge_temp: "str | int | Decimal | None" = None,
    stack_temp: "str | int | Decimal | None" = None,
    same_gauge: str | None = None,
    home: "str | Path | None" = None,
    despite_history: str | None = None,
    continuous: bool = False,
    stable_s: float | None = None,
    send_key: str | None = None,
    wait_back_s: float | None = None,
    step: str | None = None,
    is_attended: bool = True,
) -> "LiveSession":
    """Carry on an open session, as `jbridge resume` does: a folder, or an id, its last letters or a
    job number below `home`, if one session fits. What is not given is as in its last run; see
    `open_session`. Raises Refused for a closed session, LedgerError where two fit or none.
    """
    from daq.services import from_python  # noqa: PLC0415 - loads drivers and sessions

    return from_python.resume_session(
        session,
        from_python.run_wanted(
            gauge=gauge,
            port=port,
            profile=profile,
            stack=stack,
            only=only,
            temps=(part_temp, gauge_temp, stack_temp),
            despite_history=despite_history,
            trigger=(continuous, stable_s, send_key, wait_back_s),
            step=step,
        ),
        same_gauge=same_gauge,
        home=home,
        is_attended=is_attended,
    )
