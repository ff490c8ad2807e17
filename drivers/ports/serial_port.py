"""Serial ports over pyserial: device paths, socket://, rfc2217:// and loop://.

On POSIX the descriptor is polled and read directly: one poll and one read a burst, no ticking
while idle, and a pipe to wake a waiting read. Links without a descriptor are read in bounded steps.
"""

import contextlib
import errno
import os
import select
import threading
import time

import serial
from serial.serialutil import SerialException, SerialTimeoutException

from drivers.attached.access import rights_on, why_not
from drivers.attached.device_id import DeviceId
from drivers.attached.discovery import identity_of, may_be_usb
from drivers.attached.holders import holders_of
from drivers.errors import PortBusy, PortError, PortLost, PortUnavailable
from drivers.ports import network
from drivers.profile.profile import Link

try:
    import termios

    _TERMIOS_ERROR: type[Exception] = termios.error
except ImportError:  # not POSIX
    _TERMIOS_ERROR = OSError

READ_BYTES = 4096
WRITE_TIMEOUT_S = 2.0
_STEP_S = 0.5
"""Longest wait of one read where there is no descriptor to poll: two wake-ups a second."""

_FAILURES: tuple[type[Exception], ...] = (SerialException, OSError, _TERMIOS_ERROR)
"""What pyserial lets through; termios.error is neither an OSError nor a SerialException."""

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
        self._wake_read, self._wake_write = os.pipe()
        os.set_blocking(self._wake_read, False)
        os.set_blocking(self._wake_write, False)
        self._fd = _descriptor(device)
        self._poll: select.poll | None = None
        if self._fd is not None and hasattr(select, "poll"):
            self._poll = select.poll()
            self._poll.register(self._fd, select.POLLIN)
            self._poll.register(self._wake_read, select.POLLIN)

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
        if self._poll is None or self._fd is None:
            return self._read_in_steps(timeout_s)
        try:
            ready = self._poll.poll(None if timeout_s is None else _millis(timeout_s))
        except OSError as error:
            raise self._lost(error) from error
        is_readable = has_hung_up = False
        for fd, event in ready:
            if fd == self._wake_read:
                with contextlib.suppress(OSError):
                    os.read(self._wake_read, READ_BYTES)
            else:
                is_readable = True
                has_hung_up = bool(event & (select.POLLHUP | select.POLLERR))
        if not is_readable:
            return b""
        try:
            data = os.read(self._fd, READ_BYTES)
        except BlockingIOError:
            return b""  # another reader was faster; the next poll tells
        except OSError as error:
            raise self._lost(error) from error
        if not data:
            raise self._lost(None, has_hung_up=has_hung_up)
        if len(self._first) < network.FIRST_BYTES:
            self._first += data[: network.FIRST_BYTES]
        return data

    def _read_in_steps(self, timeout_s: float | None) -> bytes:
        wait_s = _STEP_S if timeout_s is None else min(timeout_s, _STEP_S)
        try:
            if self._device.timeout != wait_s and not self._name.startswith("rfc2217"):
                self._device.timeout = wait_s
            # rfc2217 negotiates anew at each change of its timeout, so there it stays as opened.
            data = bytes(self._device.read(1))
            waiting = int(getattr(self._device, "in_waiting", 0)) if data else 0
            return data + bytes(self._device.read(min(waiting, READ_BYTES))) if waiting else data
        except _FAILURES as error:
            raise self._lost(error) from error

    def write(self, data: bytes) -> None:
        """Send all of `data`, waiting at most WRITE_TIMEOUT_S; raises PortLost."""
        if not self._is_open:
            raise PortLost(self._name, "it has been closed")
        if self._poll is not None and self._fd is not None:
            self._write_fd(self._fd, data)
            return
        try:
            self._device.write(data)
        except SerialTimeoutException as error:
            raise PortLost(self._name, _NOT_TAKEN) from error
        except _FAILURES as error:
            if isinstance(error.__context__, TimeoutError):
                raise PortLost(self._name, _NOT_TAKEN) from error
            raise self._lost(error) from error

    def _write_fd(self, fd: int, data: bytes) -> None:
        deadline = time.monotonic() + WRITE_TIMEOUT_S
        writable = select.poll()
        writable.register(fd, select.POLLOUT)
        left = memoryview(data)
        while left:
            wait_s = deadline - time.monotonic()
            if wait_s <= 0 or not writable.poll(_millis(wait_s)):
                raise PortLost(self._name, _NOT_TAKEN)
            try:
                left = left[os.write(fd, left) :]
            except BlockingIOError:
                continue
            except OSError as error:
                raise self._lost(error) from error

    def notices(self) -> tuple[str, ...]:
        """What was met when it was opened; later it all shows in the bytes."""
        notices, self._notices = self._notices, ()
        return notices

    def wake(self) -> None:
        """End a waiting `read` early."""
        with self._lock:
            if self._is_open:
                with contextlib.suppress(OSError):
                    os.write(self._wake_write, b"w")

    def close(self) -> None:
        """Give the port back; as often as you like."""
        with self._lock:
            if not self._is_open:
                return
            self._is_open = False
            os.close(self._wake_read)
            os.close(self._wake_write)
        _claim(self._name, self._device, False)
        with contextlib.suppress(*_FAILURES):
            self._device.close()

    def _lost(self, error: Exception | None, *, has_hung_up: bool = False) -> PortLost:
        # Of an unplugged device the name may stay a moment longer; that the line hung up is sure.
        is_there = self._name.startswith("/") and os.path.exists(self._name)
        if is_there and error is None and not has_hung_up:
            reason = (
                "nothing could be read although the device is still there; another program may be "
                "reading the same port: close it"
            )
        elif network.is_network(self._name):
            reason = network.why_lost(error, self._first)
        else:
            reason = "it is gone: unplugged or switched off. Plug it in again"
        if error is not None:
            reason += f" ({_words(error)})"
        return PortLost(self._name, reason)


_NOT_TAKEN = f"it did not take the bytes within {WRITE_TIMEOUT_S:g} s (flow control or a dead link)"


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
            device.timeout = _STEP_S  # write_timeout is not implemented there
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
    except _FAILURES as error:
        raise _refused(name, device, error) from error
    except (ValueError, KeyError) as error:
        reason = network.why_not_open(device, _words(error))
        reason = reason or f"its settings are not understood ({_words(error)})"
        raise PortUnavailable(name, reason) from error
    _claim(name, device, True)
    _keep_lines_up(name, device)
    return SerialPort(name, device, identity_of(name), notices)


def _claim(name: str, device: serial.SerialBase, is_claimed: bool) -> None:
    """Shut later opens out as well; the lock of `exclusive` alone binds only the polite.

    The mark outlives a descriptor where the other end stays open (a pty), so it is taken back.
    """
    fd = _descriptor(device)
    if "://" in name or fd is None or _TERMIOS_ERROR is OSError:
        return
    with contextlib.suppress(*_FAILURES):
        import fcntl  # noqa: PLC0415 - POSIX only

        fcntl.ioctl(fd, termios.TIOCEXCL if is_claimed else termios.TIOCNXCL)


def _keep_lines_up(name: str, device: serial.SerialBase) -> None:
    """Closing shall not drop DTR: a gauge that is fed by it would lose its zero at each opening."""
    fd = _descriptor(device)
    if "://" in name or fd is None or _TERMIOS_ERROR is OSError:
        return
    with contextlib.suppress(*_FAILURES):
        settings = termios.tcgetattr(fd)
        settings[2] &= ~termios.HUPCL
        termios.tcsetattr(fd, termios.TCSANOW, settings)


def _descriptor(device: serial.SerialBase) -> int | None:
    try:
        fd = device.fileno()
    except (OSError, AttributeError, ValueError):  # io.UnsupportedOperation is an OSError
        return None
    return fd if isinstance(fd, int) and fd >= 0 else None


def _refused(name: str, device: serial.SerialBase | None, error: Exception) -> PortError:
    number = getattr(error, "errno", None)
    words = _words(error)
    if isinstance(device, network.TelnetClient) and network.is_in_use(device.said_at_first()):
        return PortBusy(name, "the server says that another program is connected to it. Close that")
    if number in (errno.EAGAIN, errno.EBUSY) or "exclusively lock" in words:
        return PortBusy(name, _busy(name))
    if number == errno.ENOENT:
        return PortUnavailable(
            name, "it does not exist. Plug the gauge in and see `jbridge ports` for what is there"
        )
    if number in (errno.EACCES, errno.EPERM):
        reason = (
            why_not(rights_on(name), name, is_usb=may_be_usb(name))
            or "the system does not let this program open it"
        )
        return PortUnavailable(name, reason)
    if "Could not configure port" in words or isinstance(error, _TERMIOS_ERROR):
        return PortUnavailable(name, f"it is not a serial port, or refuses its settings ({words})")
    reason = network.why_not_open(device, words) if network.is_network(name) else ""
    return PortUnavailable(name, reason or f"it cannot be opened ({words})")


def _busy(name: str) -> str:
    holders = holders_of([name])[name]
    if not holders:
        return "another program is using it. Close that program, then try again"
    verb = "is" if len(holders) == 1 else "are"
    return f"{' and '.join(map(str, holders))} {verb} using it. Close it, then try again"


def _words(error: Exception) -> str:
    """A library's message on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(error)).split())[:200]


def _millis(seconds: float) -> int:
    return max(0, round(seconds * 1000))
