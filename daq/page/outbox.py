"""What waits to be sent to the page's server. Putting never waits; of boards only the newest is
kept, with the sounds and news of those that it stands for.
"""

import threading
from collections import deque

from daq.acquisition.inputs import PressOutcome
from daq.board.board import Board
from daq.page.messages import PageOver, PageShown, PageTold, PressAnswer, ToServer

MOST_CUES, MOST_NEWS, MOST_OTHERS = 8, 20, 64
"""What is kept of each while the server is behind; the oldest goes first. Chosen by us."""


class Outbox:
    """One for all servers of a run: each that is started takes from it by its own number."""

    def __init__(self) -> None:
        self._waiting = threading.Condition()
        self._board: Board | None = None
        self._is_due = False
        self._cues: deque[str] = deque(maxlen=MOST_CUES)
        self._news: deque[str] = deque(maxlen=MOST_NEWS)
        self._others: deque[ToServer] = deque(maxlen=MOST_OTHERS)
        self._over: PageOver | None = None
        self._number = 0

    def show(self, board: Board) -> None:
        """The board as it is now."""
        with self._waiting:
            self._board, self._is_due = board, True
            if board.cue:
                self._cues.append(board.cue)
            self._news.extend(board.news)
            self._waiting.notify_all()

    def tell(self, text: str) -> None:
        """One thing to say."""
        self._put(PageTold(text))

    def answer(self, number: int, press: int, outcome: PressOutcome, words: str) -> None:
        """What became of a press that the server of this number sent."""
        if number == self._number:
            self._put(PressAnswer(press, outcome, words))

    def end(self, over: PageOver) -> None:
        """Nothing comes after this."""
        with self._waiting:
            self._over = over
            self._waiting.notify_all()

    def begin(self) -> int:
        """Another server takes from now on; it is shown the last board, without what was heard and
        told before.
        """
        with self._waiting:
            self._number += 1
            self._is_due = self._board is not None
            self._others.clear()
            self._waiting.notify_all()
            return self._number

    def take(self, number: int) -> list[ToServer] | None:
        """What is due, in order; waits for it. None for a server whose time is over."""
        with self._waiting:
            while not (self._is_due or self._others or self._over) and number == self._number:
                self._waiting.wait()
            if number != self._number:
                return None
            found: list[ToServer] = []
            if self._is_due and self._board is not None:
                found.append(PageShown(self._board, tuple(self._cues), tuple(self._news)))
                self._is_due = False
                self._cues.clear()
                self._news.clear()
            found += self._others
            self._others.clear()
            if self._over is not None:
                found.append(self._over)
                self._number += 1
            return found

    def leave(self, number: int) -> None:
        """The server of this number takes no more."""
        with self._waiting:
            if number == self._number:
                self._number += 1
                self._waiting.notify_all()

    def _put(self, message: ToServer) -> None:
        with self._waiting:
            self._others.append(message)
            self._waiting.notify_all()
