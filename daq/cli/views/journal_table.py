"""The journals of a session as a table, for a terminal. No terminal touched here."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from daq.record.results import JournalResult

if TYPE_CHECKING:
    from rich.console import RenderableType

_WORDS = {
    "within": "within",
    "below": "BELOW",
    "above": "ABOVE",
    "out-of-form": "OUT OF FORM",
    "undecided": "undecided",
    "incomplete": "incomplete",
}
_STYLES = {
    "within": "green",
    "below": "bold red",
    "above": "bold red",
    "out-of-form": "bold red",
    "undecided": "yellow",
    "incomplete": "dim",
}


def journal_table(results: Sequence[JournalResult]) -> "RenderableType":
    """One row a journal."""
    from rich import box  # noqa: PLC0415 - only where a table is drawn
    from rich.table import Table  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    for name, justify in (
        ("journal", "left"),
        ("places", "right"),
        ("smallest\nread", "right"),
        ("esti-\nmate mm", "right"),
        ("to low\nlimit", "right"),
        ("out of\nround", "right"),
        ("\ntaper", "right"),
        ("uncer-\ntainty", "right"),
        ("\nverdict", "left"),
    ):
        table.add_column(name, justify=justify)  # type: ignore[arg-type] # literals in a tuple
    for result in results:
        margin = result.margin_to_low_mm
        form_style = "bold red" if result.form_verdict == "over" else ""
        table.add_row(
            Text(result.journal),
            f"{result.positions_measured}/{result.positions_planned}",
            result.smallest_read_mm,
            result.smallest_mm,
            margin if not margin or margin.startswith("-") else f"+{margin}",
            Text(result.out_of_round_mm, style=form_style),
            Text(result.taper_mm, style=form_style),
            result.uncertainty_mm,
            Text(_WORDS[result.verdict], style=_STYLES[result.verdict]),
        )
    return table
