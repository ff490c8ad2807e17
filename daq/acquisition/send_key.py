"""A second USB device as the operator's send key: any key of it is a press."""

import threading
from collections.abc import Callable

from daq.acquisition.inputs import Item, SendKeyGone, SendPressed
from drivers.errors import PortError
from drivers.ports import check_port_name

LOOK_EVERY_S = 2.0


class SendKey:
    """Reads a keyboard-type device as a button; looks for it again after a loss.

    Raises PortNameError for a name that is not of the form `usb:VID:PID[:SERIAL]`, and PortError
    if the device cannot be opened now.
    """

    def __init__(self, name: str) -> None:
        from drivers.ports.usb_interface import open_keyboard  # noqa: PLC0415 - loads pyusb

        check_port_name(name)
        self._name = name
        self._open = open_keyboard
        self._device = open_keyboard(name)
        self._stopping = threading.Event()
        self._is_read = False

    def __call__(self, put: Callable[[Item], None]) -> None:
        """Put a SendPressed for each key that goes down, until told to stop."""
        from drivers.hid.decoder import pressed  # noqa: PLC0415 - only with a button

        self._is_read = True
        while not self._stopping.is_set():
            before = b""
            try:
                while not self._stopping.is_set():
                    report = self._device.read_report(None)
                    if report is None:
                        continue
                    if pressed(before, report, report_id=self._device.report_id):
                        put(SendPressed())
                    before = report
            except PortError as error:
                put(SendKeyGone(error.reason))
            finally:
                self._device.close()
            self._look_again()

    def _look_again(self) -> None:
        while not self._stopping.wait(LOOK_EVERY_S):
            try:
                self._device = self._open(self._name)
            except PortError:
                continue
            if self._stopping.is_set():  # stopped meanwhile: nobody else would give it back
                self._device.close()
            return

    def stop(self) -> None:
        """Read no more, and give the device back."""
        self._stopping.set()
        if self._is_read:
            self._device.wake()
        else:
            self._device.close()  # the run never began, so no thread gives it back
