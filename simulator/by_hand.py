"""A session driven by lines that somebody types while it plays."""

from __future__ import annotations

import os
from collections.abc import Callable
from decimal import Decimal

from simulator.bench import Bench
from simulator.errors import SimulatorError
from simulator.player import Action, Player
from simulator.scenario import play
from simulator.script import parse_line
from simulator.steps import Press, Step, Wait
from simulator.waiting import READABLE, ready

STREAMED_AT_ONCE = Decimal("0.05")
"""Seconds of a stream that pass between two looks at what is typed."""

CHUNK = 4096
LONGEST_LINE = 65536

Complain = Callable[[str], None]
Tell = Callable[[Action], None] | None


def play_by_hand(
    descriptor: int,
    player: Player,
    bench: Bench,
    complain: Complain,
    tell: Tell = None,
    *,
    press_every_s: Decimal = Decimal(0),
) -> None:
    """Play the lines that can be read from a descriptor, until they end.

    An empty line presses send at once, as whoever types it does; presses by word wait until
    press_every_s seconds have passed since the press before. Meanwhile the gauge answers and
    streams. What cannot be done is complained of, and the rest goes on.
    """
    lines = _Lines(descriptor)
    pace = _Pace(bench, press_every_s)
    number = 0
    while not lines.is_over:
        try:
            line = lines.take()
            if line is not None:
                number += 1
                is_typed = not line.strip()
                step = parse_line(number, line.strip() or "press")
                if step is not None:
                    steps = [step] if is_typed else pace.before(step)
                    play(steps, player, bench, bench, tell)
                    pace.after(step)
            elif player.is_streaming:
                play([Wait(number, STREAMED_AT_ONCE)], player, bench, bench, tell)
            else:
                bench.serve(wake=descriptor)
        except SimulatorError as error:
            complain(str(error))


class _Pace:
    """The time between presses by word, as a hand would need it."""

    def __init__(self, bench: Bench, every_s: Decimal) -> None:
        self._bench = bench
        self._every_s = every_s
        self._last_s: float | None = None

    def before(self, step: Step) -> list[Step]:
        """A step with the wait that it needs first."""
        if not isinstance(step, Press) or not self._every_s:
            return [step]
        if step.every_s is None:
            step = Press(step.line, step.times, self._every_s)
        passed_s = None if self._last_s is None else self._bench.now_s() - self._last_s
        left_s = Decimal(0) if passed_s is None else self._every_s - Decimal(passed_s)
        return [Wait(step.line, left_s), step] if left_s > 0 else [step]

    def after(self, step: Step) -> None:
        """A step was played."""
        if isinstance(step, Press):
            self._last_s = self._bench.now_s()


class _Lines:
    """Lines from a descriptor, without waiting for them."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._held = b""
        self._has_ended = False

    @property
    def is_over(self) -> bool:
        """The last line has been taken."""
        return self._has_ended and not self._held

    def take(self) -> str | None:
        """The next line; None while there is none."""
        while b"\n" not in self._held and not self._has_ended:
            if not ready(self._descriptor, READABLE, 0.0):
                return None
            chunk = os.read(self._descriptor, CHUNK)
            self._has_ended = not chunk
            self._held = (self._held + chunk)[:LONGEST_LINE]
        if not self._held:
            return None
        line, _, self._held = self._held.partition(b"\n")
        return line.decode("utf-8", "replace")
