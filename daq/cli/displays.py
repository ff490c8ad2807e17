"""Where a run is shown: a redrawn terminal, plain lines, or JSON Lines."""

import sys
import threading
import time
from collections.abc import Sequence
from typing import Protocol, TextIO

from msgspec.structs import replace

from daq.acquisition.manager import Step
from daq.acquisition.session_run import Show
from daq.board.board import Board
from daq.board.shown_lengths import ShownIn
from daq.cli.resizes import Resizes, is_signalled
from daq.cli.views.page_links import PageLinks
from daq.cli.views.screen import Beside, screen
from daq.record.events import Rejected
from drivers.printable import printable
from drivers.reading import Reading, plain

STREAM_EVERY_S = 0.2
MOST_KEPT = 8
"""Lines of talk that are kept for a screen with room."""


class RunShow(Show, Protocol):
    """A display that a run ends by giving the terminal back."""

    def end(self) -> None:
        """The run is over."""
        ...


class PlainShow:
    """One line an event, then the prompt; on stderr."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream or sys.stderr
        self._asked = ""

    def say(self, text: str) -> None:
        """One line."""
        print(printable(text), file=self._stream, flush=True)

    def begun(self, board: Board) -> None:
        """Nothing yet; the first step follows at once."""

    def step(self, board: Board, step: Step) -> None:
        """What was stored, then what is asked for now."""
        for text in board.news:
            self.say(text)
        asked = board.asked
        line = f"{asked.headline} - {asked.action}" if asked.action else asked.headline
        is_quiet = all(isinstance(entry.event, Rejected) for entry in step.entries)
        if line != self._asked or not is_quiet:
            self.say(f"> {line}")
        self._asked = line

    def refused(self, reason: str) -> None:
        """Why a word was not taken."""
        self.say(f"Not done: {reason}.")

    def advice(self, text: str) -> None:
        """A hint about the link."""
        self.say(f"Hint: {text}")

    def streamed(self, reading: Reading) -> None:
        """Nothing: lines of a stream would push away all others."""

    def end(self) -> None:
        """Nothing to give back."""


class JsonShow(PlainShow):
    """Ledger lines on stdout as they are stored; talk goes to stderr."""

    def step(self, board: Board, step: Step) -> None:
        """Each line as it stands in the ledger."""
        for line in step.lines:
            sys.stdout.write(line.decode("utf-8") + "\n")
        sys.stdout.flush()
        super().step(board, step)


def _is_signalled() -> bool:
    return is_signalled(sys.stderr.fileno())


class LiveShow:
    """A screen of its own on a terminal, drawn whole at each change and at each resize; what stood
    on the terminal before comes back at the end.
    """

    def __init__(self, show: ShownIn | None = None) -> None:
        """`show`: the units that lengths are read in; None for those of the plan."""
        from rich.console import Console  # noqa: PLC0415 - only on a terminal
        from rich.live import Live  # noqa: PLC0415

        self._console = Console(stderr=True)
        self._live: Live = Live(console=self._console, auto_refresh=False, screen=True)
        self._resizes = Resizes(lambda: self._console.size, self._draw, _is_signalled)
        self._board: Board | None = None
        self._said = Beside(show=show)
        self._drawn_s = 0.0
        self._drawing = threading.Lock()

    @property
    def board(self) -> Board | None:
        """How things stood when it was drawn last; None before it began."""
        return self._board

    def noted(self, texts: Sequence[str]) -> None:
        """What was told before the run began; shown where there is room."""
        self._said = replace(self._said, notes=tuple(texts))

    def show_links(self, links: PageLinks | None) -> None:
        """The page's addresses instead of the journals, until something is read or typed."""
        self._change(links=links)

    def begun(self, board: Board) -> None:
        """Begin to draw."""
        self._board = board
        self._live.start()
        self._resizes.start()
        self._draw()

    def say(self, text: str) -> None:
        """One more line of news."""
        news = (*self._said.news, printable(text))[-MOST_KEPT:]
        self._change(news=news)

    def step(self, board: Board, step: Step) -> None:
        """Draw how things stand now, with the news; a question is void once another step stands."""
        is_new = self._board is None or board.step != self._board.step
        self._board = board
        said = self._said
        self._change(
            news=tuple(map(printable, board.news)) or said.news,
            streamed="" if board.link.is_lost else said.streamed,
            question="" if is_new else said.question,
            links=None if is_new else said.links,
        )

    def refused(self, reason: str) -> None:
        """Why a word was not taken."""
        self.say(f"Not done: {reason}.")

    def advice(self, text: str) -> None:
        """A hint about the link."""
        self.say(f"Hint: {text}")

    def streamed(self, reading: Reading) -> None:
        """The value as it is now, a few times a second."""
        shown = f"{plain(reading.value)} {reading.unit}".rstrip()
        if time.monotonic() - self._drawn_s >= STREAM_EVERY_S:
            self._change(streamed=shown)
        else:
            self._said = replace(self._said, streamed=shown)

    def typing(self, text: str) -> None:
        """What stands on the input line now; called from the keyboard's thread."""
        links = None if text else self._said.links
        self._change(typed=text, links=links)

    def ask(self, question: str) -> None:
        """A question about what was typed last; empty takes it away. Called from the keyboard's
        thread.
        """
        self._change(question=question)

    def end(self) -> None:
        """Take the screen away; the summary follows."""
        self._resizes.stop()
        self._live.stop()

    def _change(self, **changed: object) -> None:
        with self._drawing:  # the keyboard's thread changes and draws too, never an older board
            self._said = replace(self._said, **changed)
            self._draw_now()

    def _draw(self) -> None:
        with self._drawing:
            self._draw_now()

    def _draw_now(self) -> None:
        board = self._board
        if board is None:
            return
        self._drawn_s = time.monotonic()
        columns, rows = self._console.size
        self._live.update(screen(board, self._said, columns, rows), refresh=True)
