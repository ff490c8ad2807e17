"""The machine itself: what all other tests here stand on."""

import os
from pathlib import Path

from simulator.gadgets import SOCKETS
from tests.system.kernel.conftest import Plugging, nodes


def test_the_distributions_own_kernel_and_udev_run() -> None:
    modules = Path("/lib/modules")
    assert [folder.name for folder in modules.iterdir()] == [os.uname().release]
    assert Path("/run/udev/control").is_socket()
    assert sorted(socket.name for socket in Path("/sys/class/udc").iterdir()) == list(SOCKETS)


def test_both_gauges_are_bound_by_the_drivers_that_udev_loads(plugging: Plugging) -> None:
    plugging.serial()
    plugging.keyboard()
    assert nodes("ACM123") == ["/dev/ttyACM0"]
    assert nodes("HID456", "hidraw") == ["/dev/hidraw0"]
    loaded = Path("/proc/modules").read_text()
    assert "cdc_acm " in loaded
    assert "usbhid " in loaded
    link = "/dev/serial/by-id/usb-Simulator_Virtual_Caliper_ACM123-if00"
    assert os.path.realpath(link) == "/dev/ttyACM0"
