"""The read loop of one gauge, run by one thread: read, feed, pass on, ask when told to.

After a loss it looks for the same gauge until that is back.
"""

import threading
from collections.abc import Callable, Sequence
from typing import TypeAlias

import msgspec

from drivers.attached.device_id import DeviceId
from drivers.clock import Clock
from drivers.dialects.codec import Codec
from drivers.errors import PortError, PortLost
from drivers.gauge.asking import Asking, Dialogue
from drivers.ports.base import Port
from drivers.reading import Instant, Outcome, Reading, Reject, escaped

FIRST_LOOK_S = 0.5
LONGEST_LOOK_S = 5.0
"""Between two looks for a lost gauge: at first so often, then ever more seldom."""

TRIAL_S = 0.5
"""A port that is lost within this time has not come back: a server that accepts and hangs up."""

NOTICE_EVERY_S = 1.0
LONGEST_DRAIN_NS = 200_000_000
"""A stream without a pause is not waited for at the start."""

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
Search: TypeAlias = Callable[[Port, float], Port | None]
"""One look for the gauge of a lost port, so many seconds after the loss: it is open again, or None.
A PortError says why not.
"""


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
        self._dialogue = None if asking is None else Dialogue(asking)
        self._search = search
        self._look_s = FIRST_LOOK_S
        self._stopping = threading.Event()
        self._asked = threading.Event()
        self._noticed: list[str] = []
        self._noticed_ns: int | None = None
        self._early = b""
        self._met: Exception | None = None
        self._early_at: Instant | None = None
        self._thread = threading.Thread(target=self._run, name="gauge", daemon=True)

    def start(self) -> None:
        """Begin to read. What lies in the port by now is taken out first, so that it has a moment
        before this call returns: it was sent before anybody was asked for anything.
        """
        self._drain()
        self._thread.start()

    def _drain(self) -> None:
        """Whoever opened the port still owns it. What goes wrong here is told by the thread."""
        until_ns = self._clock.now().mono_ns + LONGEST_DRAIN_NS
        try:
            while data := self._port.read(0.0):
                self._early += data
                if self._clock.now().mono_ns >= until_ns:
                    break
        except Exception as error:
            self._met = error
        self._early_at = self._clock.now()

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
            first: bytes | None = self._early
            while first is not None and not self._stopping.is_set():
                try:
                    self._loop(first)
                except PortLost as lost:
                    first = None if self._stopping.is_set() else self._lost(lost)
        except Exception as error:
            self._put(error)
        finally:
            self._port.close()

    def _loop(self, first: bytes = b"") -> None:
        """Until the port is lost; `first` has been read already."""
        port, clock, put, dialogue = self._port, self._clock, self._put, self._dialogue
        codec, data, is_over = self._codec, first, self._stopping.is_set
        while not is_over():
            if not data:
                is_plain = dialogue is None and not self._noticed
                if self._met is not None:
                    met, self._met = self._met, None
                    raise met
                data = port.read(codec.silence_s if is_plain else self._wait_s())
            at = clock.now()
            outcomes = codec.feed(data, at) if data else codec.idle(at)
            if self._early_at is not None:
                outcomes = self._stamped_early(outcomes, self._early_at, has_bytes=bool(data))
            data = b""
            words = port.notices()
            if words or self._noticed:
                self._notice(words, at, is_due=any(isinstance(o, Reading) for o in outcomes))
            for outcome in outcomes:
                self._look_s = FIRST_LOOK_S  # the gauge is really there
                put(outcome if dialogue is None else dialogue.heard(outcome, at.mono_ns))
            if dialogue is not None:
                self._ask_if_due(dialogue, at)

    def _stamped_early(
        self, outcomes: Sequence[Outcome], at: Instant, *, has_bytes: bool
    ) -> list[Outcome]:
        """Outcomes of what lay in the port at the start or a return, stamped with that moment: also
        where only silence shows that a frame was whole. Bytes that came later end this.
        """
        if has_bytes and self._early:
            self._early = b""
        elif has_bytes or self._codec.silence_s is None:
            self._early_at = None
            if has_bytes:
                return list(outcomes)
        return [msgspec.structs.replace(outcome, at=at) for outcome in outcomes]

    def _wait_s(self) -> float | None:
        """Until the codec wants to hear of silence, an answer is overdue or a request is due."""
        waits = [] if self._codec.silence_s is None else [self._codec.silence_s]
        moments = []
        if self._dialogue is not None and not self._codec.is_whole:
            moments.append(self._dialogue.wakes_ns)
        if self._noticed and self._noticed_ns is not None:
            moments.append(self._noticed_ns + int(NOTICE_EVERY_S * 1e9))
        for moment in moments:
            if moment is not None:
                left_ns = moment - self._clock.now().mono_ns
                waits.append(max(left_ns, 0) / 1e9 + 0.001)  # poll counts in whole milliseconds
        return min(waits, default=None)

    def _ask_if_due(self, dialogue: Dialogue, at: Instant) -> None:
        if self._codec.is_whole:
            return  # the answer came in time: the silence that ends it is not the gauge's delay
        overdue = dialogue.overdue(at)
        if overdue is not None:
            self._put(overdue)
        if dialogue.is_waiting or not (self._asked.is_set() or dialogue.is_time(at.mono_ns)):
            return
        self._asked.clear()
        request = self._codec.request()
        if request is not None:
            dialogue.asked(self._clock.now().mono_ns)
            self._port.write(request)

    def _notice(self, words: tuple[str, ...], at: Instant, *, is_due: bool) -> None:
        """Pass on what the link met: before a reading, else at most once in NOTICE_EVERY_S whatever
        the device sends.
        """
        self._noticed.extend(words)
        last = self._noticed_ns
        if is_due or last is None or at.mono_ns - last >= NOTICE_EVERY_S * 1e9:
            self._noticed_ns = at.mono_ns
            self._put(Notice(_counted(self._noticed), at))
            self._noticed.clear()

    def _lost(self, lost: PortLost) -> bytes | None:
        """Tell of the loss and wait for the gauge to come back; gives what it said first by then,
        None if it is not waited for.
        """
        at = self._clock.now()
        # What lies half-read will never be whole: it is told of, and no silence made it a reading.
        for outcome in self._codec.idle(Instant(at.utc_us, at.mono_ns + _FAR_NS)):
            self._put(_cut_off(outcome, at))
        if self._noticed:
            self._put(Notice(_counted(self._noticed), at))
            self._noticed.clear()
        self._asked.clear()
        self._put(GaugeLost(lost, at))
        if self._search is None:
            return None
        self._port.close()  # held open, it would keep its name from the device that comes back
        found = self._found(self._search, at)
        if found is None:
            return None
        self._port, first = found
        self._codec = self._codec_of()
        self._dialogue = None if self._asking is None else Dialogue(self._asking)
        # What it said by now came before anybody was told that it is back.
        self._early, self._early_at = first, self._clock.now()
        self._put(GaugeBack(self._port.name, self._port.identity, self._clock.now()))
        return first

    def _found(self, search: Search, gone: Instant) -> tuple[Port, bytes] | None:
        """The port once it is back, and what it said first; None when told to stop."""
        met = said = ""
        while not self._stopping.wait(self._look_s):
            self._look_s = min(self._look_s * 1.5, LONGEST_LOOK_S)
            try:
                port = search(self._port, (self._clock.now().mono_ns - gone.mono_ns) / 1e9)
            except PortError as error:
                # Told when met twice: a node that the system is still making is not permitted yet.
                if str(error) == met != said:
                    said = met
                    self._put(Notice(said, self._clock.now()))
                met = str(error)
                continue
            if port is None:
                continue
            try:
                return port, port.read(TRIAL_S)
            except PortLost:
                port.close()  # it opens, but there is nothing behind it
        return None


def _cut_off(outcome: Outcome, at: Instant) -> Outcome:
    """What was half-read at a loss: never a reading, though silence would have ended its frame."""
    if isinstance(outcome, Reading):
        words = f"the link was lost in the middle of it; got {escaped(outcome.raw)}"
        return Reject("truncated", words, outcome.raw, at)
    return msgspec.structs.replace(outcome, at=at)


def _counted(words: list[str]) -> str:
    """Words in the order of their first coming, each with how often it came."""
    counts: dict[str, int] = {}
    for word in words:
        counts[word] = counts.get(word, 0) + 1
    shown = [word if n == 1 else f"{word} ({n} times)" for word, n in list(counts.items())[:8]]
    more = len(counts) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
