"""What lies in a port as the reading begins has a moment before anybody is asked for anything."""

import time
from queue import Queue

import pytest

from drivers.attached.device_id import DeviceId
from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.errors import PortLost
from drivers.gauge.reader import FromGauge, GaugeLost, GaugeReader
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Reading, plain

PATIENCE_S = 5.0
BY_END = (
    'schema = 1\nid = "t"\nkind = "text"\n[frame]\nend = "\\r\\n"\nidle_ms = 60\n'
    '[[layout]]\nname = "number"\nform = "fixed"\n'
)
BY_SILENCE = BY_END.replace('end = "\\r\\n"\n', "")


class Filled:
    """A port in which bytes lie; more come later. An exception is raised in its turn."""

    name = "filled"
    identity = DeviceId("filled")

    def __init__(self, *steps: bytes | Exception, later: bytes = b"") -> None:
        self._steps = list(steps)
        self._later = later

    def read(self, timeout_s: float | None) -> bytes:
        if self._steps:
            step = self._steps.pop(0)
            if isinstance(step, Exception):
                raise step
            return step
        if timeout_s == 0.0:
            return b""
        time.sleep(0.1 if timeout_s is None else min(timeout_s, 0.1))
        later, self._later = self._later, b""
        return later

    def write(self, data: bytes) -> None: ...

    def notices(self) -> tuple[str, ...]:
        return ()

    def wake(self) -> None: ...

    def close(self) -> None: ...


def heard(port: Filled, profile: str, count: int) -> tuple[Instant, list[FromGauge]]:
    """When the reading had begun, and what came."""
    queue, clock = Queue[FromGauge](), Clock()
    parsed = parse_profile(profile, "t.toml")
    reader = GaugeReader(port, lambda: codec_for(parsed), clock, queue.put)
    reader.start()
    begun = clock.now()
    items = [queue.get(timeout=PATIENCE_S) for _ in range(count)]
    reader.stop()
    return begun, items


def values(items: list[FromGauge]) -> list[str]:
    return [plain(item.value) for item in items if isinstance(item, Reading)]


@pytest.mark.parametrize("cut", range(1, 10))
def test_whole_frames_that_lie_there_are_of_before_and_what_comes_later_is_not(cut: int) -> None:
    port = Filled(b"1.0\r\n2.0\r\n"[:cut], b"1.0\r\n2.0\r\n"[cut:], later=b"3.0\r\n")
    begun, items = heard(port, BY_END, 3)
    assert values(items) == ["1.0", "2.0", "3.0"]
    early = [item.at.mono_ns <= begun.mono_ns for item in items if isinstance(item, Reading)]
    assert early == [True, True, False]


def test_of_a_frame_that_only_silence_ends_too() -> None:
    begun, (item,) = heard(Filled(b"1.0"), BY_SILENCE, 1)
    assert isinstance(item, Reading)
    assert item.at.mono_ns <= begun.mono_ns


def test_a_loss_met_at_the_start_is_told_as_any_other() -> None:
    _, items = heard(Filled(b"1.0\r\n", PortLost("filled", "gone")), BY_END, 2)
    assert values(items) == ["1.0"]
    assert isinstance(items[1], GaugeLost)


def test_a_stream_without_a_pause_does_not_keep_the_start_waiting() -> None:
    class Endless(Filled):
        def read(self, timeout_s: float | None) -> bytes:
            time.sleep(0.001)
            return b"1.0\r\n"

    before_s = time.monotonic()
    heard(Endless(), BY_END, 1)
    assert time.monotonic() - before_s < PATIENCE_S
