"""A run of a session opened: gauge chosen, port opened, first lines stored. The same service for a
new session and for one that is carried on, from the command line and from Python.
"""

import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from daq.acquisition.inputs import TakingMode
from daq.acquisition.manager import SessionManager, Step, refuse_closed
from daq.acquisition.typed_port import open_here
from daq.errors import LedgerError, LedgerNotWritten, UsageError
from daq.evaluation.error_notes import screw_notes
from daq.evaluation.temperature_notes import temperature_notes
from daq.gauges.history import History
from daq.lengths import Length, parse_length
from daq.plan.ground_to import ground, ground_to_fault
from daq.plan.key_words import names_in, told
from daq.plan.plan import Plan
from daq.plan.review import findings
from daq.plan.scope import make_scope, stacks_wanted
from daq.record.events import (
    FORMAT,
    RULES,
    GaugeSource,
    Opened,
    Setup,
    Temperatures,
)
from daq.record.state import State
from daq.rules.commands import HistoryNote
from daq.services.choose import (
    Chosen,
    cannot_be_seen,
    check_gauge,
    check_step,
    choose,
    choose_again,
    refuse_other,
)
from daq.services.home import load_stack, new_session_id
from daq.services.option_values import degrees_of, length_of, stack_of, text_of
from daq.services.past import AskWhy, Tell, keep_checks, kept_drift, kept_study, may_open, past_of
from daq.services.run_wanted import Attendance, RunWanted
from daq.services.session_list import SESSIONS
from daq.services.taking import taking_of, trigger_words
from daq.storage.durable import sync_folder, what_helps, write_whole
from daq.storage.ledger import PLAN_COPY
from daq.storage.whole import whole
from daq.version import __version__
from drivers.clock import Clock
from drivers.ports.base import Port


class NewSession(msgspec.Struct, frozen=True, kw_only=True):
    """What a new session is asked for besides its run. `plan_name` is the file's name as the ledger
    keeps it; `folder` must be new, `below` is where one is made if it is None.
    """

    plan: Plan
    plan_name: str
    job: str = ""
    part: str | None = None
    operator: str = ""
    folder: Path | None = None
    below: str = SESSIONS


class Around(msgspec.Struct, frozen=True):
    """Where a run is opened from: the shop's files, who is there, whom to tell and to ask."""

    home: Path
    attendance: Attendance
    tell: Tell
    ask_why: AskWhy


class OpenRun(msgspec.Struct, frozen=True):
    """A run that is open: its session and the lines stored so far, its gauge on its open port, and
    how readings are taken. Whoever holds it gives it back (`given_back`).
    """

    manager: SessionManager
    first: Step
    port: Port
    chosen: Chosen
    mode: TakingMode
    clock: Clock
    home: Path


def open_new(wanted: RunWanted, session: NewSession, around: Around) -> OpenRun:
    """A new session in a new folder.

    Raises UsageError, PlanError, SettingsError, ProfileError, PortError, HistoryError, LedgerError;
    then nothing is left open.
    """
    wanted = wanted._replace(stack=stack_of(wanted.stack))
    home, plan = around.home, ground_plan(session.plan, wanted.ground_to)
    job, operator = text_of(session.job, "--job"), text_of(session.operator, "--operator")
    part = plan.part if session.part is None else text_of(session.part, "--part")
    temperatures = temperatures_of(wanted.part_temp, wanted.gauge_temp, wanted.stack_temp)
    step = length_of(wanted.step, "--step")
    chosen = choose(wanted.port, wanted.profile, wanted.gauge, home)
    check_step(chosen, step)
    stacks = saved_stacks(plan, wanted.only, wanted.stack, home)
    check_gauge(make_scope(plan, wanted.only, wanted.stack, stacks.sizes), chosen, step)
    mode = taking_of(wanted.trigger, chosen, around.attendance)
    clock = Clock()
    now = clock.now().utc_us
    session_id = new_session_id(now)
    folder = session.folder or home / session.below / session_id
    if folder.exists():
        raise LedgerError(folder, "this folder exists already; a session needs a new one")
    with ExitStack() as failed:
        port = opened_port(chosen, mode, failed)
        past = past_of(chosen, port.identity.text, home, around.tell)
        reason = may_open(past, now, wanted.despite_history, around.ask_why, around.tell)
        setup = _setup(wanted.only, wanted.stack, chosen, port, stacks, temperatures)
        opened = Opened(
            format=FORMAT,
            program=__version__,
            rules=RULES,
            session=session_id,
            job=job,
            part=part,
            operator=operator,
            plan_name=session.plan_name,
            plan=plan.text,
            setup=_with_known(setup, past, step, wanted.ground_to),
        )
        manager, first = SessionManager.create(folder, opened, now, home / SESSIONS)
        failed.callback(manager.close)
        if reason:
            first = first.and_then(manager.submit(HistoryNote(reason), now))
        _keep_plan(folder, plan.text)
        failed.pop_all()
    return OpenRun(manager, first, port, chosen, mode, clock, home)


def open_again(wanted: RunWanted, folder: Path, same_gauge: str | None, around: Around) -> OpenRun:
    """An open session carried on; gauge, stack and journals are those of the last run unless
    something else is wanted. `same_gauge`: why another port is still the same gauge.

    Raises what `open_new` raises, and Refused("session-closed") for a closed session.
    """
    wanted = wanted._replace(stack=stack_of(wanted.stack))
    home = around.home
    state, _ = whole(folder)
    refuse_closed(state, folder)
    reason = None if same_gauge is None else text_of(same_gauge, "--same-gauge")
    last = state.setup
    step = length_of(wanted.step, "--step")
    chosen = choose_again(last, wanted.port, wanted.profile, wanted.gauge, home)
    check_step(chosen, step)
    only, stack = wanted.only or last.only, wanted.stack or last.stack
    stacks = _with_last(saved_stacks(state.plan, only, stack, home), last)
    temperatures = temperatures_of(wanted.part_temp, wanted.gauge_temp, wanted.stack_temp)
    step = step or _step_again(last, wanted.gauge)
    check_gauge(make_scope(state.plan, only, stack, stacks.sizes), chosen, step)
    mode = taking_of(wanted.trigger, chosen, around.attendance)
    clock = Clock()
    with ExitStack() as failed:
        port = opened_port(chosen, mode, failed)
        past = past_of(chosen, port.identity.text, home, around.tell)
        now = clock.now().utc_us
        despite = may_open(past, now, wanted.despite_history, around.ask_why, around.tell)
        setup = _setup(only, stack, chosen, port, stacks, temperatures)
        setup = _with_known(setup, past, step, last.ground_to)
        manager, first = SessionManager.resume(folder, setup, now, reason, home / SESSIONS)
        failed.callback(manager.close)
        if despite and manager.state.closed is None:
            first = first.and_then(manager.submit(HistoryNote(despite), now))
        failed.pop_all()
    return OpenRun(manager, first, port, chosen, mode, clock, home)


def opened_port(chosen: Chosen, mode: TakingMode, failed: ExitStack) -> Port:
    """The gauge's port; `failed` gives it and the send key back if what follows fails."""
    if mode.send_key is not None:
        failed.callback(mode.send_key.stop)
    port = open_here(chosen.port, chosen.profile.link)
    failed.callback(port.close)
    refuse_other(chosen, port)
    return port


@contextmanager
def given_back(run: OpenRun, tell: Tell) -> Iterator[None]:
    """While inside, a run; whatever ends it, its checks are kept in the gauge's history, and port
    and session are given back.
    """
    with ExitStack() as at_the_end:
        at_the_end.callback(run.manager.close)
        at_the_end.callback(run.port.close)
        at_the_end.callback(lambda: keep_checks(run.manager.state, run.home, tell))
        yield


def start_notes(run: OpenRun) -> list[str]:
    """What is worth knowing before the first press, one thing each, without its full stop."""
    state = run.manager.state
    return [
        *trigger_words(run.mode),
        *cannot_be_seen(run.chosen, run.port),
        *_typed_words(run.chosen, state.plan),
        *temperature_notes(state),
        *screw_notes(state),
        *_certificates(state),
        *_ground(state),
        *_doubts(state.plan),
    ]


def _typed_words(chosen: Chosen, plan: Plan) -> list[str]:
    """What becomes of a slip of the finger, where a person types the values."""
    if not chosen.is_by_hand:
        return []
    if plan.taking.is_typed_twice:
        return ["each value is asked for twice, and counts if both are alike"]
    return [
        (
            'a typing slip that still looks like a size goes unseen: typed = "twice" in '
            "the plan's [defaults] asks for each value twice"
        )
    ]


def _doubts(plan: Plan) -> list[str]:
    names = names_in(plan.text)
    return [told(doubt.key, doubt.words, names) for doubt in findings(plan)]


def _ground(state: State) -> list[str]:
    """Which limits stand in the place of the plan's, and that both count."""
    found = {
        journal.group: (
            f"{journal.group} is inspected as ground to {journal.undersize}, "
            f"{journal.limits.low} to {journal.limits.high}: both limits count"
        )
        for journal in state.plan.journals
        if state.setup.ground_to and journal.is_ground and journal.undersize
    }
    return list(found.values())


def _certificates(state: State) -> list[str]:
    """What is wrong with the certificates of the stacks in use, by today's date."""
    today = datetime.now(UTC).date()
    return [
        (
            f"the certificate of the stack {name} was due on {stack.certificate_due}: only "
            "its grade counts, whose limits are wider"
        )
        for name, stack in state.environments[-1].stacks.items()
        if name in state.scope.sizes and stack.is_out_of_date(today)
    ]


def temperatures_of(part: str | None, gauge: str | None, stack: str | None) -> Temperatures:
    """The temperatures given, as decimal text; raises UsageError outside 5 to 40 degrees."""
    return Temperatures(
        degrees_of(part, "--part-temp"),
        degrees_of(gauge, "--gauge-temp"),
        degrees_of(stack, "--stack-temp"),
    )


def ground_plan(plan: Plan, words: Sequence[str]) -> Plan:
    """The plan for a part that was ground to these undersizes; raises UsageError."""
    fault = ground_to_fault(plan, words)
    if fault is not None:
        raise UsageError(fault, "--ground-to")
    return ground(plan, words)


class SavedStacks(msgspec.Struct, frozen=True):
    """The saved stacks of a run by name: their certified sizes, and their files as read."""

    sizes: dict[str, str]
    files: dict[str, str]


def saved_stacks(plan: Plan, only: Sequence[str], stack: str | None, home: Path) -> SavedStacks:
    """Those stacks in use that are called by a saved name."""
    found = SavedStacks({}, {})
    for name in sorted(set(stacks_wanted(plan, only, stack).values())):
        saved = load_stack(name, home)
        if saved is not None:
            found.sizes[name] = str(saved[0].size)
            found.files[name] = saved[1]
    return found


def _with_last(found: SavedStacks, last: Setup) -> SavedStacks:
    """The stacks found now, and those that an earlier run recorded."""
    return SavedStacks(last.saved_stacks | found.sizes, last.stack_files | found.files)


def _setup(
    only: Sequence[str],
    stack: str | None,
    chosen: Chosen,
    port: Port,
    stacks: SavedStacks,
    temperatures: Temperatures,
) -> Setup:
    """The record of what a run measures with."""
    identity = port.identity
    name = chosen.gauge.name if chosen.gauge else identity.text
    return Setup(
        source=GaugeSource(name, identity.text, identity.serial, chosen.port),
        profile=chosen.profile.text,
        gauge_file=chosen.gauge.text if chosen.gauge else None,
        only=tuple(only),
        stack=stack,
        saved_stacks=stacks.sizes,
        temperatures=temperatures,
        local_offset=_local_offset(),
        stack_files=stacks.files,
    )


def _with_known(
    setup: Setup, past: History, step: Length | None, ground_to: tuple[str, ...]
) -> Setup:
    """A setup with what is known of the gauge from before, the step told, and what the part was
    ground to.
    """
    return msgspec.structs.replace(
        setup,
        study=kept_study(past),
        drift=kept_drift(past),
        step=None if step is None else str(step),
        ground_to=ground_to,
    )


def _step_again(last: Setup, gauge: str | None) -> Length | None:
    """The step told for the last run, unless another gauge is named now."""
    if last.step is None or gauge not in (None, last.source.gauge):
        return None
    return parse_length(last.step)


def _local_offset() -> str:
    offset = datetime.now(UTC).astimezone().strftime("%z")
    return f"{offset[:3]}:{offset[3:5]}"


def _keep_plan(folder: Path, text: str) -> None:
    """A copy of the plan for people; only the one in the ledger counts."""
    try:
        write_whole(folder / PLAN_COPY, text.encode("utf-8"))
        sync_folder(folder)
    except OSError as error:
        raise LedgerNotWritten(
            folder,
            f"{PLAN_COPY}: {error.strerror}. {what_helps(error)}, then carry on",
        ).then("resume", folder) from error


def plan_name_of(path: Path) -> str:
    """A plan file's name as the ledger keeps it, whatever bytes it has."""
    return os.fsencode(path.name).decode("utf-8", "backslashreplace")
