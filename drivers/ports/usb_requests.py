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
_CONTROL_MS = 1000


def prepared(device: Device, number: int, *, is_boot: bool) -> KeyboardReports | None:
    """Ask for reports of the boot form, and only when something changes; None: not a keyboard.

    A device may refuse either request. Then its report descriptor says what it sends.
    """
    is_set = is_boot and _request(device, number, _SET_PROTOCOL)
    _request(device, number, _SET_IDLE)
    if is_set:
        return KeyboardReports(None, True)
    told = keyboard_reports(_report_descriptor(device, number))
    return KeyboardReports(None, True) if told is None and is_boot else told


def _request(device: Device, number: int, request: int) -> bool:
    """Send a request with value 0; False if the device refuses it."""
    try:
        device.ctrl_transfer(_TO_INTERFACE, request, 0, number, None, _CONTROL_MS)
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
