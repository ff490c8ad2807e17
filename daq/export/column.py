"""What a column of a table is. Pure."""

from enum import Enum

import msgspec

SEPARATOR = ";"
"""Between the elements of a list."""


class ColumnKind(Enum):
    """What a column holds; empty always means not known or not applicable."""

    TEXT = "text"
    LENGTH = "length"  # exact decimal
    WHOLE = "whole"
    TIME = "time"  # UTC with Z
    DATE = "date"
    TRUTH = "truth"  # true or false
    HEX = "hex"
    DIGEST = "digest"  # a SHA-256 in hexadecimal digits
    HEX_TEXT = "hex-text"  # bytes that CSV shows as a text: no reader takes it for a number or date
    FLAGS = "flags"  # words of the profile joined by ;
    LIST = "list"  # texts joined by ;
    NUMBER = "number"  # a plain decimal that is no length
    OFFSET = "offset"  # +HH:MM or -HH:MM; made here, so it needs no guard


class Column(msgspec.Struct, frozen=True):
    """One column: its name, what it holds, and its meaning for people."""

    name: str
    kind: ColumnKind
    meaning: str


def listed(*columns: tuple[str, ColumnKind, str]) -> tuple[Column, ...]:
    """Columns from name, kind and meaning."""
    return tuple(Column(*column) for column in columns)


def joined(elements: tuple[str, ...]) -> str:
    """The cell of a list: a separator within an element is written \\x3b, so that every separator
    of the cell parts two elements.
    """
    return SEPARATOR.join(element.replace(SEPARATOR, r"\x3b") for element in elements)
