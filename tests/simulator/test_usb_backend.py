"""The simulated USB bus under the real pyusb. Numbers are those a kernel gave through libusb."""

from __future__ import annotations

import errno
import threading
import time
from collections.abc import Callable

import pytest
import usb.control  # type: ignore[import-untyped]  # pyusb has no types
import usb.core  # type: ignore[import-untyped]
import usb.util  # type: ignore[import-untyped]

from simulator.errors import SimulatorError
from simulator.keystrokes import RELEASED, typed
from simulator.usb_backend import SimulatedUsb
from simulator.usb_bus import UsbBus
from simulator.usb_device import (
    BOOT_KEYBOARD,
    BOOT_MOUSE,
    PLAIN_HID,
    SimulatedDevice,
    UsbInterface,
    keyboard_descriptor,
)

PATIENCE_S = 5.0
SOON_MS = 30
LONG_MS = 5000


class Desk:
    """A bus, one gauge on it, and the gauge as pyusb finds it."""

    def __init__(self, gauge: SimulatedDevice | None = None) -> None:
        self.bus = UsbBus()
        self.backend = SimulatedUsb(self.bus)
        self.gauge = self.bus.plug(gauge or SimulatedDevice(), ports=(2, 1))
        self.found = self.find()

    def find(self) -> usb.core.Device:
        return usb.core.find(backend=self.backend, idVendor=0x1209, idProduct=0x0001)

    def take(self) -> usb.core.Device:
        """As a program does: driver off, interface claimed."""
        self.found.detach_kernel_driver(0)
        usb.util.claim_interface(self.found, 0)
        return self.found

    def read(self, timeout_ms: int = SOON_MS, size: int = 8) -> bytes:
        return bytes(self.found.read(0x81, size, timeout_ms))

    def error_of(self, call: Callable[[], object]) -> int | None:
        """The errno of what a call raises."""
        with pytest.raises(usb.core.USBError) as caught:
            call()
        number: int | None = caught.value.errno
        return number


# --- what is found ---


def test_a_device_is_found_with_all_it_says() -> None:
    desk = Desk()
    found = desk.found
    assert (found.idVendor, found.idProduct, found.bus, found.address) == (0x1209, 1, 1, 2)
    assert found.port_numbers == (2, 1)
    assert desk.gauge.socket == "1-2.1"
    assert (found.manufacturer, found.product) == ("Simulator", "Simulated gauge")
    assert found.serial_number == "SIM0001"
    (interface,) = found.get_active_configuration()
    assert (interface.bInterfaceClass, interface.bInterfaceSubClass) == (3, 1)
    (endpoint,) = interface
    assert (endpoint.bEndpointAddress, endpoint.wMaxPacketSize) == (0x81, 8)
    assert usb.util.endpoint_type(endpoint.bmAttributes) == usb.util.ENDPOINT_TYPE_INTR
    assert "Simulated gauge" in str(found)


def test_several_devices_and_interfaces() -> None:
    bus = UsbBus()
    backend = SimulatedUsb(bus)
    composite = SimulatedDevice(
        product=7,
        interfaces=(
            UsbInterface(BOOT_KEYBOARD),
            UsbInterface(BOOT_MOUSE, 4),
            UsbInterface(PLAIN_HID),
        ),
    )
    bus.plug(SimulatedDevice())
    bus.plug(composite)
    bus.plug(SimulatedDevice(device_class=9), bus=2)
    found = list(usb.core.find(find_all=True, backend=backend))
    assert [(one.bus, one.address, one.port_numbers) for one in found] == [
        (1, 2, (1,)),
        (1, 3, (2,)),
        (2, 2, (1,)),
    ]
    numbers = [(one.bInterfaceNumber, one[0].bEndpointAddress) for one in found[1][0]]
    assert numbers == [(0, 0x81), (1, 0x82), (2, 0x83)]
    assert usb.core.find(backend=backend, idVendor=0xFFFF) is None


@pytest.mark.parametrize(
    "text", ["", 'quote" and \n newline', "%p $(x) `y` *?[|]", "\x1b[2J\x00", "Prüfmaß µ", "💥"]
)
def test_any_text_comes_through_as_it_is(text: str) -> None:
    desk = Desk(SimulatedDevice(serial=text, title=text))
    assert (desk.found.serial_number, desk.found.product) == (text, text)


def test_texts_that_are_none() -> None:
    desk = Desk(SimulatedDevice(serial=None))
    assert desk.found.serial_number is None
    assert Desk(SimulatedDevice(serial="x" * 200)).found.serial_number == "x" * 126
    with pytest.raises(ValueError, match="no langid"):
        _ = Desk(SimulatedDevice(has_languages=False)).found.serial_number
    # a lone surrogate, and a descriptor of one byte
    with pytest.raises(UnicodeDecodeError):
        _ = Desk(SimulatedDevice(serial=b"\x04\x03\x00\xd8")).found.serial_number
    with pytest.raises(usb.core.USBError, match="Invalid descriptor"):
        _ = Desk(SimulatedDevice(serial=b"\x04")).found.serial_number


def test_without_permission_only_what_needs_no_opening() -> None:
    desk = Desk(SimulatedDevice(is_permitted=False))
    assert desk.found[0][0, 0].bInterfaceProtocol == 1
    with pytest.raises(ValueError, match="no langid"):
        _ = desk.found.product
    assert desk.error_of(lambda: desk.found.is_kernel_driver_active(0)) == errno.EACCES


# --- drivers and claims ---


def test_with_its_driver_it_types_on_the_desktop_and_cannot_be_claimed() -> None:
    desk = Desk()
    assert desk.found.is_kernel_driver_active(0)
    assert desk.error_of(lambda: usb.util.claim_interface(desk.found, 0)) == errno.EBUSY
    assert desk.error_of(desk.read) == errno.EBUSY
    desk.bus.type(desk.gauge, "1")
    assert desk.bus.desktop == [(desk.gauge, report) for report in typed("1")]


def test_taken_it_types_to_the_program_only_and_given_back_to_the_desktop() -> None:
    desk = Desk()
    found = desk.take()
    assert not found.is_kernel_driver_active(0)
    desk.bus.type(desk.gauge, "7")
    assert [desk.read(), desk.read()] == list(typed("7"))
    assert desk.bus.desktop == []
    assert desk.error_of(lambda: found.attach_kernel_driver(0)) == errno.EBUSY
    desk.bus.type(desk.gauge, "8")  # not read any more
    usb.util.release_interface(found, 0)
    found.attach_kernel_driver(0)
    assert desk.error_of(lambda: found.attach_kernel_driver(0)) == errno.EBUSY
    usb.util.dispose_resources(found)
    assert [report for _, report in desk.bus.desktop] == list(typed("8"))
    log = [("detach", 0), ("claim", 0), ("release", 0), ("attach", 0)]
    assert desk.bus.log == log


def test_another_programs_claim() -> None:
    desk = Desk()
    desk.bus.seize(desk.gauge)
    found = desk.found
    assert not found.is_kernel_driver_active(0)
    assert desk.error_of(lambda: found.detach_kernel_driver(0)) == errno.ENOENT
    assert desk.error_of(lambda: usb.util.claim_interface(found, 0)) == errno.EBUSY
    desk.bus.let_go(desk.gauge)
    assert not found.is_kernel_driver_active(0)
    usb.util.claim_interface(found, 0)


def test_two_handles_of_one_device_exclude_each_other() -> None:
    desk = Desk()
    desk.take()
    other = desk.find()
    assert desk.error_of(lambda: usb.util.claim_interface(other, 0)) == errno.EBUSY
    usb.util.dispose_resources(desk.found)  # closing gives claims back, drivers it does not
    assert not other.is_kernel_driver_active(0)
    usb.util.claim_interface(other, 0)


def test_only_what_is_left_to_itself_can_be_configured() -> None:
    desk = Desk()
    assert desk.error_of(desk.found.set_configuration) == errno.EBUSY
    desk.found.detach_kernel_driver(0)
    desk.found.set_configuration()
    assert desk.found.is_kernel_driver_active(0)
    desk.found.detach_kernel_driver(0)
    desk.found.set_configuration(0)
    assert desk.backend.get_configuration(desk.backend.open_device(desk.gauge)) == 0
    assert desk.error_of(desk.found.get_active_configuration) is None  # pyusb's own words


def test_an_interface_without_a_driver_has_none_to_get_back() -> None:
    desk = Desk(SimulatedDevice(interfaces=(UsbInterface(is_driven=False),)))
    assert not desk.found.is_kernel_driver_active(0)
    assert desk.error_of(lambda: desk.found.attach_kernel_driver(0)) == errno.ENOENT
    assert desk.error_of(lambda: desk.found.detach_kernel_driver(5)) == errno.ENOENT


# --- reading ---


def test_silence_is_a_timeout_of_its_own_class() -> None:
    desk = Desk()
    desk.take()
    began_s = time.monotonic()
    with pytest.raises(usb.core.USBTimeoutError) as caught:
        desk.read()
    assert caught.value.errno == errno.ETIMEDOUT
    assert SOON_MS / 1000 <= time.monotonic() - began_s < PATIENCE_S


def test_a_waiting_read_ends_with_the_key() -> None:
    desk = Desk()
    desk.take()
    assert waiting(desk, lambda: desk.bus.type(desk.gauge, "3")) == typed("3")[0]


def test_zero_length_packets_and_buffers_of_other_sizes() -> None:
    desk = Desk()
    desk.take()
    desk.bus.send(desk.gauge, b"", b"abc", *typed("1"))
    assert [desk.read(), desk.read(size=64)] == [b"", b"abc"]
    # Full packets fill a larger buffer until the time is over.
    assert desk.read(size=64) == b"".join(typed("1"))
    desk.bus.send(desk.gauge, RELEASED)
    assert desk.error_of(lambda: desk.read(size=4)) == errno.EOVERFLOW


def test_a_report_longer_than_a_packet_comes_in_two() -> None:
    desk = Desk()
    desk.take()
    desk.bus.send(desk.gauge, b"123456789")
    assert [desk.read(), desk.read()] == [b"12345678", b"9"]


@pytest.mark.parametrize("number", [errno.ENODEV, errno.EIO])
def test_unplugged_the_waiting_read_fails_and_everything_after(number: int) -> None:
    desk = Desk()
    found = desk.take()
    error = waiting(desk, lambda: desk.bus.unplug(desk.gauge, error=number))
    assert isinstance(error, usb.core.USBError)
    assert error.errno == number
    for call in (
        desk.read,
        lambda: found.is_kernel_driver_active(0),
        lambda: found.attach_kernel_driver(0),
        lambda: found.ctrl_transfer(0x21, 0x0B, 0, 0, None),
        lambda: usb.util.release_interface(found, 0),
        found.reset,
    ):
        assert desk.error_of(call) == errno.ENODEV
    usb.util.dispose_resources(found)
    assert desk.find() is None
    with pytest.raises(ValueError, match="no langid"):
        _ = found.product


def test_unplugged_without_a_sign_reads_only_time_out() -> None:
    desk = Desk()
    desk.take()
    desk.bus.type(desk.gauge, "1")
    desk.read()  # pyusb keeps what it asks once
    desk.bus.unplug(desk.gauge, is_silent=True)
    with pytest.raises(usb.core.USBTimeoutError):
        desk.read()
    assert desk.find() is None


def test_back_again_it_is_another_address_with_its_driver_and_the_old_object_is_dead() -> None:
    desk = Desk()
    desk.take()
    desk.bus.type(desk.gauge, "5")
    desk.bus.replug(desk.gauge)
    assert desk.error_of(desk.read) == errno.ENODEV
    again = desk.find()
    assert (again.address, again.port_numbers) == (3, (2, 1))
    assert again.is_kernel_driver_active(0)
    desk.bus.replug(desk.gauge, ports=(4,))
    assert (desk.find().address, desk.find().port_numbers) == (4, (4,))
    desk.bus.replug(desk.gauge, bus=3)
    assert (desk.find().bus, desk.find().address, desk.find().port_numbers) == (3, 2, (1,))


def test_a_stall_lasts_until_it_is_cleared_or_for_good() -> None:
    desk = Desk()
    found = desk.take()
    desk.bus.stall(desk.gauge)
    desk.bus.type(desk.gauge, "1")
    assert desk.error_of(desk.read) == errno.EPIPE
    found.clear_halt(0x81)
    assert desk.read() == typed("1")[0]
    desk.bus.stall(desk.gauge, is_for_good=True)
    found.clear_halt(0x81)
    assert desk.error_of(desk.read) == errno.EPIPE


def test_one_bad_read_among_good_ones() -> None:
    desk = Desk()
    desk.take()
    desk.bus.type(desk.gauge, "1")
    desk.bus.fail(desk.gauge, errno.EIO)
    desk.bus.send(desk.gauge, b"after")
    assert [desk.read(), desk.read()] == list(typed("1"))
    assert desk.error_of(desk.read) == errno.EIO
    assert desk.read() == b"after"


def test_many_reports_typed_in_another_thread_all_arrive_in_order() -> None:
    desk = Desk()
    desk.take()
    text = "59.982\n" * 100

    def type_all() -> None:
        for char in text:
            desk.bus.type(desk.gauge, char)

    thread = threading.Thread(target=type_all)
    thread.start()
    got = [desk.read(LONG_MS) for _ in range(2 * len(text))]
    thread.join(PATIENCE_S)
    assert got == list(typed(text))


# --- control requests ---


def test_protocol_idle_and_lamps_are_set_and_written_down() -> None:
    desk = Desk()
    found = desk.take()
    interface = desk.gauge.interfaces[0]
    assert (interface.protocol, interface.idle) == (1, None)
    assert found.ctrl_transfer(0x21, 0x0B, 0, 0, None) == 0
    found.ctrl_transfer(0x21, 0x0A, 0x0300, 0, None)
    assert found.ctrl_transfer(0x21, 0x09, 0x0200, 0, b"\x05") == 1
    assert (interface.protocol, interface.idle, interface.lamps) == (0, 3, 5)
    assert bytes(found.ctrl_transfer(0xA1, 0x03, 0, 0, 1)) == b"\x00"
    assert bytes(found.ctrl_transfer(0xA1, 0x02, 0, 0, 1)) == b"\x03"
    said = [(one.request_type, one.request, one.value) for one in desk.gauge.requests[:3]]
    assert said == [(0x21, 0x0B, 0), (0x21, 0x0A, 0x0300), (0x21, 0x09, 0x0200)]
    found.reset()
    assert (desk.gauge.resets, interface.protocol) == (1, 1)


def test_requests_that_are_refused_stall() -> None:
    desk = Desk(SimulatedDevice(interfaces=(UsbInterface(refused=frozenset({0x0A})),)))
    found = desk.take()
    assert desk.error_of(lambda: found.ctrl_transfer(0x21, 0x0A, 0, 0, None)) == errno.EPIPE
    assert desk.error_of(lambda: found.ctrl_transfer(0x21, 0x77, 0, 0, None)) == errno.EPIPE
    assert desk.error_of(lambda: found.ctrl_transfer(0xC0, 1, 0, 0, 1)) == errno.EPIPE
    found.ctrl_transfer(0x21, 0x0B, 0, 0, None)


def test_the_report_descriptor_can_be_read_in_parts() -> None:
    desk = Desk()
    found = desk.take()
    whole = bytes(found.ctrl_transfer(0x81, 6, 0x2200, 0, 4096))
    # 1 for generic desktop, 6 for keyboard, application: the first items of every keyboard
    assert whole[:6] == bytes.fromhex("05010906a101")
    assert whole == keyboard_descriptor()
    assert bytes(found.ctrl_transfer(0x81, 6, 0x2200, 0, 4)) == whole[:4]
    assert bytes(usb.control.get_descriptor(found, 255, 3, 0)) == b"\x04\x03\x09\x04"


def test_a_numbered_report_is_numbered_in_the_report_protocol_only() -> None:
    desk = Desk(SimulatedDevice(interfaces=(UsbInterface(report_id=3, packet_size=16),)))
    found = desk.take()
    desk.bus.send(desk.gauge, typed("1")[0])
    assert desk.read(size=16) == b"\x03" + typed("1")[0]
    found.ctrl_transfer(0x21, 0x0B, 0, 0, None)
    desk.bus.send(desk.gauge, typed("1")[0])
    assert desk.read(size=16) == typed("1")[0]
    assert b"\x85\x03" in bytes(found.ctrl_transfer(0x81, 6, 0x2200, 0, 4096))


# --- at the sockets ---


def test_sockets_hold_one_device_each() -> None:
    desk = Desk()
    with pytest.raises(SimulatorError, match=r"socket 1-2\.1 is taken"):
        desk.bus.plug(SimulatedDevice(), ports=(2, 1))
    with pytest.raises(SimulatorError, match="plugged in already"):
        desk.bus.plug(desk.gauge)
    with pytest.raises(SimulatorError, match="errno 1"):
        desk.bus.fail(desk.gauge, 1)
    desk.bus.unplug(desk.gauge)
    desk.bus.unplug(desk.gauge)
    desk.bus.type(desk.gauge, "nobody hears")
    assert desk.bus.desktop == []


def waiting(desk: Desk, do: Callable[[], None]) -> bytes | Exception:
    """What a read gets that was waiting already when something was done."""
    results: list[bytes | Exception] = []

    def read() -> None:
        try:
            results.append(desk.read(LONG_MS))
        except usb.core.USBError as error:
            results.append(error)

    thread = threading.Thread(target=read)
    thread.start()
    assert desk.bus.wait_for_reader(PATIENCE_S)
    do()
    thread.join(PATIENCE_S)
    return results[0]
