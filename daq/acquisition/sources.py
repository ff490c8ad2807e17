"""Threads and their queue: gauge, keyboard and send key put in, one loop takes out."""

import queue
import threading
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress

from msgspec.structs import replace

from daq.acquisition.inputs import (
    InputSource,
    Interrupted,
    Item,
    KeyRefused,
    KeyWord,
    Nudged,
    PagePressed,
    SendPressed,
    TakingMode,
    Typed,
)
from daq.acquisition.signals import interrupts
from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.gauge.reader import GaugeReader
from drivers.ports.base import Port
from drivers.profile.profile import Profile

QUEUE_SIZE = 1000
"""When so much waits, the gauge thread waits too and the system's own buffer fills: nothing is
dropped here."""

FULL_WAIT_S = 0.01


class Sources:
    """What one run listens to: a gauge on one open port, perhaps a keyboard, a send key and a
    page.
    """

    def __init__(
        self,
        port: Port,
        profile: Profile,
        clock: Clock,
        keyboard: InputSource | None,
        taking: TakingMode,
        *,
        page: InputSource | None = None,
        with_signals: bool = True,
    ) -> None:
        self._clock = clock
        self._with_signals = with_signals  # a program that uses us has signals of its own
        self._others = {"keyboard": keyboard, "send key": taking.send_key, "page": page}
        # A signal handler may put into this kind of queue at any moment, also while it is read.
        self._queue: queue.SimpleQueue[Item] = queue.SimpleQueue()
        # What a person does goes before what a gauge has sent by then, or a flood of readings would
        # keep the word that ends it waiting. Of a gauge that types the lines keep their order.
        self._first = self._queue if taking.is_typed else queue.SimpleQueue[Item]()
        self.is_interrupted = False  # a signal came, heard by the loop or not
        self._stopping = threading.Event()
        self._gauge = GaugeReader(
            port,
            # In a stream equal frames follow each other all the time; a held button shows there
            # as nothing, since one press takes one reading.
            lambda: codec_for(profile, with_repeats=not taking.is_gated),
            clock,
            self._put,
            asking=taking.asking,
            search=taking.search,
        )

    @contextmanager
    def listening(self) -> Iterator[None]:
        """While inside, items come; whatever ends it, the port is given back."""
        put = self._queue.put  # never waits, so it may be called from a signal handler

        def interrupted() -> None:
            self.is_interrupted = True
            self._first.put(Interrupted())
            put(Nudged())

        told = interrupts(interrupted, lambda: put(Nudged()))
        with told if self._with_signals else nullcontext():
            self._gauge.start()
            for name, source in self._others.items():
                if source is not None:
                    threading.Thread(
                        target=self._listen, args=(source,), name=name, daemon=True
                    ).start()
            try:
                yield
            finally:
                self._stopping.set()
                self._gauge.stop()

    def take(self, patience_s: float | None) -> Item | None:
        """Wait for the next item, without end if `patience_s` is None; None: there was none."""
        with suppress(queue.Empty):
            return self._first.get_nowait()
        try:
            return self._queue.get(timeout=patience_s)
        except queue.Empty:
            return None

    def ask(self) -> None:
        """Send the gauge its request."""
        self._gauge.ask()

    def _listen(self, source: InputSource) -> None:
        """A keyboard's thread: stamp what comes as it comes; no thread dies in silence."""
        try:
            source(self._put_first)
        except Exception as error:
            self._put(error)

    def _stamped(self, item: Item) -> Item:
        match item:
            case Typed():
                return Typed(item.text, self._clock.now())
            case SendPressed():
                return SendPressed(self._clock.now())
            case PagePressed():
                return replace(item, at=self._clock.now())
            case KeyWord():
                return KeyWord(item.word, self._clock.now())
            case KeyRefused():
                return KeyRefused(item.words, self._clock.now())
            case _:
                return item

    def _put_first(self, item: Item) -> None:
        """From a keyboard's thread: before what waits of the gauge, as soon as there is room."""
        stamped = self._stamped(item)
        if self._has_room(self._first):
            self._first.put(stamped)
            if self._first is not self._queue:
                self._queue.put(Nudged())  # whoever waits there looks again

    def _put(self, item: Item) -> None:
        """From the threads: an item, as soon as there is room for it."""
        if self._has_room(self._queue):
            self._queue.put(item)

    def _has_room(self, where: queue.SimpleQueue[Item]) -> bool:
        """Wait for room; False where nothing is taken out any more."""
        while where.qsize() >= QUEUE_SIZE:
            if self._stopping.wait(FULL_WAIT_S):
                return False
        return True
