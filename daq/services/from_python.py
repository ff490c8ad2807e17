"""Sessions run from Python: `daq.open_session` and `daq.resume_session`."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TypeAlias

from daq.plan.plan import load_plan
from daq.services.folders import session_folder
from daq.services.home import home_folder
from daq.services.live_session import LiveSession
from daq.services.opening import (
    Around,
    NewSession,
    OpenRun,
    open_again,
    open_new,
    plan_name_of,
)
from daq.services.run_wanted import Attendance, RunWanted, TriggerOptions

Degrees: TypeAlias = str | int | Decimal | None

PROGRAM = Attendance(has_keyboard=True, is_terminal=False, has_lines=False)
"""A program presses and answers; it waits for nobody at a terminal."""


def open_session(
    plan: str | Path,
    *,
    gauge: str | None = None,
    port: str | None = None,
    profile: str | None = None,
    stack: str | None = None,
    only: Sequence[str] = (),
    job: str = "",
    part: str | None = None,
    operator: str = "",
    part_temp: str | int | Decimal | None = None,
    gauge_temp: str | int | Decimal | None = None,
    stack_temp: str | int | Decimal | None = None,
    session: str | Path | None = None,
    home: str | Path | None = None,
    despite_history: str | None = None,
    continuous: bool = False,
    stable_s: float | None = None,
    send_key: str | None = None,
    wait_back_s: float | None = None,
    step: str | None = None,
    ground_to: Sequence[str] = (),
    is_attended: bool = True,
) -> LiveSession:
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
    return _opened(
        plan,
        _run_wanted(
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
    session: str | Path,
    *,
    gauge: str | None = None,
    port: str | None = None,
    profile: str | None = None,
    stack: str | None = None,
    only: Sequence[str] = (),
    part_temp: str | int | Decimal | None = None,
    gauge_temp: str | int | Decimal | None = None,
    stack_temp: str | int | Decimal | None = None,
    same_gauge: str | None = None,
    home: str | Path | None = None,
    despite_history: str | None = None,
    continuous: bool = False,
    stable_s: float | None = None,
    send_key: str | None = None,
    wait_back_s: float | None = None,
    step: str | None = None,
    is_attended: bool = True,
) -> LiveSession:
    """Carry on an open session, as `jbridge resume` does: a folder, or an id, its last letters or a
    job number below `home`, if one session fits. What is not given is as in its last run; see
    `open_session`. Raises Refused for a closed session, LedgerError where two fit or none.
    """
    return _resumed(
        session,
        _run_wanted(
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


def _run_wanted(
    *,
    gauge: str | None,
    port: str | None,
    profile: str | None,
    stack: str | None,
    only: Sequence[str],
    temps: tuple[Degrees, Degrees, Degrees],
    despite_history: str | None,
    trigger: tuple[bool, float | None, str | None, float | None],
    step: str | None,
    ground_to: Sequence[str] = (),
) -> RunWanted:
    """The arguments as options say them; `temps` are part, gauge and stack."""
    part_temp, gauge_temp, stack_temp = (None if t is None else str(t) for t in temps)
    return RunWanted(
        gauge=gauge,
        port=port,
        profile=profile,
        stack=stack,
        only=tuple(only),
        part_temp=part_temp,
        gauge_temp=gauge_temp,
        stack_temp=stack_temp,
        despite_history=despite_history,
        trigger=TriggerOptions(*trigger),
        step=step,
        ground_to=tuple(ground_to),
    )


def _opened(
    plan: str | Path,
    wanted: RunWanted,
    *,
    texts: tuple[str, str | None, str],
    folder: str | Path | None,
    home: str | Path | None,
    is_attended: bool,
) -> LiveSession:
    """A new session; `texts` are job, part and operator."""
    path = Path(plan)
    job, part, operator = texts
    new = NewSession(
        plan=load_plan(path),
        plan_name=plan_name_of(path),
        job=job,
        part=part,
        operator=operator,
        folder=None if folder is None else Path(folder),
    )
    return _live(lambda around: open_new(wanted, new, around), home, is_attended=is_attended)


def _resumed(
    session: str | Path,
    wanted: RunWanted,
    *,
    same_gauge: str | None,
    home: str | Path | None,
    is_attended: bool,
) -> LiveSession:
    """An open session carried on."""
    folder = session_folder(str(session), _home(home))
    return _live(
        lambda around: open_again(wanted, folder, same_gauge, around),
        home,
        is_attended=is_attended,
    )


def _live(
    opening: Callable[[Around], OpenRun], home: str | Path | None, *, is_attended: bool
) -> LiveSession:
    told: list[str] = []
    run = opening(Around(_home(home), PROGRAM, told.append, lambda trouble: None))
    return LiveSession(run, told, is_attended=is_attended)


def _home(home: str | Path | None) -> Path:
    return home_folder(None if home is None else str(home))
