"""An interface taken from the kernel's keyboard driver, and given back on every way out.

Whatever ends the process except a kill that it cannot see: the end of the program, an exception, or
a signal that was made one. Beyond that there is `usb_release`.
"""

import atexit
import contextlib
import errno
import threading

from drivers.ports.usb_bus import Device, claim, dispose, release
from drivers.ports.usb_requests import set_boot_protocol, set_report_protocol

GIVE_BACK_WAIT_S = 1.5
"""So long is a transfer under way waited for: longer than any lasts."""


class Hold:
    """An interface taken from the kernel's driver. `give_back` undoes whatever was done so far."""

    def __init__(self, device: Device, number: int) -> None:
        self.device = device
        self.number = number
        self.transfer = threading.Lock()  # whoever talks to the device has it
        self.is_over = False
        self._was_bound = False
        self._is_in_boot_form = False
        self._is_given_back = False

    def take(self) -> None:
        """Detach the driver from this interface alone, and claim it. Raises what pyusb raises."""
        if not _held:
            # Registered late, so that it runs before pyusb's own end, which closes the library.
            atexit.unregister(give_all_back)
            atexit.register(give_all_back)
        _held.add(self)
        self._was_bound = self.device.is_kernel_driver_active(self.number)
        if self._was_bound:
            try:
                self.device.detach_kernel_driver(self.number)
            except OSError as error:
                if error.errno != errno.ENOENT:  # gone meanwhile: what it is then, claiming tells
                    raise
        claim(self.device, self.number)

    def ask_for_boot_form(self) -> bool:
        """Whether the device now sends it. Raises what pyusb raises if the device is gone."""
        self._is_in_boot_form = True  # from the attempt on: whoever interrupts it cannot know
        self._is_in_boot_form = set_boot_protocol(self.device, self.number)
        return self._is_in_boot_form

    def give_back(self) -> None:
        """From any thread, as often as you like; never raises."""
        self.is_over = True
        is_mine = self.transfer.acquire(timeout=GIVE_BACK_WAIT_S)
        try:
            if self._is_given_back:
                return
            # Each step is tried whatever becomes of the others: the device may be gone.
            if self._is_in_boot_form:
                with contextlib.suppress(Exception):
                    set_report_protocol(self.device, self.number)
            with contextlib.suppress(Exception):
                release(self.device, self.number)
            if self._was_bound and not self._attached():
                # An interrupt can come when the system has claimed it and pyusb has not noted that:
                # then only closing the device lets go of it, and attaching opens it anew.
                with contextlib.suppress(Exception):
                    dispose(self.device)
                self._attached()
            with contextlib.suppress(Exception):
                dispose(self.device)
            self._is_given_back = True
            _held.discard(self)
        finally:
            if is_mine:
                self.transfer.release()

    def _attached(self) -> bool:
        """The kernel's driver has the interface again."""
        try:
            self.device.attach_kernel_driver(self.number)
        except Exception:
            return False
        return True


_held: set[Hold] = set()


def give_all_back() -> None:
    """Give every interface of this process back: the last thing before it ends."""
    for hold in tuple(_held):
        hold.give_back()
