"""A keyboard is given back also where an interrupt came in the middle of taking it."""

from typing import Any

import pytest

from drivers.ports.usb_hold import give_all_back
from drivers.ports.usb_interface import open_keyboard
from tests.drivers.fake_usb import FakeDevice, FakeUsb


class Interrupted(FakeUsb):
    """The interrupt comes when the system has done what was asked for, and pyusb has not heard of
    it yet.
    """

    def __init__(self, device: FakeDevice, call: str) -> None:
        super().__init__(device)
        self.call = call
        self.given_back: list[int] = []

    def claim_interface(self, dev_handle: Any, intf: int) -> None:
        super().claim_interface(dev_handle, intf)
        self._done("claim")

    def detach_kernel_driver(self, dev_handle: Any, intf: int) -> None:
        super().detach_kernel_driver(dev_handle, intf)
        self._done("detach")

    def attach_kernel_driver(self, dev_handle: Any, intf: int) -> None:
        super().attach_kernel_driver(dev_handle, intf)
        self.given_back.append(intf)

    def _done(self, call: str) -> None:
        if self.call == call:
            self.call = ""
            raise KeyboardInterrupt


@pytest.mark.parametrize("call", ["detach", "claim"])
def test_an_interrupt_while_it_is_taken_leaves_it_to_the_system(call: str) -> None:
    bus = Interrupted(FakeDevice(), call)
    with pytest.raises(KeyboardInterrupt):
        open_keyboard("usb:1209:0002:KB1", bus)
    give_all_back()
    assert bus.given_back == [0]
