"""What `measure`, `resume` and `demo` share: find the gauge, run the session, write the tables."""

import json
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import click
import msgspec

from daq.cli.keyboard import StdinLines, TerminalKeys, lines_if_any
from daq.cli.options import Context
from daq.cli.shows import JsonShow, LiveShow, PlainShow, RunShow
from daq.cli.triggers import trigger_words
from daq.cli.typed_port import TypedPort, check_name, shared
from daq.cli.views import journal_table, summary_lines
from daq.doubts import ZERO_FLAGS
from daq.errors import LedgerNotWritten, SettingsError
from daq.events import Setup, Source, Temperatures
from daq.export.csv_files import table_files, write_files
from daq.export.tables import at_20c_is_known, tables
from daq.gauge_file import Gauge, parse_gauge
from daq.job import Job, coarse_fault, stacks_wanted
from daq.manager import SessionManager, Step
from daq.plan import Plan
from daq.runner import Runner
from daq.settings import load_gauge, load_profile, saved_stack
from daq.taking import Source as Keys
from daq.taking import Taking
from daq.terms import MM_PER, to_mm
from daq.verdict import ACCEPTED, OPEN, journals, reasons
from daq.verifier import too_coarse
from drivers.clock import Clock
from drivers.errors import PortError
from drivers.ports.base import Port
from drivers.profile import Profile
from drivers.profile_file import parse_profile


class Chosen(msgspec.Struct, frozen=True):
    """The gauge of a run: where it is, how it talks, and its file if the shop keeps one."""

    port: str
    profile: Profile
    gauge: Gauge | None


def choose(port: str | None, profile: str | None, gauge: str | None, home: Path) -> Chosen:
    """The gauge that the options name; raises UsageError, SettingsError or ProfileError."""
    if gauge is not None:
        file = load_gauge(gauge, home)
        url = port or file.port or _find(file)
        check_name(url)
        return Chosen(url, load_profile(profile or file.profile, home), file)
    if port is None or profile is None:
        missing = "--port" if port is None else "--profile"
        raise click.UsageError(
            f"{missing} is missing: say --gauge NAME, or --port URL and --profile NAME."
        )
    check_name(port)
    return Chosen(port, load_profile(profile, home), None)


def choose_again(
    last: Setup, port: str | None, profile: str | None, gauge: str | None, home: Path
) -> Chosen:
    """The gauge of a resume: what the options name, else what the ledger recorded."""
    if gauge is not None:
        return choose(port, profile, gauge, home)
    file = None
    if last.gauge_file is not None:
        file = parse_gauge(last.gauge_file, last.source.gauge, "the gauge file in the ledger")
    url = port or _found_again(last) or last.source.port
    check_name(url)
    if profile is not None:
        return Chosen(url, load_profile(profile, home), file)
    return Chosen(url, parse_profile(last.profile, "the profile in the ledger"), file)


def _found_again(last: Setup) -> str | None:
    """Where the last run's device is now, if it is one that is known by number or socket."""
    if not last.source.device.startswith("usb:"):
        return None
    from drivers.discovery import port_of  # noqa: PLC0415 - scans the machine

    return port_of(last.source.device)


def refuse_other(chosen: Chosen, port: Port) -> None:
    """Raises SettingsError if the port shows another device than the gauge file names."""
    gauge = chosen.gauge
    if gauge is not None and gauge.identity not in (None, port.identity.text):
        raise SettingsError(
            f"The device on {port.name} is {port.identity.text}, the gauge file of {gauge.name} "
            f"says {gauge.identity}. Plug that gauge in, or correct the file."
        )


def keep_plan(folder: Path, text: str) -> None:
    """A copy of the plan for people; only the one in the ledger counts."""
    try:
        (folder / "plan.toml").write_bytes(text.encode("utf-8"))
    except OSError as error:
        raise LedgerNotWritten(folder, f"plan.toml: {error.strerror}") from error


def _find(file: Gauge) -> str:
    from drivers.discovery import port_of  # noqa: PLC0415 - scans the machine

    found = port_of(file.identity or "")
    if found is None:
        raise SettingsError(
            f"The gauge {file.name} ({file.identity}) is not plugged in. Plug it in, or give "
            "--port."
        )
    return found


def setup_of(
    chosen: Chosen,
    port: Port,
    only: Sequence[str],
    stack: str | None,
    stacks: dict[str, str],
    temperatures: Temperatures,
) -> Setup:
    """The record of what a run measures with."""
    identity = port.identity
    name = chosen.gauge.name if chosen.gauge else identity.text
    return Setup(
        source=Source(name, identity.text, identity.serial, chosen.port),
        profile=chosen.profile.text,
        gauge_file=chosen.gauge.text if chosen.gauge else None,
        only=tuple(only),
        stack=stack,
        saved_stacks=stacks,
        temperatures=temperatures,
        local_offset=_local_offset(),
    )


def _local_offset() -> str:
    offset = datetime.now(UTC).astimezone().strftime("%z")
    return f"{offset[:3]}:{offset[3:5]}"


def saved_stacks(plan: Plan, only: Sequence[str], stack: str | None, home: Path) -> dict[str, str]:
    """The sizes of those stacks in use that are called by a saved name."""
    found = {}
    for name in set(stacks_wanted(plan, only, stack).values()):
        size = saved_stack(name, home)
        if size is not None:
            found[name] = size
    return found


def check_gauge(job: Job, chosen: Chosen) -> None:
    """Refuse a gauge that cannot do this job; raises SettingsError."""
    profile, gauge = chosen.profile, chosen.gauge
    wrong = [unit or "no unit" for unit in profile.units() if unit not in MM_PER]
    if wrong:
        raise SettingsError(
            f"Profile {profile.id} gives readings in {', '.join(wrong)}: lengths in mm, um or in "
            "are needed. Set value.unit in the profile."
        )
    faults = []
    if gauge is not None and gauge.resolution is not None:
        faults.append(coarse_fault(job, gauge.resolution.mm))
    else:
        for unit in profile.units():
            step = profile.resolution_in(unit)
            faults.append(coarse_fault(job, to_mm(step, unit)) if step else None)
        if None in faults:
            faults = []  # in one of its units it is fine enough; the first readings tell which
    if gauge is not None and gauge.permitted_error is not None:
        faults.append(
            too_coarse("its permitted error of", gauge.permitted_error.mm, job.tolerance_mm)
        )
    for fault in filter(None, faults):
        raise SettingsError(f"This gauge cannot judge this part: {fault}. Use a finer gauge.")


def cannot_be_seen(chosen: Chosen, port: Port) -> list[str]:
    """What this link does not show, said once at the start."""
    profile, gauge = chosen.profile, chosen.gauge
    said = []
    if isinstance(port, TypedPort):
        said.append(
            "what is typed while another window is in front is not seen here; each reading is "
            "marked as typed"
        )
    if port.identity.serial is None and not profile.has_channel():
        said.append("this link shows no serial number: if you swap the gauge, type zeroed")
    if not profile.statuses() & ZERO_FLAGS:
        said.append("this gauge does not say when it is re-zeroed: if you zero it, type zeroed")
    if profile.check is None:
        said.append(
            "its frames carry no check character: a flipped digit inside the limits goes unseen"
        )
    if not profile.repeat_window_ms:
        said.append("the profile has no repeat window: a held button is not noticed")
    if gauge is None or gauge.permitted_error is None:
        said.append("the permitted error of the gauge is not known: no gauge file states it")
    if gauge is not None and gauge.due is not None and gauge.due < datetime.now(UTC).date():
        said.append(f"the gauge's certificate was due on {gauge.due}")
    return said


def temperatures_of(part: str | None, gauge: str | None, stack: str | None) -> Temperatures:
    """The temperatures given, as decimal text; raises BadParameter outside 5 to 40 degrees."""
    return Temperatures(
        _degrees(part, "--part-temp"),
        _degrees(gauge, "--gauge-temp"),
        _degrees(stack, "--stack-temp"),
    )


def _degrees(text: str | None, option: str) -> str:
    if text is None:
        return ""
    whole, _, part = text.strip().removeprefix("+").partition(".")
    if not (whole.isdecimal() and whole.isascii() and (not part or part.isdecimal())):
        raise click.BadParameter(f"{text!r} is not a number of degrees Celsius", param_hint=option)
    if not Decimal(5) <= Decimal(f"{whole}.{part or '0'}") <= Decimal(40):
        raise click.BadParameter(
            f"{text} degrees Celsius is outside 5 to 40; nobody measures there", param_hint=option
        )
    return f"{whole}.{part}" if part else whole


def show_for(context: Context) -> PlainShow | LiveShow:
    """The display that options and terminal ask for."""
    if context.as_json:
        return JsonShow()
    return PlainShow() if context.is_plain else LiveShow()


def _keyboard(show: RunShow, taking: Taking) -> TerminalKeys | StdinLines | None:
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
    taking: Taking | None = None,
    *,
    show: RunShow | None = None,
    is_unattended: bool = False,
) -> int:
    """Run to the end, write the tables, tell the result; gives the exit code."""
    taking = taking or Taking()
    with ExitStack() as at_the_end:
        at_the_end.callback(manager.close)
        at_the_end.callback(port.close)
        show = show or show_for(context)
        try:
            for text in (*trigger_words(taking), *cannot_be_seen(chosen, port)):
                print(f"Note: {text}.", file=sys.stderr)
            with ExitStack() as at_the_runs_end:
                keyboard = None if is_unattended else _keyboard(show, taking)
                source: Keys | None = keyboard
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


def finish(context: Context, manager: SessionManager) -> int:
    """Write the tables of an accepted session and tell the result."""
    state, folder = manager.state, manager.folder
    verdict = state.closed.verdict if state.closed else OPEN
    if verdict == ACCEPTED:
        files = table_files(tables(state), state.opened.session, verdict, manager.chain)
        write_files(folder, files)
    why = list(state.closed.reasons) if state.closed else reasons(state, OPEN)
    remarks = []
    if not all(at_20c_is_known(state, taken) for taken in state.standing.values()):
        remarks.append(
            "diameter_20c_mm is empty: temperatures other than 20 degrees are recorded, and this "
            "version does not correct for them"
        )
    results = state.closed.journals if state.closed else journals(state)
    if context.as_json:
        document = {
            "session_id": state.opened.session,
            "verdict": verdict,
            "reasons": why + remarks,
            "folder": str(folder),
        }
        print(json.dumps(document, ensure_ascii=False), flush=True)
    elif context.is_plain or not sys.stdout.isatty():
        lines = summary_lines(state.opened.session, verdict, why, results, remarks)
        print("\n".join(lines))
        print(where_words(verdict, folder))
    else:
        from rich.console import Console  # noqa: PLC0415 - only on a terminal

        console = Console()
        for line in summary_lines(state.opened.session, verdict, why, (), remarks):
            console.print(line, markup=False, highlight=False)
        console.print(journal_table(results))
        console.print(where_words(verdict, folder), markup=False, highlight=False, soft_wrap=True)
    last_check_failed = bool(state.judged) and not state.judged[-1].event.passed
    return 0 if verdict == ACCEPTED or (verdict == OPEN and not last_check_failed) else 1


def where_words(verdict: str, folder: Path) -> str:
    """Where the result lies and what to do next."""
    if verdict == ACCEPTED:
        return f"Tables are in {folder}"
    if verdict == OPEN:
        return f"The session stays open: jbridge resume {folder}"
    return (
        f"No tables were written; the ledger is in {folder} "
        "(jbridge export --even-rejected writes them with this verdict)"
    )
