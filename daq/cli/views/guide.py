"""Markdown on a terminal, through its pager where it is longer than the screen."""

from typing import TYPE_CHECKING

from rich.console import Console, ConsoleOptions, RenderResult
from rich.markdown import Heading, Markdown
from rich.padding import Padding
from rich.text import Text

if TYPE_CHECKING:
    from rich.console import RenderableType

WIDEST = 96
"""Columns: longer lines are hard to follow."""


class _LeftHeading(Heading):
    """A heading that stands where the text stands, not in the middle and not in a box."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        self.text.justify = "left"
        self.text.stylize("bold" if self.tag != "h1" else "bold underline")
        yield Text() if self.tag != "h1" else Text("", end="")
        yield self.text


class _Text(Markdown):
    elements = {**Markdown.elements, "heading_open": _LeftHeading}  # noqa: RUF012 - as its base has it


def rendered(text: str) -> "RenderableType":
    """Markdown as something that a console prints."""
    return Padding(_Text(text, code_theme="ansi_dark"), (0, 1))


def show(text: str) -> None:
    """Print it, in the pager where it is longer than the screen."""
    console = Console()
    console.width = min(console.width, WIDEST)
    lines = console.render_lines(rendered(text))
    if len(lines) < console.height:
        console.print(rendered(text))
        return
    with console.pager(styles=True):
        console.print(rendered(text))


__all__ = ["rendered", "show"]
