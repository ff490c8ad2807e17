"""A gauge on its cable in real time: what it sends meets the faults, what it hears it answers.

It is both the link and the clock that a script is played with, so that requests are answered, and
held-back bytes sent, while the script waits.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from pathlib import Path

from simulator.answering import Answerer
from simulator.clock import Clock
from simulator.errors import LinkError
from simulator.faults import Back, Event, FaultStack, Gone, Piece
from simulator.links import Link
from simulator.player import Player, SendBytes
from simulator.waiting import wait_readable

LONGEST_WAIT_S = 3600.0


class Bench:
    """One gauge, its link, its faults and, if it can be asked, what answers for it.

    link_path is the name of the link, from which the fault `elsewhere` makes others: PATH-2 and so
    on. tell hears of every answer; plugged_in hears the name each time the cable is back.
    """

    def __init__(
        self,
        link: Link,
        player: Player,
        clock: Clock,
        *,
        answerer: Answerer | None = None,
        seed: int = 0,
        link_path: Path | None = None,
        tell: Callable[[SendBytes], None] | None = None,
        plugged_in: Callable[[str], None] | None = None,
    ) -> None:
        self._link = link
        self._player = player
        self._clock = clock
        self._answerer = answerer
        self._seed = seed
        self._link_path = link_path
        self._names = 1
        self._tell = tell
        self._plugged_in = plugged_in
        self._faults = player.faults
        self._stack = FaultStack(self._faults, seed)
        # What is to happen later: when, in which order, and what. Frames have yet to meet the
        # faults, events have come out of them.
        self._agenda: list[tuple[float, int, SendBytes | Event]] = []
        self._count = 0

    # --- the link that a script is played to ---

    def send(self, data: bytes) -> bool:
        """Send bytes through the faults; False when they are lost already now."""
        self._heed_faults()
        if not self._link.is_plugged:
            return False
        return self._happen(self._stack.feed(Piece(self._clock.now_s(), data)))

    def unplug(self) -> None:
        """Pull the cable; what was still on its way is lost."""
        self._agenda = [item for item in self._agenda if isinstance(item[2], SendBytes)]
        heapq.heapify(self._agenda)
        self._link.unplug()

    def replug(self, link_path: Path | None = None) -> None:
        """Plug it in again, under another name if there is a path."""
        self._link.replug(link_path)
        self._stack.plugged()
        self._link_path = link_path or self._link_path
        if self._plugged_in is not None:
            self._plugged_in(str(self._link_path or self._link.port))

    # --- the clock that it is played by ---

    def now_s(self) -> float:
        """Seconds since some fixed moment; never runs backwards."""
        return self._clock.now_s()

    def sleep_s(self, seconds: float) -> None:
        """Let so many seconds pass: answer what is asked, send what is due."""
        end_s = self._clock.now_s() + seconds
        while (left_s := end_s - self._clock.now_s()) > 0:
            self.serve(left_s)

    def serve(self, timeout_s: float = LONGEST_WAIT_S, wake: int | None = None) -> None:
        """Wait for one thing to happen and let it: a request, something due, or neither in time.

        Ends too when the descriptor wake can be read.
        """
        self._heed_faults()
        if self._do_what_is_due():
            return
        next_s = self._next_s()
        if next_s is not None:
            timeout_s = min(timeout_s, max(0.0, next_s - self._clock.now_s()))
        if self._answerer is None or not self._link.is_plugged:
            if wake is None:
                self._clock.sleep_s(timeout_s)
            else:
                wait_readable(timeout_s, wake)
            return
        self._hear(self._answerer, self._link.receive(timeout_s, wake))

    def finish(self) -> None:
        """Send what is still on its way, each when it is due; answers that are owed too."""
        while self._agenda or self._stack.due_s is not None:
            next_s = self._next_s()
            if next_s is not None and next_s > self._clock.now_s():
                self._clock.sleep_s(next_s - self._clock.now_s())
            self._do_what_is_due()

    # --- inside ---

    def _hear(self, answerer: Answerer, data: bytes) -> None:
        """Answer what was asked, after the time that the gauge takes."""
        if not data:
            return
        now_s = self._clock.now_s()
        for reply in answerer.hear(data, now_s, self._player.manner):
            self._later(now_s + reply.delay_s, SendBytes(now_s, reply.data, reply.about))

    def _later(self, at_s: float, what: SendBytes | Event) -> None:
        """Put something on the agenda, behind what is due at the same time."""
        self._count += 1
        heapq.heappush(self._agenda, (at_s, self._count, what))

    def _next_s(self) -> float | None:
        """When something is due next; None when nothing is."""
        due = [self._agenda[0][0]] if self._agenda else []
        if self._stack.due_s is not None:
            due.append(self._stack.due_s)
        return min(due, default=None)

    def _do_what_is_due(self) -> bool:
        """Do what has become due; whether there was anything."""
        now_s = self._clock.now_s()
        due_s = self._stack.due_s
        done = False
        if due_s is not None and due_s <= now_s:
            done = True
            self._happen(self._stack.idle(now_s))
        while self._agenda and self._agenda[0][0] <= now_s:
            done = True
            _, _, what = heapq.heappop(self._agenda)
            if isinstance(what, SendBytes):
                if self._tell is not None:
                    self._tell(what)
                self.send(what.data)
            else:
                self._do(what)
        return done

    def _happen(self, events: list[Event]) -> bool:
        """Do what happens now, the rest later; False if bytes sent now were lost."""
        now_s = self._clock.now_s()
        is_heard = True
        is_first = not any(isinstance(what, Piece | Gone | Back) for _, _, what in self._agenda)
        for event in events:
            if is_first and event.at_s <= now_s:
                is_heard = self._do(event) and is_heard
            else:
                is_first = False
                self._later(event.at_s, event)
        return is_heard

    def _do(self, event: Event) -> bool:
        """Do one thing; False if it was bytes and they were lost."""
        match event:
            case Piece(data=data):
                return self._sent(data)
            case Gone():
                self._link.unplug()
            case Back(is_elsewhere=is_elsewhere):
                self.replug(self._another_name() if is_elsewhere else None)
        return True

    def _sent(self, data: bytes) -> bool:
        """Send bytes; a stream that nobody reads runs over, as on any cable."""
        try:
            return self._link.send(data)
        except LinkError:
            if not self._player.is_streaming:
                raise
            return False

    def _another_name(self) -> Path | None:
        """The next of the names for a link that comes back elsewhere; None without a link."""
        if self._link_path is None:
            return None
        before = f"-{self._names}" if self._names > 1 else ""
        self._names += 1
        return self._link_path.with_name(
            f"{self._link_path.name.removesuffix(before)}-{self._names}"
        )

    def _heed_faults(self) -> None:
        """Take the faults that the script has put on the cable since."""
        if self._player.faults is not self._faults:
            self._happen(self._stack.idle(math.inf))
            self._faults = self._player.faults
            self._stack = FaultStack(self._faults, self._seed)
