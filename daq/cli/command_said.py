"""A command to be typed next, printed so that no terminal breaks it inside a word."""

import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

from daq.cli.options import Context
from daq.services.folders import session_command
from daq.services.home import home_folder
from drivers.printable import printable

INDENT = "  "
GOES_ON = " \\"
"""What a shell reads as: the command goes on in the next line."""


def say_command(context: Context, verb: str, folder: Path, *options: str) -> str:
    """The command that does `verb` on a session, on lines of its own, for whoever reads stdout or
    stderr.
    """
    words = session_command(verb, folder, home_folder(context.home), context.home)
    is_seen = sys.stdout.isatty() or sys.stderr.isatty()
    return command_lines(
        [*words, *options], shutil.get_terminal_size().columns if is_seen else None
    )


def command_lines(words: Sequence[str], width: int | None) -> str:
    """A command as lines of at most `width` characters (None: one line), broken between words only,
    as a shell takes it. A word that is wider than that stands on a line of its own. Pure.
    """
    lines, line = [], f"{INDENT}{printable(words[0])}"
    for word in map(printable, words[1:]):
        longer = f"{line} {word}"
        if width is not None and len(longer) + len(GOES_ON) > width and line.strip():
            lines.append(line + GOES_ON)
            longer = f"{INDENT}{INDENT}{word}"
        line = longer
    return "\n".join([*lines, line])
