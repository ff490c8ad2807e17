"""Lines for whoever reads them: broken between words on a terminal, whole in a file or a pipe.

A terminal breaks a line that is too long wherever it ends, inside a word or a number.
"""

import shutil
import textwrap
from typing import TextIO

HANGING = "  "
LEAST_WIDTH = 20


def for_readers(text: str, stream: TextIO) -> str:
    """A text of one line or several as it goes to this stream."""
    if not stream.isatty():
        return text
    return folded(text, max(shutil.get_terminal_size().columns, LEAST_WIDTH))


def folded(text: str, width: int) -> str:
    """Every line of a text in lines of at most `width` columns, those that go on indented by two
    more. A word that is wider, a path say, stays whole: it can be copied. Pure.
    """
    lines: list[str] = []
    for line in text.split("\n"):
        indent = line[: len(line) - len(line.lstrip(" "))]
        lines += textwrap.wrap(
            line,
            width,
            subsequent_indent=indent + HANGING,
            expand_tabs=False,
            replace_whitespace=False,
            break_long_words=False,
            break_on_hyphens=False,
        ) or [""]
    return "\n".join(lines)
