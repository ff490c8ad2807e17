"""The read loop of one gauge, run by one thread: open, wait, feed, pass on; end on loss or stop."""

import threading
from collections.abc import Callable
from typing import TypeAlias

import msgspec

from drivers.clock import Clock
from drivers.codec import Codec
from drivers.errors import PortLost
from drivers.ports.base import Port
from drivers.reading import Instant, Outcome


class GaugeLost(msgspec.Struct, frozen=True):
    """The port is gone; the last thing that a read loop passes on."""

    lost: PortLost
    at: Instant


FromGauge: TypeAlias = Outcome | GaugeLost | Exception


class GaugeReader:
    """Reads one open port until it is lost or `stop` is called.

    Every outcome goes to `put`, then at most one GaugeLost or an exception: no thread dies in
    silence. The port is closed by the thread that reads it.
    """

    def __init__(
        self,
        port: Port,
        codec: Codec,
        clock: Clock,
        put: Callable[[FromGauge], None],
    ) -> None:
        self._port = port
        self._codec = codec
        self._clock = clock
        self._put = put
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="gauge", daemon=True)

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def stop(self, deadline_s: float = 2.0) -> None:
        """End the loop and give the port back; waits at most `deadline_s`."""
        self._stopping.set()
        self._port.wake()
        if self._thread.is_alive():
            self._thread.join(deadline_s)

    def _run(self) -> None:
        try:
            self._loop()
        except PortLost as lost:
            if not self._stopping.is_set():
                self._put(GaugeLost(lost, self._clock.now()))
        except Exception as error:
            self._put(error)
        finally:
            self._port.close()

    def _loop(self) -> None:
        codec, port, clock = self._codec, self._port, self._clock
        while not self._stopping.is_set():
            data = port.read(codec.silence_s)
            at = clock.now()
            for outcome in codec.feed(data, at) if data else codec.idle(at):
                self._put(outcome)
