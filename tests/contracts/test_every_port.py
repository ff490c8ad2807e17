"""What holds for every kind of port: silence, bytes, loss, wake-up, double close, reopen."""

import os
import socket
import sys
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Protocol

import pytest
import serial
from serial.rfc2217 import PortManager

from drivers.errors import PortLost
from drivers.ports import FACTORIES, open_port, usb_interface
from drivers.ports.base import Port
from drivers.profile.profile import Link
from tests.drivers.fake_usb import FakeDevice, FakeUsb, typed

PATIENCE_S = 5.0

pytestmark = pytest.mark.filterwarnings(
    "ignore:set(Daemon|Name).. is deprecated:DeprecationWarning"
)
"""pyserial 3.5 starts the thread of an rfc2217 client in a way that Python calls outdated."""


class OtherEnd(Protocol):
    """The gauge's side of a port."""

    name: str

    def send(self, data: bytes) -> None: ...
    def received(self, count: int) -> bytes: ...
    def lose(self) -> None: ...
    def close(self) -> None: ...


class Pty:
    """A pseudo-terminal."""

    def __init__(self) -> None:
        self._gauge, self._program = os.openpty()
        tty.setraw(self._program)
        self.name = os.ttyname(self._program)

    def send(self, data: bytes) -> None:
        os.write(self._gauge, data)

    def received(self, count: int) -> bytes:
        return os.read(self._gauge, count)

    def lose(self) -> None:
        self.close()

    def close(self) -> None:
        for descriptor in (self._gauge, self._program):
            with suppress(OSError):
                os.close(descriptor)


class Tcp:
    """A server on this machine that serves one program after the other."""

    scheme = "socket"

    def __init__(self) -> None:
        self._server = socket.create_server(("127.0.0.1", 0))
        self.name = f"{self.scheme}://127.0.0.1:{self._server.getsockname()[1]}"
        self._changed = threading.Condition()
        self._link: socket.socket | None = None
        self._got = b""
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        while True:
            try:
                link, _ = self._server.accept()
            except OSError:
                return
            with link:
                self._begin(link)
                with suppress(OSError):
                    while data := link.recv(4096):
                        with self._changed:
                            self._got += self._data_in(data)
                            self._changed.notify_all()
                with self._changed:
                    self._link = None

    def _begin(self, link: socket.socket) -> None:
        with self._changed:
            self._link = link
            self._changed.notify_all()

    def _data_in(self, data: bytes) -> bytes:
        return data

    def _data_out(self, data: bytes) -> bytes:
        return data

    def send(self, data: bytes) -> None:
        with self._changed:
            assert self._changed.wait_for(lambda: self._link is not None, PATIENCE_S)
            assert self._link is not None
            self._link.sendall(self._data_out(data))

    def received(self, count: int) -> bytes:
        with self._changed:
            assert self._changed.wait_for(lambda: len(self._got) >= count, PATIENCE_S)
            return self._got

    def lose(self) -> None:
        with self._changed:
            if self._link is not None:
                with suppress(OSError):
                    self._link.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        self.lose()
        with suppress(OSError):
            self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()
        self._thread.join(PATIENCE_S)


class Rfc2217(Tcp):
    """A serial port server; the telnet side is the server class that pyserial brings along."""

    scheme = "rfc2217"

    def _begin(self, link: socket.socket) -> None:
        self._device = serial.serial_for_url("loop://")
        self._wire = link
        # the stubs ask for a client object; the class takes any serial object and any writer
        self._manager = PortManager(self._device, self)  # type: ignore[arg-type]
        super()._begin(link)

    def write(self, data: bytes) -> None:
        """What the port manager wants to say to the client."""
        with suppress(OSError):
            self._wire.sendall(data)

    def _data_in(self, data: bytes) -> bytes:
        return b"".join(self._manager.filter(data))

    def _data_out(self, data: bytes) -> bytes:
        return b"".join(self._manager.escape(data))


class Loop:
    """The port that is its own other end."""

    name = "loop://"
    port: Port | None = None

    def send(self, data: bytes) -> None:
        assert self.port is not None
        self.port.write(data)

    def received(self, count: int) -> bytes:
        assert self.port is not None
        return gathered(self.port, count)

    def lose(self) -> None:
        raise NotImplementedError

    def close(self) -> None:
        """Nothing to give back."""


class Keyboard:
    """A keyboard-type gauge on a bus that is played: it types, and nothing can be sent to it."""

    name = "usb:1209:0002@1-2"

    def __init__(self) -> None:
        self._device = FakeDevice(serial=None)
        self._bus = FakeUsb(self._device)
        usb_interface.BACKEND = self._bus

    def send(self, data: bytes) -> None:
        self._bus.send(self._device, *typed(data.decode()))

    def received(self, count: int) -> bytes:
        raise NotImplementedError

    def lose(self) -> None:
        self._bus.unplug(self._device)

    def close(self) -> None:
        usb_interface.BACKEND = None


KINDS: dict[str, Callable[[], OtherEnd]] = {
    "device": Pty,
    "socket": Tcp,
    "rfc2217": Rfc2217,
    "loop": Loop,
    "usb": Keyboard,
}
IN_SLICES = {f"{kind} in slices": KINDS[kind] for kind in ("device", "socket")}
"""The same on systems whose descriptors cannot be polled; the other kinds have one way only."""
ALL = KINDS | IN_SLICES
WITH_ANOTHER_END = [kind for kind in ALL if kind != "loop"]
WITH_BYTES_BOTH_WAYS = [kind for kind in ALL if kind != "usb"]
"""Keys are characters of a layout, one way only."""


def gathered(port: Port, count: int) -> bytes:
    """So many bytes from a port, in however many reads."""
    got = b""
    deadline = time.monotonic() + PATIENCE_S
    while len(got) < count and time.monotonic() < deadline:
        got += port.read(1.0)
    return got


@pytest.fixture(params=ALL)
def end(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[OtherEnd]:
    if request.param in IN_SLICES:
        monkeypatch.setitem(sys.modules, "drivers.ports.polled_line", None)
    made = ALL[request.param]()
    yield made
    made.close()


@pytest.fixture
def port(end: OtherEnd) -> Iterator[Port]:
    opened = open_port(end.name, Link())
    if isinstance(end, Loop):
        end.port = opened
    yield opened
    opened.close()


def test_every_kind_of_port_is_tested() -> None:
    assert set(KINDS) == {"device", *FACTORIES}


def test_each_side_waits_in_its_own_way(request: pytest.FixtureRequest, port: Port) -> None:
    way = "PolledLine" if request.node.callspec.params["end"] in ("device", "socket") else ""
    line = getattr(port, "_line", None)
    assert line is None or type(line).__name__ == (way or "SlicedLine")


def test_silence_is_no_bytes_in_time(port: Port) -> None:
    began = time.monotonic()
    assert port.read(0.05) == b""
    assert time.monotonic() - began < 2.0


@pytest.mark.parametrize("end", WITH_BYTES_BOTH_WAYS, indirect=True)
def test_every_byte_value_arrives_unchanged(end: OtherEnd, port: Port) -> None:
    every = bytes(range(256))
    end.send(every)
    assert gathered(port, 256) == every


def test_bytes_that_wait_are_read_without_waiting(end: OtherEnd, port: Port) -> None:
    end.send(b"+59.982\n")
    assert gathered(port, 8) == b"+59.982\n"
    end.send(b"-1.5\n")
    assert gathered(port, 5) == b"-1.5\n"


@pytest.mark.parametrize("end", WITH_BYTES_BOTH_WAYS, indirect=True)
def test_written_bytes_arrive_at_the_other_end(end: OtherEnd, port: Port) -> None:
    port.write(b"READ?\n\xff")
    assert end.received(7) == b"READ?\n\xff"


def test_name_and_identity_are_known(end: OtherEnd, port: Port) -> None:
    assert port.name == end.name
    assert (port.identity.text, port.identity.serial) == (end.name, None)


@pytest.mark.parametrize("end", WITH_ANOTHER_END, indirect=True)
def test_loss_raises_port_lost(end: OtherEnd, port: Port) -> None:
    end.send(b"x")
    assert gathered(port, 1) == b"x"
    end.lose()
    with pytest.raises(PortLost) as caught:
        gathered(port, 1)
    assert caught.value.port == end.name
    port.close()


@pytest.mark.parametrize("end", WITH_ANOTHER_END, indirect=True)
def test_bytes_sent_before_the_loss_are_read_before_it_is_told(end: OtherEnd, port: Port) -> None:
    end.send(b"last")
    assert gathered(port, 4) == b"last"
    end.lose()
    with pytest.raises(PortLost):
        gathered(port, 1)


def test_silence_is_no_notice(port: Port) -> None:
    assert port.read(0.01) == b""
    assert port.notices() == ()


def test_a_port_may_be_closed_twice(port: Port) -> None:
    port.close()
    port.close()


def test_a_closed_port_is_lost_to_reading_and_writing(port: Port) -> None:
    port.close()
    with pytest.raises(PortLost, match="closed"):
        port.read(0.05)
    with pytest.raises(PortLost, match="closed"):
        port.write(b"x")


def test_a_closed_port_may_be_woken(port: Port) -> None:
    port.close()
    port.wake()


@pytest.mark.parametrize("timeout_s", [30.0, None])
def test_a_wake_up_ends_a_waiting_read(port: Port, timeout_s: float | None) -> None:
    waker = threading.Timer(0.05, port.wake)
    waker.start()
    began = time.monotonic()
    assert port.read(timeout_s) == b""
    assert time.monotonic() - began < 2.0
    waker.join()


def test_many_wake_ups_lose_no_bytes(end: OtherEnd, port: Port) -> None:
    for _ in range(100):
        port.wake()
    end.send(b"1.5\n")
    assert gathered(port, 4) == b"1.5\n"


def test_a_closed_port_can_be_opened_again(end: OtherEnd, port: Port) -> None:
    port.close()
    again = open_port(end.name, Link())
    try:
        if isinstance(end, Loop):
            end.port = again
        end.send(b"back\n")
        assert gathered(again, 5) == b"back\n"
        assert again.identity == port.identity
    finally:
        again.close()
