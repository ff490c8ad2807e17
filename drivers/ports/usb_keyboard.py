"""A USB keyboard-type gauge as a port: the text that it types, as bytes."""

import time

from drivers.attached.device_id import DeviceId
from drivers.errors import PortLost, PortUnavailable
from drivers.hid.decoder import KeyDecoder
from drivers.ports.usb_interface import KeyboardInterface, open_keyboard
from drivers.profile.profile import Link

MOST_NOTICES = 50
"""Kept between two calls of `notices`; the rest is counted."""


class UsbKeyboardPort:
    """One open keyboard-type gauge. Enter is LF; a character outside ASCII comes as UTF-8, so that
    its frame is refused.
    """

    def __init__(self, interface: KeyboardInterface, link: Link) -> None:
        self._interface = interface
        self._decoder = KeyDecoder(
            link.keyboard or "us", alt_numpad=link.alt_numpad, report_id=interface.report_id
        )
        self._notices: list[str] = []
        self._more = 0
        self._is_open = True

    @property
    def name(self) -> str:
        """As the user wrote it."""
        return self._interface.name

    @property
    def identity(self) -> DeviceId:
        """Serial number if the device has one of its own, else its socket."""
        return self._interface.identity

    def read(self, timeout_s: float | None) -> bytes:
        """What one report typed; b"" for silence so far, a wake-up, or a notice to be told."""
        until = None if timeout_s is None else time.monotonic() + timeout_s
        while True:
            left_s = None if until is None else max(0.0, until - time.monotonic())
            report = self._interface.read_report(left_s)
            if report is None:
                return b""
            keys = self._decoder.take(report)
            self._note(keys.notes)
            if keys.text or keys.notes:
                return keys.text.encode()
            if until is not None and time.monotonic() >= until:
                return b""

    def write(self, data: bytes) -> None:
        """A keyboard takes no bytes: raises PortUnavailable, or PortLost when closed."""
        if not self._is_open:
            raise PortLost(self.name, "it has been closed")
        raise PortUnavailable(
            self.name,
            (
                "a gauge that types cannot be asked for a reading: it sends when its own "
                "button is pressed. Use a profile without a trigger"
            ),
        )

    def notices(self) -> tuple[str, ...]:
        """Keys that typed nothing and reports that could not be used, then `and-N-more`."""
        told = tuple(self._notices) + ((f"and-{self._more}-more",) if self._more else ())
        self._notices.clear()
        self._more = 0
        return told

    def wake(self) -> None:
        """End a waiting `read` early."""
        self._interface.wake()

    def close(self) -> None:
        """Give the device back to the system; as often as you like."""
        self._is_open = False
        self._interface.close()

    def _note(self, notes: tuple[str, ...]) -> None:
        room = MOST_NOTICES - len(self._notices)
        self._notices.extend(notes[:room])
        self._more += len(notes[room:])


def open_usb_keyboard(name: str, link: Link) -> UsbKeyboardPort:
    """Open the gauge `name` with the keyboard layout of `link`, us if it says none.

    Raises PortNameError, PortUnavailable or PortBusy.
    """
    return UsbKeyboardPort(open_keyboard(name), link)
