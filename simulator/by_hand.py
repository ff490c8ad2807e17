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
from simulator.steps import Wait
from simulator.waiting import READABLE, ready

STREAMED_AT_ONCE = Decimal("0.05")
"""Seconds of a stream that pass between two looks at what is typed."""

CHUNK = 4096
LONGEST_LINE = 65536

Complain = Callable[[str], None]
Tell = Callable[[Action], None] | None


def play_by_hand(
    descriptor: int, player: Player, bench: Bench, complain: Complain, tell: Tell = None
) -> None:
    """Play the lines that can be read from a descriptor, until they end.

    An empty line presses send. Meanwhile the gauge answers and streams. What cannot be done is
    complained of, and the rest goes on.
    """
    lines = _Lines(descriptor)
    number = 0
    while not lines.is_over:
        try:
            line = lines.take()
            if line is not None:
                number += 1
                step = parse_line(number, line.strip() or "press")
                if step is not None:
                    play([step], player, bench, bench, tell)
            elif player.is_streaming:
                play([Wait(number, STREAMED_AT_ONCE)], player, bench, bench, tell)
            else:
                bench.serve(wake=descriptor)
        except SimulatorError as error:
            complain(str(error))


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
