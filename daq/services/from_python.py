"""What `daq.open_session` and `daq.resume_session` do: a Python program's arguments to a run."""

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


def run_wanted(
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


def open_session(
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


def resume_session(
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
