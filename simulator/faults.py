"""Faults stacked on a cable: filters over timed pieces of bytes, replayed by seed.

A filter takes one event and gives the events that come of it, in order. Each has random numbers of
its own, so that one more on the stack does not change what the others do.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from simulator.errors import SimulatorError
from simulator.fault_kinds import FAULTS, Back, Event, Gone, Kind, Piece, join

__all__ = [
    "FAULTS",
    "Back",
    "Event",
    "Fault",
    "FaultStack",
    "Gone",
    "Piece",
    "faulty",
    "parse_fault",
]

JOIN_WAIT_S = 0.25
"""A frame that waits for the next one is sent alone after so long. Chosen by us."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A kind of fault by name, with the chance that it strikes a piece."""

    name: str
    rate: float

    def __str__(self) -> str:
        return f"{self.name}={self.rate:g}"


def parse_fault(text: str) -> Fault:
    """``drop`` or ``drop=0.2``; SimulatorError for an unknown name or a rate that is no chance."""
    name, mark, number = text.partition("=")
    if name not in FAULTS:
        raise SimulatorError(f"unknown fault {name!r}; known: {', '.join(FAULTS)}")
    if not mark:
        return Fault(name, FAULTS[name].rate)
    try:
        rate = float(number)
    except ValueError:
        rate = math.nan
    if not 0 <= rate <= 1:
        raise SimulatorError(f"the rate of {name} is a chance from 0 to 1, not {number!r}")
    return Fault(name, rate)


class FaultStack:
    """Faults one behind the other, the first nearest to the gauge.

    Same faults, seed and pieces, same events. What comes out is in order of time: bytes cannot
    overtake each other on a cable, and none arrive while it is out.
    """

    def __init__(self, faults: Sequence[Fault] = (), seed: int = 0) -> None:
        self._filters = [
            _Filter(FAULTS[fault.name], fault.rate, random.Random(f"{seed}/{place}/{fault.name}"))
            for place, fault in enumerate(faults)
        ]
        self._last_s = -math.inf
        self._is_away = False
        self._back_s = -math.inf

    @property
    def due_s(self) -> float | None:
        """When to call idle, as something is held back until then; None: no need."""
        due = [one.due_s for one in self._filters if one.due_s is not None]
        return min(due) if due else None

    def feed(self, piece: Piece) -> list[Event]:
        """What comes of a piece that the gauge sends; at_s never runs backwards."""
        return [] if self._is_lost(piece.at_s) else self._through(0, [piece])

    def idle(self, at_s: float) -> list[Event]:
        """What has been held back long enough, with nothing sent until now; inf lets all go."""
        out: list[Event] = []
        for place, one in enumerate(self._filters):
            out += self._through(place + 1, one.idle(at_s))
        return out

    def _through(self, place: int, events: list[Event]) -> list[Event]:
        """The events through the filters from this place on, and in order."""
        for one in self._filters[place:]:
            events = [after for event in events for after in one.feed(event)]
        return [kept for event in events if (kept := self._in_order(event)) is not None]

    def _in_order(self, event: Event) -> Event | None:
        """The event no earlier than the last; None for what comes while the cable is out."""
        if isinstance(event, Piece) and (self._is_lost(event.at_s) or not event.data):
            return None
        if isinstance(event, Gone) and self._is_away:
            return None
        at_s = max(event.at_s, self._last_s)
        self._last_s = at_s
        if isinstance(event, Gone):
            self._is_away = True
            return Gone(at_s)
        if isinstance(event, Back):
            self._is_away, self._back_s = False, at_s
            return Back(at_s, event.is_elsewhere)
        return Piece(at_s, event.data)

    def _is_lost(self, at_s: float) -> bool:
        """The cable is out then."""
        return self._is_away or at_s < self._back_s

    def plugged(self) -> None:
        """Somebody has put the cable back by hand."""
        self._is_away = False


def faulty(events: Iterable[Piece], faults: Sequence[Fault], seed: int = 0) -> list[Event]:
    """Everything that comes of a whole stream of pieces, in order of time.

    What waits only for time to pass is let go when its time has come.
    """
    stack = FaultStack(faults, seed)
    out: list[Event] = []
    for piece in events:
        while (due_s := stack.due_s) is not None and due_s <= piece.at_s:
            out += stack.idle(due_s)
        out += stack.feed(piece)
    return out + stack.idle(math.inf)


class _Filter:
    """One fault at its rate; joining, the only one with a memory, is held here."""

    def __init__(self, kind: Kind, rate: float, dice: random.Random) -> None:
        self._happens = kind.happens
        self._rate = rate
        self._dice = dice
        self._held: Piece | None = None

    @property
    def due_s(self) -> float | None:
        return None if self._held is None else self._held.at_s + JOIN_WAIT_S

    def feed(self, event: Event) -> list[Event]:
        if not isinstance(event, Piece):
            return [*self.idle(math.inf), event]
        is_struck = event.data != b"" and self._dice.random() < self._rate
        if self._happens is join:
            held, self._held = self._held, None
            if held is not None:
                return [Piece(event.at_s, held.data + event.data)]
            if is_struck:
                self._held = event
                return []
            return [event]
        return self._happens(event, self._dice) if is_struck else [event]

    def idle(self, at_s: float) -> list[Event]:
        held, due_s = self._held, self.due_s
        if held is None or due_s is None or due_s > at_s:
            return []
        self._held = None
        return [Piece(due_s, held.data)]
