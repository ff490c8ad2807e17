"""The end of a run: the result told."""

import json
import sys
from pathlib import Path

from daq.cli.command_said import say_command
from daq.cli.options import Context
from daq.cli.views.session import group_lines, journal_table, summary_lines, undecided_lines
from daq.evaluation.verdict import ACCEPTED, OPEN, groups, judged, reasons
from daq.record.state import State
from drivers.printable import printable


def finish(context: Context, state: State, folder: Path) -> int:
    """Tell the result of a session whose tables are written; gives the exit code."""
    verdict = state.closed.verdict if state.closed else OPEN
    if state.closed:
        why, results, steps = list(state.closed.reasons), state.closed.journals, state.closed.groups
    else:
        found = judged(state)
        why = reasons(state, OPEN, (), found)
        results, steps = tuple(each.result for each in found), groups(state, found)
    if context.as_json:
        document = {
            "session_id": state.opened.session,
            "verdict": verdict,
            "reasons": why,
            "folder": str(folder),
        }
        print(json.dumps(document, ensure_ascii=False), flush=True)
    elif context.is_plain or not sys.stdout.isatty():
        lines = summary_lines(state.opened.session, verdict, why, results)
        print("\n".join([*lines, *group_lines(steps)]))
        print(where_words(context, verdict, folder))
    else:
        from rich.console import Console  # noqa: PLC0415 - only on a terminal

        console = Console()
        for line in summary_lines(state.opened.session, verdict, why, ()):
            console.print(line, markup=False, highlight=False)
        console.print(journal_table(results))
        for line in [*undecided_lines(results), *group_lines(steps)]:
            console.print(line, markup=False, highlight=False)
        print(where_words(context, verdict, folder))
    last_check_failed = bool(state.judged) and not state.judged[-1].event.passed
    return 0 if verdict == ACCEPTED or (verdict == OPEN and not last_check_failed) else 1


def where_words(context: Context, verdict: str, folder: Path) -> str:
    """Where the result lies and what to do next; a command stands on lines of its own."""
    where = printable(str(folder))
    if verdict == ACCEPTED:
        return f"Tables are in {where}"
    if verdict == OPEN:
        return f"The session stays open. To carry on:\n{say_command(context, 'resume', folder)}"
    return (
        f"No tables were written; the record is in {where}\nThis writes them with this "
        "verdict in every "
        f"row:\n{say_command(context, 'export', folder, '--even-rejected')}"
    )
