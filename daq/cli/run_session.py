"""What `measure`, `resume` and `demo` share: the record of a run, and the run itself."""

import re
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import click
import msgspec

from daq.acquisition.inputs import InputSource, TakingMode
from daq.acquisition.manager import SessionManager, Step
from daq.acquisition.session_run import Runner
from daq.acquisition.typed_port import TypedPort, shared
from daq.cli.ask_despite_history import keep_checks
from daq.cli.displays import JsonShow, LiveShow, PlainShow, RunShow
from daq.cli.finish import finish, where_words
from daq.cli.line_editor import StdinLines, TerminalKeys, lines_if_any
from daq.cli.options import Context
from daq.errors import LedgerNotWritten
from daq.evaluation.temperature_notes import temperature_notes
from daq.evaluation.verdict import OPEN
from daq.plan.plan import Plan
from daq.plan.review import findings
from daq.plan.scope import stacks_wanted
from daq.record.events import GaugeSource, Repeatability, Setup, Temperatures
from daq.record.state import State
from daq.services.choose import Chosen, cannot_be_seen
from daq.services.home import load_stack
from daq.services.taking import trigger_words
from drivers.clock import Clock
from drivers.errors import PortError
from drivers.ports.base import Port


def keep_plan(folder: Path, text: str) -> None:
    """A copy of the plan for people; only the one in the ledger counts."""
    try:
        (folder / "plan.toml").write_bytes(text.encode("utf-8"))
    except OSError as error:
        raise LedgerNotWritten(folder, f"plan.toml: {error.strerror}") from error


class Stacks(msgspec.Struct, frozen=True):
    """The saved stacks of a run by name: their certified sizes, and their files as read."""

    sizes: dict[str, str]
    files: dict[str, str]


def saved_stacks(plan: Plan, only: Sequence[str], stack: str | None, home: Path) -> Stacks:
    """Those stacks in use that are called by a saved name."""
    found = Stacks({}, {})
    for name in sorted(set(stacks_wanted(plan, only, stack).values())):
        saved = load_stack(name, home)
        if saved is not None:
            found.sizes[name] = str(saved[0].size)
            found.files[name] = saved[1]
    return found


def with_last(found: Stacks, last: Setup) -> Stacks:
    """The stacks found now, and those that an earlier run recorded."""
    return Stacks(last.saved_stacks | found.sizes, last.stack_files | found.files)


def setup_of(
    chosen: Chosen,
    port: Port,
    only: Sequence[str],
    stack: str | None,
    stacks: Stacks,
    temperatures: Temperatures,
    study: Repeatability | None,
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
        study=study,
    )


def _local_offset() -> str:
    offset = datetime.now(UTC).astimezone().strftime("%z")
    return f"{offset[:3]}:{offset[3:5]}"


def temperatures_of(part: str | None, gauge: str | None, stack: str | None) -> Temperatures:
    """The temperatures given, as decimal text; raises BadParameter outside 5 to 40 degrees."""
    return Temperatures(
        _degrees(part, "--part-temp"),
        _degrees(gauge, "--gauge-temp"),
        _degrees(stack, "--stack-temp"),
    )


_DEGREES = re.compile(r"\+?(-?\d{1,3}(?:\.\d{1,6})?)", re.ASCII)


def _degrees(text: str | None, option: str) -> str:
    if text is None:
        return ""
    found = _DEGREES.fullmatch(text.strip())
    if found is None:
        raise click.BadParameter(
            f"{text[:40]!r} is not a number of degrees Celsius with at most six decimals",
            param_hint=option,
        )
    if not Decimal(5) <= Decimal(found[1]) <= Decimal(40):
        raise click.BadParameter(
            f"{found[1]} degrees Celsius is outside 5 to 40; nobody measures there",
            param_hint=option,
        )
    return found[1]


def _certificates(state: State) -> list[str]:
    """What is wrong with the certificates of the stacks in use, by today's date."""
    today = datetime.now(UTC).date()
    found = []
    for name, stack in state.surroundings[-1].stacks.items():
        if name not in state.scope.sizes:
            continue
        if stack.is_out_of_date(today):
            found.append(
                f"the certificate of the stack {name} was due on {stack.certificate_due}: it is "
                "judged by the limits of its grade, which are wider"
            )
    return found


def show_for(context: Context) -> PlainShow | LiveShow:
    """The display that options and terminal ask for."""
    if context.as_json:
        return JsonShow()
    return PlainShow() if context.is_plain else LiveShow()


def _keyboard(show: RunShow, taking: TakingMode) -> TerminalKeys | StdinLines | None:
    if isinstance(show, LiveShow) and sys.stdin is not None and sys.stdin.isatty():
        return TerminalKeys(show.typing, space_sends=taking.has_trigger)
    return lines_if_any()


def run_session(
    context: Context,
    manager: SessionManager,
    first: Step,
    port: Port,
    chosen: Chosen,
    clock: Clock,
    taking: TakingMode | None = None,
    *,
    show: RunShow | None = None,
    is_unattended: bool = False,
    home: Path | None = None,
) -> int:
    """Run to the end, write the tables, tell the result; gives the exit code. The checks go to the
    gauge's history below `home`.
    """
    taking = taking or TakingMode()
    with ExitStack() as at_the_end:
        at_the_end.callback(manager.close)
        at_the_end.callback(port.close)
        if home is not None:
            at_the_end.callback(lambda: keep_checks(manager.state, home))
        show = show or show_for(context)
        try:
            hidden = (
                *cannot_be_seen(chosen, port),
                *temperature_notes(manager.state),
                *_certificates(manager.state),
                *(f"{doubt.key}: {doubt.words}" for doubt in findings(manager.state.plan)),
            )
            for text in (*trigger_words(taking), *hidden):
                print(f"Note: {text}.", file=sys.stderr)
            with ExitStack() as at_the_runs_end:
                keyboard = None if is_unattended else _keyboard(show, taking)
                source: InputSource | None = keyboard
                if keyboard is not None:
                    at_the_runs_end.callback(keyboard.stop)
                    if isinstance(port, TypedPort):
                        source = shared(keyboard, port)
                if taking.send_key is not None:
                    at_the_runs_end.callback(taking.send_key.stop)
                at_the_runs_end.callback(show.end)
                Runner(manager, port, chosen.profile, clock, source, show, taking).run(first)
            return finish(context, manager)
        except BrokenPipeError as error:
            raise LedgerNotWritten(
                manager.folder, "whoever read this program's output has gone; the ledger is whole"
            ) from error
        except (KeyboardInterrupt, PortError, LedgerNotWritten):
            if manager.state.closed is None:
                print(where_words(OPEN, manager.folder), file=sys.stderr)
            raise
