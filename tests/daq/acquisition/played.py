"""A run without threads: a queue in memory whose time stands still between items, and an operator
who sees the board.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

import msgspec

from daq.acquisition.inputs import Item, KeyRefused, KeyWord, Nudged, SendPressed, Typed
from daq.acquisition.manager import Step
from daq.board.board import Board
from drivers.clock import Clock
from drivers.gauge.reader import GaugeBack, GaugeLost, Notice
from drivers.reading import Instant, Reading, Reject
from tests.builders import START_US


class Exhausted(Exception):
    """All that was to come has come."""


class HandClock(Clock):
    """A clock that goes only where the test moves it."""

    def __init__(self) -> None:
        self.us = 0

    def now(self) -> Instant:
        return Instant(START_US + self.us, self.us * 1000)


class PlayedInputs:
    """Items one by one, each so many seconds after the one before; None: nothing comes for as long
    as is waited. `answer` gives what an asked gauge says, if anything. `waits` keeps how long each
    item was waited for.
    """

    def __init__(
        self,
        clock: HandClock,
        items: Iterable[tuple[float, Item | None]],
        answer: Callable[[Instant], Item | None] | None = None,
    ) -> None:
        self._clock = clock
        self._items = iter(items)
        self._answer = answer
        self._answers: list[Item] = []
        self.asked = 0
        self.waits: list[float | None] = []
        self.is_given_back = False

    @contextmanager
    def listening(self) -> Iterator[None]:
        try:
            yield
        finally:
            self.is_given_back = True

    def take(self, patience_s: float | None) -> Item | None:
        self.waits.append(patience_s)
        if self._answers:
            self._clock.us += 1000
            return self._answers.pop(0)
        try:
            after_s, item = next(self._items)
        except StopIteration:
            raise Exhausted from None
        if item is None and patience_s is None:
            return Nudged()  # the loop would wait without end
        self._clock.us += round((after_s if item is not None else patience_s or 0) * 1e6)
        return stamped(item, self._clock.now()) if item is not None else None

    def ask(self) -> None:
        self.asked += 1
        answer = self._answer(self._clock.now()) if self._answer is not None else None
        if answer is not None:
            self._answers.append(answer)


def stamped(item: Item, at: Instant) -> Item:
    """An item as it comes at this moment, if it has a moment."""
    if isinstance(item, Reading | Reject | GaugeLost | GaugeBack | Notice):
        return msgspec.structs.replace(item, at=at)
    if isinstance(item, Typed | SendPressed | KeyWord | KeyRefused):
        return msgspec.structs.replace(item, at=at)
    return item


class Watcher:
    """What a run showed."""

    def __init__(self) -> None:
        self.boards: list[Board] = []
        self.lines: list[bytes] = []
        self.refusals: list[str] = []
        self.hints: list[str] = []
        self.stream: list[Reading] = []

    def begun(self, board: Board) -> None:
        self.boards.append(board)

    def step(self, board: Board, step: Step) -> None:
        self.boards.append(board)
        self.lines += step.lines

    def refused(self, reason: str) -> None:
        self.refusals.append(reason)

    def advice(self, text: str) -> None:
        self.hints.append(text)

    def streamed(self, reading: Reading) -> None:
        self.stream.append(reading)
