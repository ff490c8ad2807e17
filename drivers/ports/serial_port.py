"""Serial ports over pyserial: device paths, socket://, rfc2217:// and loop://."""

import contextlib
import errno
import os
import threading

import serial

from drivers.attached.access import rights_on, why_not
from drivers.attached.device_id import DeviceId
from drivers.attached.discovery import identity_of, may_be_usb
from drivers.attached.holders import holders_of
from drivers.errors import PortBusy, PortError, PortLost, PortUnavailable
from drivers.ports import network
from drivers.ports.line import FAILURES, SLICE_S, TERMINAL_ERRORS, Ended, NotTaken, line_of
from drivers.profile.profile import Link

WRITE_TIMEOUT_S = 2.0

_BITS = {5: serial.FIVEBITS, 6: serial.SIXBITS, 7: serial.SEVENBITS, 8: serial.EIGHTBITS}


class SerialPort:
    """One open pyserial port."""

    def __init__(
        self,
        name: str,
        device: serial.SerialBase,
        identity: DeviceId,
        notices: tuple[str, ...] = (),
    ) -> None:
        self._name = name
        self._notices = notices
        self._first = b""
        self._device = device
        self._identity = identity
        self._lock = threading.Lock()
        self._is_open = True
        self._line = line_of(device, is_terminal="://" not in name)

    @property
    def name(self) -> str:
        """As the user wrote it."""
        return self._name

    @property
    def identity(self) -> DeviceId:
        """Serial number if the system shows one, else the path or URL."""
        return self._identity

    def read(self, timeout_s: float | None) -> bytes:
        """Bytes as soon as there are any; b"" means silence so far, or a wake-up."""
        if not self._is_open:
            raise PortLost(self._name, "it has been closed")
        try:
            data = self._line.read(timeout_s)
        except Ended as ended:
            raise self._lost(None, has_hung_up=ended.has_hung_up) from ended
        except FAILURES as error:
            raise self._lost(error) from error
        if data and len(self._first) < network.FIRST_BYTES:
            self._first += data[: network.FIRST_BYTES]
        return data

    def write(self, data: bytes) -> None:
        """Send all of `data`, waiting at most WRITE_TIMEOUT_S; raises PortLost."""
        if not self._is_open:
            raise PortLost(self._name, "it has been closed")
        try:
            self._line.write(data, WRITE_TIMEOUT_S)
        except NotTaken as error:
            raise PortLost(self._name, _NOT_TAKEN) from error
        except FAILURES as error:
            raise self._lost(error) from error

    def notices(self) -> tuple[str, ...]:
        """What was met when it was opened; later it all shows in the bytes."""
        notices, self._notices = self._notices, ()
        return notices

    def wake(self) -> None:
        """End a waiting `read` early."""
        with self._lock:
            if self._is_open:
                self._line.wake()

    def close(self) -> None:
        """Give the port back; as often as you like."""
        with self._lock:
            if not self._is_open:
                return
            self._is_open = False
            self._line.close()
        with contextlib.suppress(*FAILURES):
            self._device.close()

    def _lost(self, error: Exception | None, *, has_hung_up: bool = False) -> PortLost:
        # Of an unplugged device the name may stay a moment longer; that the line hung up is sure.
        is_there = self._name.startswith("/") and os.path.exists(self._name)
        if is_there and error is None and not has_hung_up:
            reason = (
                "nothing can be read, although the device is there: another program may be "
                "reading the same port. Close that one"
            )
        elif network.is_network(self._name):
            reason = network.why_lost(error, self._first)
        else:
            reason = "it is gone: unplugged or switched off. Plug it in again"
        if error is not None:
            reason += f" ({_words(error)})"
        return PortLost(self._name, reason)


_NOT_TAKEN = (
    f"it did not take what was sent within {WRITE_TIMEOUT_S:g} s. Check the cable and "
    "the flow control"
)


def open_serial(name: str, link: Link) -> SerialPort:
    """Open and configure; exclusive where the system can. Raises PortUnavailable or PortBusy."""
    device: serial.SerialBase | None = None
    notices: tuple[str, ...] = ()
    try:
        if network.is_network(name):
            device = network.client(name)
        else:
            device = serial.serial_for_url(name, do_not_open=True)
        device.baudrate = link.baud
        device.bytesize = _BITS[link.bits]
        device.parity = link.parity
        device.stopbits = int(link.stop) if link.stop in (1, 2) else link.stop
        if isinstance(device, network.TelnetClient):
            device.timeout = SLICE_S  # write_timeout is not implemented there
        else:
            device.write_timeout = WRITE_TIMEOUT_S
        if link.dtr is not None:
            device.dtr = link.dtr
        if link.rts is not None:
            device.rts = link.rts
        if "://" not in name:
            device.exclusive = True
        if isinstance(device, network.TelnetClient):
            notices = network.open_rfc2217(device, name)
        else:
            device.open()
        network.watch_over(device, WRITE_TIMEOUT_S)
    except FAILURES as error:
        raise _refused(name, device, error) from error
    except (ValueError, KeyError) as error:
        reason = network.why_not_open(device, _words(error))
        reason = reason or f"its settings cannot be used ({_words(error)})"
        raise PortUnavailable(name, reason) from error
    return SerialPort(name, device, identity_of(name), notices)


def _refused(name: str, device: serial.SerialBase | None, error: Exception) -> PortError:
    number = getattr(error, "errno", None)
    words = _words(error)
    if isinstance(device, network.TelnetClient) and network.is_in_use(device.said_at_first()):
        return PortBusy(name, "another program is connected to the server. Close that one")
    if number in (errno.EAGAIN, errno.EBUSY) or "exclusively lock" in words:
        return PortBusy(name, _busy(name))
    if number == errno.ENOENT:
        return PortUnavailable(
            name, "there is no such port. Plug the gauge in; `jbridge ports` shows what is there"
        )
    if number in (errno.EACCES, errno.EPERM):
        reason = (
            why_not(rights_on(name), name, is_usb=may_be_usb(name))
            or "the system does not let this program open it. `jbridge doctor` says why"
        )
        return PortUnavailable(name, reason)
    if "Could not configure port" in words or isinstance(error, TERMINAL_ERRORS):
        return PortUnavailable(name, f"it is not a serial port, or refuses its settings ({words})")
    reason = network.why_not_open(device, words) if network.is_network(name) else ""
    return PortUnavailable(name, reason or f"it cannot be opened ({words})")


def _busy(name: str) -> str:
    holders = holders_of([name])[name]
    if not holders:
        return "another program is using it. Close that one, then try again"
    verb = "is" if len(holders) == 1 else "are"
    return f"{' and '.join(map(str, holders))} {verb} using it. Close it, then try again"


def _words(error: Exception) -> str:
    """A library's message on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(error)).split())[:200]
