"""One keyboard interface of a USB device, taken from the system and given back on every way out."""

import contextlib
import errno
import shlex
import threading
import time
from collections.abc import Sequence

from drivers.attached.device_id import DeviceId
from drivers.attached.discovery import CANNOT_BE_READ
from drivers.attached.usb_name import parse_usb_name
from drivers.errors import PortBusy, PortError, PortLost, PortUnavailable
from drivers.hid.decoder import REPORT_BYTES
from drivers.ports.usb_bus import (
    LINUX_ONLY,
    TIMED_OUT,
    Backend,
    Bus,
    Device,
    Endpoint,
    clean,
)
from drivers.ports.usb_choice import BusDevice, choose, identity
from drivers.ports.usb_hold import Hold
from drivers.ports.usb_requests import prepared

BACKEND: Backend | None = None
"""The pyusb backend of every open that names none; None is libusb. Only tests set it."""

STEP_S = 0.5
"""Longest wait of one transfer, which nothing can end early: two wake-ups a second."""
PRESENCE_S = 3.0
"""So long a silence, and the device is looked for: one that vanished may show as silence only."""

_RETRIED = (errno.EIO, errno.EPIPE, errno.EOVERFLOW)
"""Once each, then the device counts as gone."""


class KeyboardInterface:
    """The reports of one device, which reach no other program meanwhile. Belongs to the thread that
    reads it, but for `wake` and `close`.

    `report_id` is the byte that begins each report, None if there is none.
    """

    def __init__(
        self,
        name: str,
        hold: Hold,
        endpoint: Endpoint,
        who: DeviceId,
        bus: Bus,
        report_id: int | None,
    ) -> None:
        self.name = name
        self.identity = who
        self.report_id = report_id
        self._hold = hold
        self._bus = bus
        self._address = endpoint.bEndpointAddress
        self._size = _transfer_size(endpoint, report_id)
        self._woken = threading.Event()
        self._troubles: set[int] = set()
        self._seen_at = time.monotonic()

    def read_report(self, timeout_s: float | None) -> bytes | None:
        """The next report as it came; None for silence in that time, or a wake-up.

        Timeout None waits without end. Raises PortLost.
        """
        until = None if timeout_s is None else time.monotonic() + timeout_s
        while True:
            if self._woken.is_set():
                self._woken.clear()
                return None
            left_s = STEP_S if until is None else until - time.monotonic()
            report = self._transfer(min(STEP_S, left_s))
            if report:
                return report
            if until is not None and time.monotonic() >= until:
                return None

    def wake(self) -> None:
        """End a waiting `read_report` within STEP_S; callable from any thread."""
        self._woken.set()

    def close(self) -> None:
        """Give the device back to the system; as often as you like, never raises."""
        self._hold.give_back()

    def _transfer(self, wait_s: float) -> bytes:
        """One report; b"" if none came, or an empty packet."""
        try:
            with self._hold.transfer:
                if self._hold.is_over:
                    raise PortLost(self.name, "it has been closed")
                # 0 would wait without end
                wait_ms = max(1, round(wait_s * 1000))
                report = bytes(self._hold.device.read(self._address, self._size, wait_ms))
        except TIMED_OUT:
            self._troubles.clear()
            self._look_whether_present()
            return b""
        except (OSError, NotImplementedError) as error:
            self._after(error)
            return b""
        self._troubles.clear()
        self._seen_at = time.monotonic()
        return report

    def _after(self, error: Exception) -> None:
        """Go on after a trouble that may pass; else raise PortLost."""
        number = getattr(error, "errno", None)
        if self._hold.is_over:
            raise PortLost(self.name, "it has been closed") from error
        if number not in _RETRIED or number in self._troubles:
            raise self._lost(error) from error
        self._troubles.add(number)
        if number == errno.EPIPE:
            try:
                self._hold.device.clear_halt(self._address)
            except (OSError, NotImplementedError) as second:
                raise self._lost(second) from second

    def _look_whether_present(self) -> None:
        now = time.monotonic()
        if now - self._seen_at < PRESENCE_S:
            return
        self._seen_at = now
        with contextlib.suppress(OSError):
            if not self._bus.has(self._hold.device):
                raise self._lost(None)

    def _lost(self, error: Exception | None) -> PortLost:
        reason = "it is gone: unplugged or switched off. Plug it in again"
        return PortLost(self.name, f"{reason} ({clean(str(error))})" if error else reason)


def open_keyboard(name: str, backend: Backend | None = None) -> KeyboardInterface:
    """Take the keyboard-type device `name` from the system: from now on its keys reach this program
    only, until it is closed or the process ends.

    Which device may be taken: `usb_choice.choose`. Raises PortNameError, PortUnavailable, PortBusy.
    """
    wanted = parse_usb_name(name)
    bus = Bus(name, backend if backend is not None else BACKEND)
    own_name = name
    try:
        attached = bus.attached()
        facts = [one for _, one in attached]
        chosen = choose(wanted, facts)
        who = identity(chosen, facts)
        own_name = who.text
        device = next(device for device, one in attached if one is chosen)
        return _taken(name, device, chosen, who, bus)
    except (OSError, NotImplementedError) as error:
        raise _refused(name, own_name, error) from error


def _taken(
    name: str, device: Device, chosen: BusDevice, who: DeviceId, bus: Bus
) -> KeyboardInterface:
    """The device's boot keyboard, else the first other HID interface that is a keyboard."""
    for number in chosen.keyboards[:1] or chosen.others:
        hold = Hold(device, number)
        try:
            hold.take()
            is_boot = number in chosen.keyboards
            is_set = is_boot and hold.ask_for_boot_form()
            reports = prepared(device, number, is_boot=is_boot, is_set=is_set)
            if reports is not None and reports.is_boot_form:
                endpoint = _endpoint(name, device, number)
                return KeyboardInterface(name, hold, endpoint, who, bus, reports.report_id)
        except BaseException:  # Ctrl-C too: the driver must not stay off
            hold.give_back()
            raise
        hold.give_back()
        if reports is not None:
            raise PortUnavailable(
                name,
                CANNOT_BE_READ,
            )
    raise PortUnavailable(
        name,
        ("it is attached and does not type like a keyboard. If it has a serial port, use that"),
    )


def _endpoint(name: str, device: Device, number: int) -> Endpoint:
    """The interrupt endpoint that the reports come from. No configuration is ever set: that would
    reset the device's other interfaces.
    """
    for interface in device.get_active_configuration():
        if (interface.bInterfaceNumber, interface.bAlternateSetting) == (number, 0):
            found: Sequence[Endpoint] = list(interface)
            for one in found:
                if one.bEndpointAddress & 0x80 and one.bmAttributes & 0x03 == 0x03:
                    return one
    raise PortUnavailable(
        name,
        (
            "nothing can be read from its keyboard interface. Set the gauge to virtual COM "
            "port if it has one, or use --port typed:"
        ),
    )


def _transfer_size(endpoint: Endpoint, report_id: int | None) -> int:
    """Whole packets that hold one report: a shorter transfer overflows."""
    packet = max(1, endpoint.wMaxPacketSize & 0x7FF)
    need = REPORT_BYTES + (report_id is not None)
    return packet * -(-need // packet)


def _refused(name: str, own_name: str, error: Exception) -> PortError:
    """`own_name` is the device's, as far as it is known: a rule is for that device alone."""
    number = getattr(error, "errno", None)
    if isinstance(error, NotImplementedError):
        return PortUnavailable(name, LINUX_ONLY)
    if number == errno.EBUSY:
        return PortBusy(name, "another program is using it. Close that one, then try again")
    if number in (errno.EACCES, errno.EPERM):
        return PortUnavailable(
            name,
            "this user may not open it. Install the rule that "
            f"`jbridge udev --for {shlex.quote(own_name)}` prints, then unplug the gauge and plug "
            "it in again",
        )
    if number == errno.ENODEV:
        return PortUnavailable(name, "it went away while it was being opened. Plug it in again")
    return PortUnavailable(name, f"it cannot be opened ({clean(str(error))})")
