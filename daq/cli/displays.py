"""Where a run is shown: a redrawn terminal, plain lines, or JSON Lines."""

import sys
import threading
import time
from typing import Protocol, TextIO

from daq.acquisition.manager import Step
from daq.acquisition.session_run import Show
from daq.board.board import Board
from daq.cli.views.session import screen
from daq.record.events import Rejected
from drivers.printable import printable
from drivers.reading import Reading, plain

STREAM_EVERY_S = 0.2


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


class LiveShow:
    """A redrawn screen on a terminal."""

    def __init__(self) -> None:
        from rich.console import Console  # noqa: PLC0415 - only on a terminal
        from rich.live import Live  # noqa: PLC0415

        self._live: Live = Live(console=Console(stderr=True), auto_refresh=False, transient=True)
        self._board: Board | None = None
        self._news: list[str] = []
        self._typed = ""
        self._streamed = ""
        self._drawn_s = 0.0
        self._drawing = threading.Lock()

    def begun(self, board: Board) -> None:
        """Begin to draw."""
        self._board = board
        self._live.start()
        self._draw()

    def say(self, text: str) -> None:
        """One more line of news."""
        self._news.append(printable(text))
        self._draw()

    def step(self, board: Board, step: Step) -> None:
        """Draw how things stand now, with the news."""
        self._board = board
        if board.link.is_lost:
            self._streamed = ""
        if board.news:
            self._news = [printable(text) for text in board.news]
        self._draw()

    def refused(self, reason: str) -> None:
        """Why a word was not taken."""
        self.say(f"Not done: {reason}.")

    def advice(self, text: str) -> None:
        """A hint about the link."""
        self.say(f"Hint: {text}")

    def streamed(self, reading: Reading) -> None:
        """The value as it is now, a few times a second."""
        now_s = time.monotonic()
        self._streamed = f"{plain(reading.value)} {reading.unit}".rstrip()
        if now_s - self._drawn_s >= STREAM_EVERY_S:
            self._draw()

    def typing(self, text: str) -> None:
        """What stands on the input line now; called from the keyboard's thread."""
        self._typed = text
        self._draw()

    def end(self) -> None:
        """Take the screen away; the summary follows."""
        self._live.stop()

    def _draw(self) -> None:
        with self._drawing:  # the keyboard's thread draws too, and never an older board
            self._draw_now()

    def _draw_now(self) -> None:
        board = self._board
        if board is None:
            return
        self._drawn_s = time.monotonic()
        self._live.update(screen(board, self._news, self._typed, self._streamed), refresh=True)
