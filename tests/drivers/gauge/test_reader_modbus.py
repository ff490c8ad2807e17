"""A Modbus gauge that is asked: its answer ends with silence, which is no delay of its own."""

import math
import threading
from queue import Queue

from drivers.attached.device_id import DeviceId
from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.gauge.asking import Asking
from drivers.gauge.reader import FromGauge, GaugeReader
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Reading, Reject, plain

PATIENCE_S = 5.0
REPLY_MS = 30
PROFILE = parse_profile(
    'schema = 1\nid = "t"\nkind = "modbus-rtu"\n[modbus]\nunit_id = 1\nfunction = 3\naddress = 0\n'
    'count = 1\ntype = "int16"\n[value]\nunit = "mm"\n',
    "t.toml",
)
ANSWER = bytes.fromhex("0103020007f986")  # 7; the CRC by pymodbus 3.16.1


class Played(Clock):
    """A clock that only the port moves on."""

    def __init__(self) -> None:
        self.ms = 0.0

    def now(self) -> Instant:
        return Instant(int(self.ms * 1000), int(self.ms * 1_000_000))


class Gauge:
    """A port whose gauge answers `after_ms` a request; waiting for it moves the clock."""

    name = "played"
    identity = DeviceId("played")

    def __init__(self, clock: Played, after_ms: float) -> None:
        self._clock = clock
        self._after_ms = after_ms
        self._answers_at: float | None = None
        self._woken = threading.Event()

    def read(self, timeout_s: float | None) -> bytes:
        until = math.inf if timeout_s is None else self._clock.ms + timeout_s * 1000
        if self._answers_at is not None and self._answers_at <= until:
            self._clock.ms, self._answers_at = max(self._clock.ms, self._answers_at), None
            return ANSWER
        if timeout_s is None:
            assert self._woken.wait(PATIENCE_S)
            self._woken.clear()
        else:
            self._clock.ms = until
        return b""

    def write(self, data: bytes) -> None:
        self._answers_at = self._clock.ms + self._after_ms

    def notices(self) -> tuple[str, ...]:
        return ()

    def wake(self) -> None:
        self._woken.set()

    def close(self) -> None: ...


def asked(after_ms: float) -> list[str]:
    """What is told of one request whose answer takes so long, up to the reading."""
    queue: Queue[FromGauge] = Queue()
    clock = Played()
    gauge = Gauge(clock, after_ms)
    reader = GaugeReader(
        gauge, lambda: codec_for(PROFILE), clock, queue.put, asking=Asking(REPLY_MS / 1000)
    )
    reader.start()
    reader.ask()
    told: list[str] = []
    try:
        while True:
            item = queue.get(timeout=PATIENCE_S)
            if isinstance(item, Reading):
                return [*told, " ".join((plain(item.value), *item.flags))]
            assert isinstance(item, Reject), item
            told.append(item.code)
    finally:
        reader.stop()


def test_an_answer_is_in_time_though_the_silence_behind_it_is_over_later() -> None:
    # 40 ms of silence end it, more than the gauge has for its answer
    assert asked(after_ms=1) == ["7"]
    assert asked(after_ms=REPLY_MS - 1) == ["7"]


def test_an_answer_that_begins_too_late_is_missed_and_marked() -> None:
    assert asked(after_ms=REPLY_MS + 5) == ["no-reply", "7 late"]
