"""The program: which commands there are, and errors turned into exit codes, in one place.

Each command's module is imported only when it runs, so that `--help` and `--version` stay quick.
"""

import _thread
import errno
import importlib
import signal
import sys
import threading
import time
from collections.abc import Sequence
from types import CodeType, FrameType
from typing import Any, NoReturn

import click

from daq.acquisition.signals import AT_ONCE_S, ending
from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options
from daq.cli.shortened import shortened
from daq.cli.streams import flush_result, give_up_stdout, make_fit
from daq.version import __version__
from drivers.printable import printable

COMMANDS = {
    "budget": "The uncertainty of a journal's diameter, as a table to follow.",
    "completion": "Print what lets a shell complete commands, sessions and names.",
    "demo": "The whole job on a virtual gauge over a real port, no hardware needed.",
    "doctor": "Look over this machine: is it fit for a session, and what to mend.",
    "export": "Write the tables of a session again.",
    "guide": "Read the guide: sessions, plans, gauges, what to do when something goes wrong.",
    "history": "A gauge's checks over time: is it in control, does it drift, when is it due.",
    "listen": "Show what a gauge sends, decoded or explained.",
    "measure": "Measure a part by a plan: check, route, check, tables.",
    "plan": "Make a plan by asking; look into one: what looks wrong in print; a page to print.",
    "ports": "List what may be a gauge, and whether it can be used.",
    "profile": "Look into profiles: schema, and what is wrong in one.",
    "prove": "Check a gauge on a stack outside any session, for its history.",
    "resume": "Carry on an open session.",
    "sessions": "List the sessions of this home: open ones first.",
    "sheet": "Make one page for the customer: what was found, and how it is proven.",
    "simulate": "Play a gauge on a virtual port, for trying things out.",
    "stack": "Compose a stack of gauge blocks for a size.",
    "study": "Evaluate a gauge study: repeatability and operators.",
    "teach": "Learn how a gauge talks from a few presses of its send button.",
    "udev": "Print rules for the attached gauges, and how to install them.",
    "verify": "Prove that a session is what its record says.",
}

DONE, ANSWER_NO, BAD_INPUT, NO_PORT, MACHINE_FAILED, INTERRUPTED = 0, 1, 2, 3, 4, 130


class _Lazy(click.Group):
    """A group whose commands are modules of `daq.cli.commands`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"daq.cli.commands.{cmd_name}")
        command = module.command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=_Lazy,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="\b\nExample: jbridge measure plan.toml --port /dev/ttyUSB0 --profile number-unit-crlf",
)
@click.version_option(__version__, prog_name="jbridge")
@common_options
def cli(context: Context) -> None:
    """Crankshaft journals measured by pressing send: gauge proven, readings kept, tables clean."""


def main() -> NoReturn:
    """Run the program; exits with the code of the contract."""
    make_fit()
    numbers = [*ending()]
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        numbers.append(signal.SIGINT)
    end = _Ending()
    sys.unraisablehook = end.not_raised
    try:
        for number in numbers:
            signal.signal(number, end.handle)
        code = run(sys.argv[1:])
    except KeyboardInterrupt:  # before anything was begun, or while the first was being told
        code = INTERRUPTED
    lost = flush_result()
    if lost is not None and code == DONE and not isinstance(lost, BrokenPipeError):
        _say(f"the result could not be written: {lost.strerror}.")
        code = MACHINE_FAILED
    for number in numbers:  # the rest is the interpreter's own end, which nothing may tear
        signal.signal(number, signal.SIG_IGN)
    sys.exit(code)


AGAIN_S = 0.005
"""After a request to end that nothing could be raised from: by then its destructor is over."""


class _Ending:
    """The request to end: KeyboardInterrupt, once for all that come within AT_ONCE_S."""

    def __init__(self) -> None:
        self._last_s = -AT_ONCE_S

    def handle(self, number: int, frame: object) -> None:
        """For signal.signal."""
        if _is_within(frame, _Ending.not_raised.__code__):
            _interrupt_soon()  # from there nothing can be raised either
            return
        now_s = time.monotonic()
        if now_s - self._last_s >= AT_ONCE_S:
            self._last_s = now_s
            raise KeyboardInterrupt

    def not_raised(self, unraised: "sys.UnraisableHookArgs") -> None:
        """For sys.unraisablehook: a request that came inside a destructor or a callback, from which
        nothing can be raised, is made again as soon as that is over.
        """
        if issubclass(unraised.exc_type, KeyboardInterrupt):
            self._last_s = -AT_ONCE_S
            _interrupt_soon()
        else:
            sys.__unraisablehook__(unraised)


def _is_within(frame: object, code: CodeType) -> bool:
    """This code is being run: by this frame, or by one that called it."""
    while isinstance(frame, FrameType):
        if frame.f_code is code:
            return True
        frame = frame.f_back
    return False


def _interrupt_soon() -> None:
    # A Timer would wait here until it has started, and on a busy machine it has fired by then.
    _thread.start_new_thread(_interrupt_main, ())


def _interrupt_main() -> None:
    """After AGAIN_S, SIGINT for the main thread from another one; where the system can, it ends its
    sleep.
    """
    time.sleep(AGAIN_S)
    kill = getattr(signal, "pthread_kill", None)
    ident = threading.main_thread().ident
    if kill is None or ident is None:
        _thread.interrupt_main()
    else:
        kill(ident, signal.SIGINT)


def run(arguments: list[str]) -> int:
    """The exit code of one call; errors are told on stderr."""
    is_debug, said = "--debug" in arguments, Context()
    try:
        result: Any = cli.main(arguments, "jbridge", standalone_mode=False, obj=said)
    except SystemExit:  # click's way to say that whoever read our output has gone
        return DONE
    except (click.exceptions.Abort, KeyboardInterrupt):  # click turns the one into the other
        _say("interrupted.")
        return INTERRUPTED
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        return BAD_INPUT
    except click.ClickException as error:
        context = getattr(error, "ctx", None)
        where = context.command_path if context is not None else "jbridge"
        words = error.format_message().rstrip(".")
        ending = "" if words.endswith("?") else "."
        _say(f"{words}{ending} See {where} --help.", arguments)
        return BAD_INPUT
    except BrokenPipeError:
        # Whoever read our output has gone: say nothing, and leave Python's exit nothing to flush.
        give_up_stdout()
        return DONE
    except Exception as error:
        if _came_of_interrupt(error):
            _say("interrupted.")
            return INTERRUPTED
        code = _code_of(error)
        if code is None or is_debug:
            raise
        _say(_words(error, said), arguments)
        return code
    return result if isinstance(result, int) else DONE


def _came_of_interrupt(error: BaseException) -> bool:
    """A request to end that was made another error on its way: Python up to 3.11 wraps what comes
    out of `__set_name__`, which runs for each member of each Enum while modules are loaded.
    """
    cause = error.__cause__
    return cause is not None and (isinstance(cause, KeyboardInterrupt) or _came_of_interrupt(cause))


def _words(error: Exception, context: Context) -> str:
    """An error as it is told: a command to type next stands on lines of its own."""
    from daq.cli.command_said import say_command  # noqa: PLC0415 - only after an error
    from daq.errors import DaqError  # noqa: PLC0415

    if not isinstance(error, DaqError) or error.command is None:
        return str(error)
    return f"{error.words}:\n{say_command(context, *error.command)}"


def _code_of(error: Exception) -> int | None:
    """The contract's exit code: the error's own class says it; None for a bug, which crashes
    loudly.
    """
    code = getattr(error, "exit_code", None)
    if isinstance(code, int):
        return code
    if isinstance(error, OSError):
        return BAD_INPUT if error.errno == errno.ENAMETOOLONG else MACHINE_FAILED
    return None


def _say(text: str, arguments: Sequence[str] = ()) -> None:
    """One short paragraph on stderr, free of control characters and of overlong arguments."""
    words = f"jbridge: {printable(shortened(text, arguments), keep=chr(10))}"
    print(for_readers(words, sys.stderr), file=sys.stderr)
