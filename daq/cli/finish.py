"""The end of a run: the result told."""

import json
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

from daq.board.shown_lengths import ShownIn
from daq.cli.command_said import say_command
from daq.cli.options import Context
from daq.cli.views.answer import answer, said_again
from daq.cli.views.ended import SessionEnd, ended
from daq.cli.views.paragraphs import PrintedLine, plain_lines
from daq.evaluation.verdict import ACCEPTED, OPEN
from daq.record.state import State
from drivers.printable import printable


def finish(context: Context, state: State, folder: Path) -> int:
    """Tell the result of a session whose tables are written; gives the exit code."""
    end = ended(state, shown_in(context))
    if context.as_json:
        document = {
            "session_id": state.opened.session,
            "verdict": end.verdict,
            "reasons": list(end.reasons),
            "folder": str(folder),
        }
        print(json.dumps(document, ensure_ascii=False), flush=True)
    else:
        count = say_answer(context, end)
        where = where_words(context, end.verdict, folder, is_study=end.is_study)
        print(where)
        if sys.stdout.isatty():
            size = shutil.get_terminal_size()
            count += where.count("\n") + 1
            _print(context, said_again(end, size.columns, count, size.lines))
    last_check_failed = bool(state.judged) and not state.judged[-1].event.passed
    is_open_well = end.verdict == OPEN and not last_check_failed
    return 0 if end.verdict == ACCEPTED or is_open_well else 1


def shown_in(context: Context) -> ShownIn | None:
    """The units that were asked for; None for the plan's own."""
    return ShownIn(context.show) if context.show else None


def say_answer(context: Context, end: SessionEnd) -> int:
    """Print what a session comes to, and give the number of lines."""
    lines = answer(end, shutil.get_terminal_size().columns, details=context.details)
    _print(context, lines)
    return len(lines)


def _print(context: Context, lines: Sequence[PrintedLine]) -> None:
    """With colour on a terminal alone."""
    if context.is_plain or not sys.stdout.isatty():
        for text in plain_lines(lines):
            print(text)
    else:
        _in_colour(lines)


def _in_colour(lines: Sequence[PrintedLine]) -> None:
    from rich.console import Console  # noqa: PLC0415 - only on a terminal
    from rich.text import Text  # noqa: PLC0415

    console = Console()
    for line in lines:
        text = Text(line.text)
        if line.style:
            text.stylize(line.style, line.start, line.end)
        console.print(text, soft_wrap=True)


def where_words(context: Context, verdict: str, folder: Path, *, is_study: bool = False) -> str:
    """Where the result lies and what to do next; a command stands on lines of its own."""
    where = printable(str(folder))
    if verdict == ACCEPTED and is_study:
        return f"Tables are in {where}\nNow run:\n{say_command(context, 'study', folder)}"
    if verdict == ACCEPTED:
        return f"Tables are in {where}"
    if verdict == OPEN:
        return f"The session stays open. To carry on:\n{say_command(context, 'resume', folder)}"
    return (
        f"No tables were written; the record is in {where}\n"
        "This writes them with this verdict in every row:\n"
        f"{say_command(context, 'export', folder, '--even-rejected')}"
    )
