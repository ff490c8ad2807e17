"""From state to what a person sees: functions to text or renderables, no terminal touched here."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from daq.board.board import Board
from daq.lengths import EXACT
from daq.record.results import GroupResult, JournalResult

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

_MEANING = {
    "accepted": " (the measurement stands; what it says of the part is each journal's verdict)",
    "rejected": " (the measurement does not stand, whatever the numbers say of the part)",
    "abandoned": " (closed without the closing check: nothing is proven by it)",
    "open": "",
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


def journal_line(result: JournalResult) -> str:
    """One journal in one line of plain text."""
    parts = [
        f"{result.journal}: {VERDICT_WORDS[result.verdict]}{_why_undecided(result)}",
        f"{result.positions_measured} of {result.positions_planned} places",
    ]
    if result.smallest_mm:
        parts.append(
            f"smallest {result.smallest_mm} mm at {result.smallest_at} "
            f"({_as_read(result)}{_signed(result.margin_to_low_mm)} mm to the low limit)"
        )
    if result.uncertainty_mm:
        parts.append(
            f"{'provisionally ' if result.provisional else ''}uncertain by "
            f"{result.uncertainty_mm} mm (probability of keeping the size limits "
            f"{_percent(result.conformance_probability)})"
        )
    if result.out_of_round_mm:
        parts.append(f"two-point out-of-round {result.out_of_round_mm} mm")
    if result.taper_mm:
        parts.append(f"taper {result.taper_mm} mm")
    if result.remarks:
        parts.append(result.remarks)
    if result.settled_by:
        parts.append(result.settled_by)
    return "; ".join(parts)


def _as_read(result: JournalResult) -> str:
    """What the gauge showed and how much was taken off; of an earlier rule set there is neither."""
    if not result.smallest_read_mm:
        return ""
    off = EXACT.subtract(Decimal(result.smallest_read_mm), Decimal(result.smallest_mm))
    return f"read {result.smallest_read_mm}, {_signed(f'{off:.5f}')} taken off; "


def _percent(probability: str) -> str:
    """A probability for people; never 100 % for what is not certain."""
    if not probability:
        return "not known"
    percent = 100 * float(probability)
    if percent > 99.9:
        return "> 99.9 %"
    return "< 0.1 %" if percent < 0.1 else f"{percent:.1f} %"


def _why_undecided(result: JournalResult) -> str:
    """What stands in the way of a verdict, in words; empty for any other verdict."""
    if result.verdict != "undecided":
        return ""
    if result.size_verdict == "undecided":
        return " (nearer to a size limit than the measurement is certain)"
    if result.form_verdict == "undecided":
        return " (a form limit is nearer than the measurement is certain, or under four steps)"
    return " (too few places for a form limit)"


def undecided_lines(results: Sequence[JournalResult]) -> list[str]:
    """What would settle each journal that is undecided by its size."""
    return [f"{result.journal}: {result.settled_by}" for result in results if result.settled_by]


GROUP_WORDS = {
    "serve-as-is": "may serve as it is, by these readings",
    "bearing-undersize": "bearings of an undersize, no grinding",
    "grind": "GRIND ALL of the group",
    "shelf": "SHELF: no step is left",
    "undecided": "undecided",
    "not-assessed": "not assessed",
}


def group_lines(results: Sequence[GroupResult]) -> list[str]:
    """The next step for each group, with its rule and what was not examined."""
    lines = []
    lone = "all journals" if len(results) == 1 else "journals without a group"
    for result in results:
        step = f" to {result.undersize}" if result.undersize and result.step == "grind" else ""
        of = f" of {result.undersize}" if result.undersize and not step else ""
        lines.append(
            f"Next step, {result.group or lone}: {GROUP_WORDS[result.step]}{step}{of}: "
            f"{result.reason}"
        )
        if result.bearing_growth_mm:
            lines.append(
                f"  - each bearing shell is {result.bearing_growth_mm} mm thicker than standard"
            )
        if result.clearance_smallest_mm:
            lines.append(
                f"  - oil clearance {result.clearance_smallest_mm} to "
                f"{result.clearance_largest_mm} mm by the plan's bore and shells"
            )
        lines += [f"  - {remark}" for remark in result.remarks.split("; ") if remark]
    return lines


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def summary_lines(
    session: str,
    verdict: str,
    reasons: Sequence[str],
    journals: Sequence[JournalResult],
    remarks: Sequence[str] = (),
) -> list[str]:
    """What is left on the screen when a session ends."""
    lines = [f"Session {session}: {verdict}{_MEANING[verdict]}"]
    lines += [f"  - {reason}" for reason in (*reasons, *remarks)]
    lines += [journal_line(result) for result in journals]
    return lines


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
    "GROUP_WORDS",
    "VERDICT_WORDS",
    "group_lines",
    "journal_line",
    "journal_table",
    "large",
    "screen",
    "summary_lines",
    "undecided_lines",
]
