"""What a claimed keyboard interface is asked for, and what it says of itself.

Source: USB HID 1.11, 7.1 and 7.2 (from memory).
"""

import errno

from drivers.hid.descriptor import KeyboardReports, keyboard_reports
from drivers.ports.usb_bus import Device

_TO_INTERFACE, _FROM_INTERFACE = 0x21, 0x81
_SET_IDLE, _SET_PROTOCOL, _GET_DESCRIPTOR = 0x0A, 0x0B, 0x06
_REPORT_DESCRIPTOR = 0x2200
_LONGEST_DESCRIPTOR = 4096  # the most that Linux transfers
_BOOT_PROTOCOL, _REPORT_PROTOCOL = 0, 1
_CONTROL_MS = 1000
_LAST_MS = 250
"""The last request, on the way out: a device that does not answer any more is not worth a wait."""


def set_boot_protocol(device: Device, number: int) -> bool:
    """Ask a claimed interface for reports of the boot form; False if it refuses. Raises OSError if
    the device is gone.
    """
    return _request(device, number, _SET_PROTOCOL, _BOOT_PROTOCOL)


def set_report_protocol(device: Device, number: int) -> None:
    """Leave a claimed interface as it is after plugging in, which the system's driver expects.

    Raises OSError: whatever is wrong, there is nothing more to do.
    """
    device.ctrl_transfer(_TO_INTERFACE, _SET_PROTOCOL, _REPORT_PROTOCOL, number, None, _LAST_MS)


def prepared(device: Device, number: int, *, is_boot: bool, is_set: bool) -> KeyboardReports | None:
    """Ask for reports only when something changes; None: not a keyboard.

    `is_boot`: it calls itself a boot keyboard; `is_set`: it has taken the boot protocol. A device
    may refuse either request. Then its report descriptor says what it sends.
    """
    _request(device, number, _SET_IDLE, 0)
    if is_set:
        return KeyboardReports(None, True)
    told = keyboard_reports(_report_descriptor(device, number))
    return KeyboardReports(None, True) if told is None and is_boot else told


def _request(device: Device, number: int, request: int, value: int) -> bool:
    """Send a request; False if the device refuses it."""
    try:
        device.ctrl_transfer(_TO_INTERFACE, request, value, number, None, _CONTROL_MS)
    except OSError as error:
        if error.errno == errno.ENODEV:
            raise
        return False
    return True


def _report_descriptor(device: Device, number: int) -> bytes:
    """Of a claimed interface; b"" if the device does not give it."""
    try:
        told = device.ctrl_transfer(
            _FROM_INTERFACE,
            _GET_DESCRIPTOR,
            _REPORT_DESCRIPTOR,
            number,
            _LONGEST_DESCRIPTOR,
            _CONTROL_MS,
        )
    except OSError:
        return b""
    return b"" if isinstance(told, int) else bytes(told)


def describes_keyboard(device: Device, number: int) -> bool:
    """A claimed interface says in its report descriptor that it is a keyboard."""
    return keyboard_reports(_report_descriptor(device, number)) is not None
