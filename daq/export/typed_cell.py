"""What the text of a cell stands for, for files that have types of their own. Pure.

Texts are as they were given there: only CSV has to guard them, since a reader of it must guess.
"""

from datetime import date, datetime
from decimal import Decimal
from typing import TypeAlias

from daq.export.column import SEPARATOR, ColumnKind

Value: TypeAlias = str | int | bool | Decimal | date | datetime | tuple[str, ...] | None


def value_of(kind: ColumnKind, cell: str) -> Value:
    """The value of a cell: None for an empty one, of a list its elements."""
    if not cell:
        return None
    match kind:
        case ColumnKind.LENGTH | ColumnKind.NUMBER:
            return Decimal(cell)
        case ColumnKind.WHOLE:
            return int(cell)
        case ColumnKind.TRUTH:
            return cell == "true"
        case ColumnKind.DATE:
            return date.fromisoformat(cell)
        case ColumnKind.TIME:
            return datetime.fromisoformat(cell)
        case ColumnKind.LIST | ColumnKind.FLAGS:
            return elements(cell)
        case _:
            return cell


def elements(cell: str) -> tuple[str, ...]:
    """The elements of a list, each as it was given; see `joined`."""
    return tuple(each.replace(r"\x3b", SEPARATOR) for each in cell.split(SEPARATOR) if cell)
