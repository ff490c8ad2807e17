"""From state to what a person sees: functions to text or renderables, no terminal touched here."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from daq.board.board import Board
from daq.record.results import JournalResult

if TYPE_CHECKING:
    from rich.console import RenderableType

VERDICT_WORDS = {
    "within": "within limits",
    "below": "BELOW low limit",
    "above": "ABOVE high limit",
    "out-of-form": "OUT OF FORM",
    "incomplete": "incomplete",
    "undecided": "undecided",
}
_STYLES = {
    "within": "green",
    "below": "bold red",
    "above": "bold red",
    "out-of-form": "bold red",
    "undecided": "yellow",
    "incomplete": "dim",
}

_GLYPHS = {
    "0": ("▄▀▄", "█ █", "▀▄▀"),
    "1": ("▄█ ", " █ ", "▄█▄"),
    "2": ("▀▀▄", "▄▀ ", "█▄▄"),
    "3": ("▀▀▄", " ▀▄", "▄▄▀"),
    "4": ("█ █", "▀▀█", "  █"),
    "5": ("█▀▀", "▀▀▄", "▄▄▀"),
    "6": ("▄▀ ", "█▀▄", "▀▄▀"),
    "7": ("▀▀█", " █ ", " █ "),
    "8": ("▄▀▄", "▄▀▄", "▀▄▀"),
    "9": ("▄▀▄", "▀▄█", " ▄▀"),
    ".": (" ", " ", "▄"),
    "-": ("  ", "▀▀", "  "),
    "+": (" ▄ ", "▀█▀", "   "),
    " ": ("  ", "  ", "  "),
}


def large(text: str) -> str:
    """A number in characters three lines high, to be read from across a bench."""
    glyphs = [_GLYPHS.get(char, (" ", " ", char)) for char in text]
    return "\n".join(" ".join(glyph[row] for glyph in glyphs) for row in range(3))


def _percent(probability: str) -> str:
    """A probability for people; never 100 % for what is not certain."""
    if not probability:
        return "not known"
    percent = 100 * float(probability)
    if percent > 99.9:
        return "> 99.9 %"
    return "< 0.1 %" if percent < 0.1 else f"{percent:.1f} %"


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def journal_table(results: Sequence[JournalResult]) -> "RenderableType":
    """The journals as a table for a terminal."""
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
        ("limits\nkept", "right"),
        ("\nverdict", "left"),
    ):
        table.add_column(name, justify=justify)  # type: ignore[arg-type] # literals in a tuple
    for result in results:
        form_style = "bold red" if result.form_verdict == "over" else ""
        table.add_row(
            Text(result.journal),
            f"{result.positions_measured}/{result.positions_planned}",
            result.smallest_read_mm,
            result.smallest_mm,
            _signed(result.margin_to_low_mm) if result.margin_to_low_mm else "",
            Text(result.out_of_round_mm, style=form_style),
            Text(result.taper_mm, style=form_style),
            result.uncertainty_mm,
            _percent(result.conformance_probability) if result.conformance_probability else "",
            Text(VERDICT_WORDS[result.verdict], style=_STYLES[result.verdict]),
        )
    return table


def screen(board: Board, news: Sequence[str], typed: str, streamed: str = "") -> "RenderableType":
    """The live screen of a run: prompt, last value, journals, progress, news, what is typed.

    `streamed` is what a gauge that sends without end says now, stored nowhere.
    """
    from rich.align import Align  # noqa: PLC0415 - only on a terminal
    from rich.console import Group  # noqa: PLC0415
    from rich.panel import Panel  # noqa: PLC0415
    from rich.progress_bar import ProgressBar  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    asked, done, total, last = board.asked, board.places_done, board.places_total, board.last
    style = "bold yellow" if last is not None and last.of == "held" else "bold cyan"
    left = Group(
        Text(asked.headline, style=style),
        Text(asked.action),
        *([Text(f"the gauge shows {streamed}", style="dim")] if streamed else []),
    )
    top = Table.grid(expand=True, padding=(0, 2))
    top.add_column(ratio=3)
    top.add_column(ratio=2, justify="right")
    value = Table.grid(padding=(0, 1))
    value.add_column(no_wrap=True)
    value.add_column(no_wrap=True, vertical="bottom")
    if last is not None:
        value.add_row(Text(large(last.value), style="bold"), last.unit)
    top.add_row(left, Align.right(value))
    bar = Table.grid(expand=True, padding=(0, 1))
    bar.add_column(ratio=1)
    bar.add_column(justify="right")
    bar.add_row(ProgressBar(total=max(total, 1), completed=done), Text(f"{done} of {total} places"))
    said = Text("\n".join(news[-4:]) or " ")
    warnings = Text("\n".join(board.warnings), style="bold red")
    allowed = ", ".join(f"{each.word} {each.argument}".strip() for each in board.words)
    typing = Text.assemble(("> ", "bold"), typed, ("▏", "dim"))
    return Group(
        Panel(Group(top, bar), title=Text(board.part)),
        # A low terminal cuts the end off: what must be read comes before the table.
        *([warnings] if warnings else []),
        said,
        typing,
        Text(f"words: {allowed}", style="dim"),
        journal_table([row.result for row in board.rows]),
    )


__all__ = [
    "VERDICT_WORDS",
    "journal_table",
    "large",
    "screen",
]
