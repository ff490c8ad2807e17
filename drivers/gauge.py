"""The read loop of one gauge, run by one thread: read, feed, pass on, ask when told to.

After a loss it looks for the same gauge until that is back.
"""

import threading
from collections.abc import Callable
from typing import TypeAlias

import msgspec

from drivers.clock import Clock
from drivers.codec import Codec
from drivers.errors import PortError, PortLost
from drivers.ports.base import DeviceId, Port
from drivers.reading import LATE, Instant, Outcome, Reading, Reject

FIRST_LOOK_S = 0.5
LONGEST_LOOK_S = 5.0
"""Between two looks for a lost gauge: at first so often, then ever more seldom."""

NOTICE_EVERY_S = 1.0
_FAR_NS = 10**12
"""A silence longer than any that a profile waits for."""


class GaugeLost(msgspec.Struct, frozen=True):
    """The port is gone."""

    lost: PortLost
    at: Instant


class GaugeBack(msgspec.Struct, frozen=True):
    """A port is open again: which one, and what is on it."""

    port: str
    identity: DeviceId
    at: Instant


class Notice(msgspec.Struct, frozen=True):
    """Something about the link that is neither a reading nor bytes."""

    text: str
    at: Instant


FromGauge: TypeAlias = Outcome | GaugeLost | GaugeBack | Notice | Exception
Search: TypeAlias = Callable[[Port], Port | None]
"""One look for the gauge of a lost port: it is open again, or None. A PortError says why not."""


class Asking(msgspec.Struct, frozen=True):
    """How a gauge that answers is asked: `reply_s` is the longest wait for an answer; with
    `every_s` it is asked again and again, so long after each answer.
    """

    reply_s: float = 1.0
    every_s: float | None = None


class GaugeReader:
    """Reads one open port until it is lost for good or `stop` is called.

    Every outcome goes to `put`; a loss is a GaugeLost, then with a `search` a GaugeBack once the
    gauge is found again, else nothing more. Any other exception is passed on last: no thread dies
    in silence. A port is closed by the thread that reads it.
    """

    def __init__(
        self,
        port: Port,
        codec_of: Callable[[], Codec],
        clock: Clock,
        put: Callable[[FromGauge], None],
        *,
        asking: Asking | None = None,
        search: Search | None = None,
    ) -> None:
        self._port = port
        self._codec_of = codec_of
        self._codec = codec_of()
        self._clock = clock
        self._put = put
        self._asking = asking
        self._search = search
        self._stopping = threading.Event()
        self._asked = threading.Event()
        self._due_ns: int | None = None  # when the answer must be here
        self._next_ns: int | None = None  # when to ask by itself
        self._is_late = False
        self._noticed: list[str] = []
        self._noticed_ns: int | None = None
        self._thread = threading.Thread(target=self._run, name="gauge", daemon=True)

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def ask(self) -> None:
        """Ask the gauge for a reading as soon as can be; from any thread."""
        self._asked.set()
        self._port.wake()

    def stop(self, deadline_s: float = 2.0) -> None:
        """End the loop and give the port back; waits at most `deadline_s`."""
        self._stopping.set()
        self._port.wake()
        if self._thread.is_alive():
            self._thread.join(deadline_s)

    def _run(self) -> None:
        try:
            while not self._stopping.is_set():
                try:
                    self._loop()
                except PortLost as lost:
                    if self._stopping.is_set() or not self._lost(lost):
                        return
        except Exception as error:
            self._put(error)
        finally:
            self._port.close()

    def _loop(self) -> None:
        port, clock = self._port, self._clock
        if self._asking is not None and self._asking.every_s is not None:
            self._next_ns = clock.now().mono_ns
        codec, put, is_asked = self._codec, self._put, self._asking is not None
        while not self._stopping.is_set():
            data = port.read(self._wait_s() if is_asked or self._noticed else codec.silence_s)
            at = clock.now()
            outcomes = codec.feed(data, at) if data else codec.idle(at)
            words = port.notices()
            if words or self._noticed:
                self._notice(words, at, is_due=bool(outcomes))
            for outcome in outcomes:
                put(self._marked(outcome, at) if is_asked else outcome)
            if is_asked:
                self._ask_if_due(port, at)

    def _wait_s(self) -> float | None:
        """Until the codec wants to hear of silence, an answer is overdue or a request is due."""
        waits = [] if self._codec.silence_s is None else [self._codec.silence_s]
        moments = [ns for ns in (self._due_ns, self._next_ns) if ns is not None]
        if self._noticed and self._noticed_ns is not None:
            moments.append(self._noticed_ns + int(NOTICE_EVERY_S * 1e9))
        if moments:
            left_ns = min(moments) - self._clock.now().mono_ns
            waits.append(max(left_ns, 0) / 1e9 + 0.001)  # poll counts in whole milliseconds
        return min(waits, default=None)

    def _marked(self, outcome: Outcome, at: Instant) -> Outcome:
        """An outcome of a gauge that is asked: the answer, or one that comes too late to be it."""
        if self._due_ns is not None:
            self._due_ns = None
            self._answered(at)
        elif self._is_late and isinstance(outcome, Reading):
            self._is_late = False
            flags = tuple(sorted({*outcome.flags, LATE}))
            return msgspec.structs.replace(outcome, flags=flags)
        return outcome

    def _answered(self, at: Instant) -> None:
        every_s = self._asking.every_s if self._asking is not None else None
        if every_s is not None:
            self._next_ns = at.mono_ns + int(every_s * 1e9)

    def _ask_if_due(self, port: Port, at: Instant) -> None:
        assert self._asking is not None
        if self._due_ns is not None:
            if at.mono_ns < self._due_ns:
                return  # one request at a time: a second answer could not be told from the first
            self._due_ns = None
            self._is_late = True
            self._answered(at)
            wait_ms = round(self._asking.reply_s * 1000)
            self._put(Reject("no-reply", f"the gauge gave no answer within {wait_ms} ms", b"", at))
        by_itself = self._next_ns is not None and at.mono_ns >= self._next_ns
        if not (by_itself or self._asked.is_set()):
            return
        self._asked.clear()
        self._next_ns = None
        request = self._codec.request()
        if request is None:
            return
        self._is_late = False
        self._due_ns = self._clock.now().mono_ns + int(self._asking.reply_s * 1e9)
        port.write(request)

    def _notice(self, words: tuple[str, ...], at: Instant, *, is_due: bool) -> None:
        """Pass on what the link met: before an outcome, else at most once in NOTICE_EVERY_S
        whatever the device sends.
        """
        self._noticed.extend(words)
        last = self._noticed_ns
        if is_due or last is None or at.mono_ns - last >= NOTICE_EVERY_S * 1e9:
            self._noticed_ns = at.mono_ns
            self._put(Notice(_counted(self._noticed), at))
            self._noticed.clear()

    def _lost(self, lost: PortLost) -> bool:
        """Tell of the loss and wait for the gauge to come back; False if it is not waited for."""
        at = self._clock.now()
        # What lies half-read will never be whole: it is told of, not dropped.
        for outcome in self._codec.idle(Instant(at.utc_us, at.mono_ns + _FAR_NS)):
            self._put(msgspec.structs.replace(outcome, at=at))
        if self._noticed:
            self._put(Notice(_counted(self._noticed), at))
            self._noticed.clear()
        self._due_ns = self._next_ns = None
        self._is_late = False
        self._asked.clear()
        self._put(GaugeLost(lost, at))
        if self._search is None:
            return False
        self._port.close()  # held open, it would keep its name from the device that comes back
        found = self._found(self._search)
        if found is None:
            return False
        self._port = found
        self._codec = self._codec_of()
        self._put(GaugeBack(found.name, found.identity, self._clock.now()))
        return True

    def _found(self, search: Search) -> Port | None:
        """The port once it is back; None when told to stop."""
        wait_s, met, said = FIRST_LOOK_S, "", ""
        while not self._stopping.wait(wait_s):
            port = None
            try:
                port = search(self._port)
            except PortError as error:
                # Told when met twice: a node that the system is still making is not permitted yet.
                if str(error) == met != said:
                    said = met
                    self._put(Notice(said, self._clock.now()))
                met = str(error)
            if port is not None:
                return port
            wait_s = min(wait_s * 1.5, LONGEST_LOOK_S)
        return None


def _counted(words: list[str]) -> str:
    """Words in the order of their first coming, each with how often it came."""
    counts: dict[str, int] = {}
    for word in words:
        counts[word] = counts.get(word, 0) + 1
    shown = [word if n == 1 else f"{word} ({n} times)" for word, n in list(counts.items())[:8]]
    more = len(counts) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
