"""What USB calls fail with: the errors that pyusb makes of libusb's, on Linux."""

from __future__ import annotations

import errno

import usb.core  # type: ignore[import-untyped]  # pyusb has no types

from simulator.errors import SimulatorError

_LIBUSB: dict[int, tuple[int, str]] = {
    errno.EIO: (-1, "Input/Output Error"),
    errno.EACCES: (-3, "Access denied (insufficient permissions)"),
    errno.ENODEV: (-4, "No such device (it may have been disconnected)"),
    errno.ENOENT: (-5, "Entity not found"),
    errno.EBUSY: (-6, "Resource busy"),
    errno.EOVERFLOW: (-8, "Overflow"),
    errno.EPIPE: (-9, "Pipe error"),
}
"""libusb's own number and words, by errno. Source: libusb 1.0's error list, from memory."""


def trouble(number: int) -> OSError:
    """What pyusb raises for an errno; SimulatorError for one it never gives."""
    if number not in _LIBUSB:
        raise SimulatorError(f"USB calls do not fail with errno {number}")
    code, words = _LIBUSB[number]
    error: OSError = usb.core.USBError(words, code, number)
    return error


def timed_out() -> OSError:
    """What pyusb raises when nothing came in time."""
    error: OSError = usb.core.USBTimeoutError("Operation timed out", -7, errno.ETIMEDOUT)
    return error
