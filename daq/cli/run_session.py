"""What `measure`, `resume` and `demo` share: the run itself, shown, and its end told."""

import os
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from typing import TYPE_CHECKING

from daq.acquisition.inputs import InputSource, TakingMode, is_attended
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.acquisition.signals import put_off
from daq.acquisition.sources import Sources
from daq.acquisition.typed_port import TypedPort, shared
from daq.board.shown_lengths import ShownIn
from daq.cli.ask_despite_history import ask_why
from daq.cli.ask_first import asked_first
from daq.cli.besides import Besides, Shows, with_links
from daq.cli.displays import JsonShow, LiveShow, PlainShow, RunShow
from daq.cli.finish import finish, where_words
from daq.cli.for_readers import for_readers
from daq.cli.line_editor import StdinLines, TerminalKeys, lines_if_any
from daq.cli.options import Context
from daq.cli.views.answer import answer_sentences
from daq.cli.views.ended import ended
from daq.errors import LedgerNotWritten, SettingsError
from daq.evaluation.verdict import OPEN
from daq.record.state import State
from daq.services.finish import write_tables
from daq.services.home import home_folder
from daq.services.opening import Around, OpenRun, given_back, start_notes
from daq.services.run_wanted import Attendance, BesideWanted
from drivers.errors import PortError

if TYPE_CHECKING:
    from daq.pictures.layout import CrankLayout


def around(context: Context, beside: BesideWanted | None = None) -> Around:
    """Where a command opens a run from."""
    there = attendance()._replace(has_page=beside is not None and beside.has_page)
    return Around(home_folder(context.home), there, tell, ask_why)


def tell(text: str) -> None:
    """One thing that is worth knowing, on stderr."""
    print(for_readers(f"Note: {text}.", sys.stderr), file=sys.stderr)


def attendance() -> Attendance:
    """Who is at this program's stdin."""
    is_open = sys.stdin is not None and not sys.stdin.closed
    return Attendance(is_open and _is_somebody(), is_open and sys.stdin.isatty())


def _is_somebody() -> bool:
    """stdin is not the device that says nothing."""
    try:
        given, nothing = os.fstat(sys.stdin.fileno()), os.stat(os.devnull)
    except (OSError, ValueError):
        return False
    return (given.st_dev, given.st_ino) != (nothing.st_dev, nothing.st_ino)


def show_for(context: Context) -> PlainShow | LiveShow:
    """The display that options and terminal ask for."""
    if context.as_json:
        return JsonShow()
    if context.is_plain or not _can_draw():
        return PlainShow()
    return LiveShow(ShownIn(context.show) if context.show else None)


def _can_draw() -> bool:
    """The terminal can put text where it is wanted."""
    return os.environ.get("TERM") != "dumb"


def _keyboard(show: RunShow, mode: TakingMode) -> TerminalKeys | StdinLines | None:
    if isinstance(show, LiveShow) and sys.stdin is not None and sys.stdin.isatty():
        return TerminalKeys(show.typing, space_sends=mode.has_trigger)
    return lines_if_any()


def run_session(
    context: Context,
    run: OpenRun,
    *,
    show: RunShow | None = None,
    beside: Besides | None = None,
    is_unattended: bool = False,
) -> int:
    """Run to the end, write the tables, tell the result; gives the exit code. `beside`: where else
    it is shown.
    """
    manager = run.manager
    are_tables_due = True

    def is_finishing() -> bool:
        return are_tables_due and manager.state.closed is not None

    with given_back(run, tell), put_off(is_finishing) as later:
        show = show or show_for(context)
        try:
            try:
                beside = beside or Besides()
                beside.announce()
                notes = start_notes(run)
                for text in notes:
                    tell(text)
                if isinstance(show, LiveShow):
                    show.noted(notes)
                    show.show_links(beside.links)
                later.has_come |= _listen(run, show, beside, is_unattended=is_unattended)
            except BaseException:
                # Once it is closed nothing keeps it from its tables, whatever ended the run.
                if manager.state.closed is not None:
                    write_tables(manager)
                manager.confirm()  # nothing is said of a ledger that is not there any more
                raise
            write_tables(manager)
            are_tables_due = False
            if manager.state.closed is not None:
                later.raise_if_any()
            return finish(context, manager.state, manager.folder)
        except OSError as error:
            gone = "nobody reads this program's output any more"
            if not isinstance(error, BrokenPipeError):
                gone = f"this program's output could not be written: {error.strerror}"
            raise LedgerNotWritten(
                manager.folder, f"{gone}. Nothing acknowledged is lost"
            ) from error
        except (KeyboardInterrupt, PortError, LedgerNotWritten, SettingsError) as error:
            closed = manager.state.closed
            if closed is not None:
                is_study = manager.state.plan.study is not None
                _talk(where_words(context, closed.verdict, manager.folder, is_study=is_study))
            elif not isinstance(error, LedgerNotWritten) or error.is_known:
                _talk(where_words(context, OPEN, manager.folder))
            raise


def _layout(run: OpenRun) -> "CrankLayout":
    from daq.pictures.layout import layout_of  # noqa: PLC0415 - only for a page

    return layout_of(run.manager.state.scope.journals.values())


def _talk(text: str) -> None:
    print(text, file=sys.stderr)


def _answer(state: State) -> Sequence[str]:
    """What the session came to, in sentences; none while it is open."""
    return answer_sentences(ended(state)) if state.closed is not None else ()


def _listen(run: OpenRun, show: RunShow, beside: Besides, *, is_unattended: bool) -> bool:
    """The run; gives whether a signal came that it was too late to hear."""
    with ExitStack() as at_the_runs_end:
        keyboard = None if is_unattended else _keyboard(show, run.mode)
        source: InputSource | None = keyboard
        if isinstance(keyboard, TerminalKeys) and isinstance(show, LiveShow):
            source = asked_first(keyboard, show)
            if beside.links is not None:
                source = with_links(source, show, beside.links)
        if keyboard is not None and source is not None:
            at_the_runs_end.callback(keyboard.stop)
            if isinstance(run.port, TypedPort) and not run.chosen.is_by_hand:
                source = shared(source, run.port)
        if run.mode.send_key is not None:
            at_the_runs_end.callback(run.mode.send_key.stop)
        at_the_runs_end.callback(show.end)
        beside.tell.on(show)
        at_the_runs_end.callback(lambda: beside.tell.on(None))
        profile, clock = run.chosen.profile, run.clock
        inputs = Sources(run.port, profile, clock, source, run.mode, page=beside.presses)
        owner = SessionRun(
            run.manager,
            run.first,
            clock,
            Shows((*beside.shows, show)),
            is_attended=is_attended(run.mode, has_keyboard=source is not None),
            press=run.mode.press,
            can_send=run.mode.has_trigger,
        )
        beside.start(lambda: _layout(run))
        at_the_runs_end.callback(lambda: beside.end(owner.board, lambda: _answer(owner.state)))
        RunLoop(inputs, owner, clock, run.mode, profile.kind).run()
        return inputs.is_interrupted
