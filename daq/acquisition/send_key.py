"""A second USB device whose keys are the operator's: any is a press, or each says its word."""

import threading
from collections.abc import Callable

from daq.acquisition.bound_keys import SEND, BoundKeys
from daq.acquisition.inputs import Item, KeyRefused, KeyWord, SendKeyGone, SendPressed
from drivers.errors import PortError
from drivers.ports import check_port_name

LOOK_EVERY_S = 2.0


class SendKey:
    """Reads a keyboard-type device as buttons; looks for it again after a loss.

    Raises PortNameError for a name that is not of the form `usb:VID:PID[:SERIAL]`, and PortError
    if the device cannot be opened now.
    """

    def __init__(self, keys: BoundKeys) -> None:
        from drivers.ports.usb_interface import open_keyboard  # noqa: PLC0415 - loads pyusb

        check_port_name(keys.device)
        self._keys = keys
        self._open = open_keyboard
        self._device = open_keyboard(keys.device)
        self._stopping = threading.Event()
        self._is_read = False

    def __call__(self, put: Callable[[Item], None]) -> None:
        """Put what each key means as it goes down, until told to stop."""
        from drivers.hid.decoder import keys_pressed  # noqa: PLC0415 - only with a button

        self._is_read = True
        while not self._stopping.is_set():
            before = b""
            try:
                while not self._stopping.is_set():
                    report = self._device.read_report(None)
                    if report is None:
                        continue
                    down = keys_pressed(before, report, report_id=self._device.report_id)
                    if down:
                        put(self._meant(down))
                    before = report
            except PortError as error:
                put(SendKeyGone(error.reason))
            finally:
                self._device.close()
            self._look_again()

    def _meant(self, down: frozenset[int]) -> Item:
        word, refusal = self._keys.meant(down)
        if refusal:
            return KeyRefused(refusal)
        return SendPressed() if word == SEND else KeyWord(word)

    def _look_again(self) -> None:
        while not self._stopping.wait(LOOK_EVERY_S):
            try:
                self._device = self._open(self._keys.device)
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
