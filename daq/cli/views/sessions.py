"""The sessions of a home as `jbridge sessions` tells of them: records to text, rows or a table."""

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from daq.evaluation.verdict import OPEN
from daq.services.session_list import Listed, begun_text
from drivers.printable import shown
from drivers.reading import utc_text

if TYPE_CHECKING:
    from rich.console import RenderableType

MARGIN = 1
"""A line that fills the last column makes some terminals add an empty one."""

UNKNOWN = "-"
HEADINGS = ("job", "part", "gauge", "verdict", "begun", "session")
_STYLES = {"open": "bold cyan", "accepted": "green", "damaged": "bold red", "unreadable": "red"}
_LEAST_TEXTS = 40
"""So many columns job, part and gauge need together to be read well. Chosen by us."""


def document(one: Listed) -> dict[str, Any]:
    """One session as `--json` prints it; null for what cannot be read."""
    is_known = one.begun_us is not None
    return {
        "session_id": one.session_id if is_known else None,
        "job": one.job if is_known else None,
        "part": one.part if is_known else None,
        "gauge": one.gauge if is_known else None,
        "verdict": one.verdict,
        "begun_at": None if one.begun_us is None else utc_text(one.begun_us),
        "folder": str(one.folder),
        "fault": one.fault or None,
        "demo": one.is_demo,
    }


def _name(one: Listed) -> str:
    """What other commands find a session by."""
    return shown(one.folder.name, 255)


def cells(one: Listed) -> tuple[str, ...]:
    """One session's texts in the order of HEADINGS, harmless for a terminal, none of them empty."""
    texts = (shown(text, 200) for text in (one.job, one.part, one.gauge, one.verdict))
    return (
        *(text.strip() or UNKNOWN for text in texts),
        begun_text(one.begun_us) or UNKNOWN,
        _name(one),
    )


def lines(found: Sequence[Listed]) -> list[str]:
    """A line a session, below headings, its columns two spaces apart; nothing is cut."""
    rows = [HEADINGS, *(cells(one) for one in found)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
    return [
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ] + _faults(found)


def blocks(found: Sequence[Listed], width: int) -> list[str]:
    """For a narrow terminal: verdict, begun and id on one line, the rest below it."""
    out = []
    for one in found:
        job, part, gauge, verdict, begun, name = cells(one)
        head = f"{verdict:<10}  {begun:<16}"
        is_one_line = len(head) + 2 + len(name) <= width
        out += [f"{head}  {name}"] if is_one_line else [head.rstrip(), f"  {name}"]
        about = one.fault or f"job {job}, {part}, {gauge}"
        out += textwrap.wrap(
            shown(about, 400), max(width, 20), initial_indent="  ", subsequent_indent="  "
        )
    return out


def table_width(found: Sequence[Listed]) -> int:
    """So many columns a terminal must have for the table."""
    gaps = 2 * len(HEADINGS)
    return 10 + 16 + max(len(_name(one)) for one in found) + gaps + _LEAST_TEXTS


def table(found: Sequence[Listed]) -> "RenderableType":
    """The sessions as a table for a terminal; long texts go on in the next line, an id never."""
    from rich import box  # noqa: PLC0415 - only where a table is drawn
    from rich.console import Group  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    drawn = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    for heading in HEADINGS:
        drawn.add_column(
            heading, overflow="fold", no_wrap=heading in ("verdict", "begun", "session")
        )
    for one in found:
        job, part, gauge, verdict, begun, name = cells(one)
        style = _STYLES.get(one.verdict, "")
        drawn.add_row(
            *(Text(text) for text in (job, part, gauge)),
            Text(verdict, style=style),
            Text(begun),
            Text(name),
        )
    return Group(drawn, *(Text(text) for text in _faults(found)))


def _faults(found: Sequence[Listed]) -> list[str]:
    return [f"{_name(one)}: {shown(one.fault, 400)}" for one in found if one.fault]


def talk(found: Sequence[Listed]) -> str:
    """How many there are, and what their list is worth."""
    count, demos = len(found), sum(one.is_demo for one in found)
    still_open = sum(one.verdict == OPEN for one in found)
    return (
        f"{count} session{'' if count == 1 else 's'}, {still_open} open"
        f"{f', {demos} of the demo' if demos else ''}. Only first and last lines were read; "
        "jbridge verify proves the rest."
    )


def newest_open(found: Sequence[Listed]) -> Listed | None:
    """The shop's session that is most likely to be carried on; None where none is open."""
    return next((one for one in found if one.verdict == OPEN and not one.is_demo), None)
