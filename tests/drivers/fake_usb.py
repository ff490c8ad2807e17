"""A pyusb backend that plays keyboard-type devices, so that pyusb itself is in the test.

Errors and their numbers are those that a real kernel gives through libusb 1.0 on Linux.
"""

import errno
import threading
from array import array
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import usb.backend  # type: ignore[import-untyped]  # pyusb has no types
import usb.core  # type: ignore[import-untyped]

SET_IDLE, SET_PROTOCOL = 0x0A, 0x0B
BOOT_KEYBOARD, BOOT_MOUSE, PLAIN_HID = (3, 1, 1), (3, 1, 2), (3, 0, 0)


def trouble(number: int) -> OSError:
    """What pyusb raises for an errno."""
    made: OSError = usb.core.USBError(f"made up trouble {number}", -1, number)
    return made


def timed_out() -> OSError:
    """What pyusb raises when nothing came in time."""
    made: OSError = usb.core.USBTimeoutError("Operation timed out", -7, errno.ETIMEDOUT)
    return made


@dataclass
class FakeInterface:
    """One interface: class, subclass, protocol; whether the kernel's driver has it."""

    form: tuple[int, int, int] = BOOT_KEYBOARD
    packet: int = 8
    descriptor: bytes = b""
    is_bound: bool = True
    holder: object = None
    endpoints: int = 1


@dataclass(eq=False)
class FakeDevice:
    """One device in socket 1-PORT. `sends` are reports or exceptions, in order."""

    vendor: int = 0x1209
    product: int = 0x0002
    serial: str | None = "KB1"
    title: str | None = "bench gauge"
    ports: tuple[int, ...] | None = (2,)
    interfaces: list[FakeInterface] = field(default_factory=lambda: [FakeInterface()])
    address: int = 4
    is_present: bool = True
    is_silent: bool = False
    is_permitted: bool = True
    is_configured: bool = True
    stalls: set[int] = field(default_factory=set)
    sends: list[bytes | Exception] = field(default_factory=list)
    requests: list[int] = field(default_factory=list)
    protocol: int = 1  # report protocol, as after plugging in; 0 is boot protocol
    halts_cleared: int = 0


class FakeUsb(usb.backend.IBackend):  # type: ignore[misc]  # pyusb has no types
    """The bus; `log` is what was done to drivers and claims, in order."""

    def __init__(self, *devices: FakeDevice) -> None:
        self.devices = list(devices)
        self.log: list[tuple[str, int]] = []
        self.looks = 0
        self.reads = 0
        self.changed = threading.Condition()

    def send(self, device: FakeDevice, *sends: bytes | Exception) -> None:
        """Have the device send, while a read waits."""
        with self.changed:
            device.sends += sends
            self.changed.notify_all()

    def unplug(self, device: FakeDevice) -> None:
        """Pull the plug; a claim ends with it."""
        with self.changed:
            device.is_present = False
            for interface in device.interfaces:
                interface.holder = None
            self.changed.notify_all()

    def plug_in(self, device: FakeDevice) -> None:
        """Back at another address, with the kernel's driver on it."""
        with self.changed:
            device.is_present = True
            device.address += 1
            for interface in device.interfaces:
                interface.is_bound, interface.holder = True, None

    # What pyusb asks of a backend.

    def enumerate_devices(self) -> list[FakeDevice]:
        self.looks += 1
        return [device for device in self.devices if device.is_present]

    def get_device_descriptor(self, dev: FakeDevice) -> SimpleNamespace:
        return SimpleNamespace(
            bLength=18,
            bDescriptorType=1,
            bcdUSB=0x200,
            bDeviceClass=0,
            bDeviceSubClass=0,
            bDeviceProtocol=0,
            bMaxPacketSize0=8,
            idVendor=dev.vendor,
            idProduct=dev.product,
            bcdDevice=0x100,
            iManufacturer=0,
            iProduct=1 if dev.title is not None else 0,
            iSerialNumber=2 if dev.serial is not None else 0,
            bNumConfigurations=1,
            address=dev.address,
            bus=1,
            port_number=dev.ports[-1] if dev.ports else None,
            port_numbers=dev.ports,
            speed=1,
        )

    def get_configuration_descriptor(self, dev: FakeDevice, config: int) -> SimpleNamespace:
        if config:
            raise IndexError(config)
        return SimpleNamespace(
            bLength=9,
            bDescriptorType=2,
            wTotalLength=34,
            bNumInterfaces=len(dev.interfaces),
            bConfigurationValue=1,
            iConfiguration=0,
            bmAttributes=0xA0,
            bMaxPower=50,
            extra_descriptors=[],
        )

    def get_interface_descriptor(
        self, dev: FakeDevice, intf: int, alt: int, config: int
    ) -> SimpleNamespace:
        if alt or config:
            raise IndexError(alt)
        one = dev.interfaces[intf]
        return SimpleNamespace(
            bLength=9,
            bDescriptorType=4,
            bInterfaceNumber=intf,
            bAlternateSetting=0,
            bNumEndpoints=one.endpoints,
            bInterfaceClass=one.form[0],
            bInterfaceSubClass=one.form[1],
            bInterfaceProtocol=one.form[2],
            iInterface=0,
            extra_descriptors=[],
        )

    def get_endpoint_descriptor(
        self, dev: FakeDevice, ep: int, intf: int, alt: int, config: int
    ) -> SimpleNamespace:
        return SimpleNamespace(
            bLength=7,
            bDescriptorType=5,
            bEndpointAddress=0x81 + intf,
            bmAttributes=3,
            wMaxPacketSize=dev.interfaces[intf].packet,
            bInterval=4,
            bRefresh=0,
            bSynchAddress=0,
            extra_descriptors=[],
        )

    def open_device(self, dev: FakeDevice) -> SimpleNamespace:
        if not dev.is_permitted:
            raise trouble(errno.EACCES)
        return SimpleNamespace(device=dev, address=dev.address)

    def close_device(self, dev_handle: SimpleNamespace) -> None:
        for interface in dev_handle.device.interfaces:
            if interface.holder is dev_handle:
                interface.holder = None

    def _of(self, dev_handle: SimpleNamespace) -> FakeDevice:
        """The device behind a handle; a handle from before an unplug is dead for good."""
        device: FakeDevice = dev_handle.device
        if not device.is_present or device.address != dev_handle.address:
            raise trouble(errno.ENODEV)
        return device

    def set_configuration(self, dev_handle: SimpleNamespace, config_value: int) -> None:
        raise AssertionError("a configured device must be left as it is")

    def get_configuration(self, dev_handle: SimpleNamespace) -> int:
        return int(self._of(dev_handle).is_configured)

    def is_kernel_driver_active(self, dev_handle: SimpleNamespace, intf: int) -> bool:
        return self._of(dev_handle).interfaces[intf].is_bound

    def detach_kernel_driver(self, dev_handle: SimpleNamespace, intf: int) -> None:
        interface = self._of(dev_handle).interfaces[intf]
        if not interface.is_bound:
            raise trouble(errno.ENOENT)
        interface.is_bound = False
        self.log.append(("detach", intf))

    def attach_kernel_driver(self, dev_handle: SimpleNamespace, intf: int) -> None:
        interface = self._of(dev_handle).interfaces[intf]
        if interface.holder is not None:
            raise trouble(errno.EBUSY)
        interface.is_bound = True
        self.log.append(("attach", intf))

    def claim_interface(self, dev_handle: SimpleNamespace, intf: int) -> None:
        interface = self._of(dev_handle).interfaces[intf]
        is_free = interface.holder is None or interface.holder is dev_handle
        if interface.is_bound or not is_free:
            raise trouble(errno.EBUSY)
        interface.holder = dev_handle
        self.log.append(("claim", intf))

    def release_interface(self, dev_handle: SimpleNamespace, intf: int) -> None:
        self._of(dev_handle).interfaces[intf].holder = None
        self.log.append(("release", intf))

    def clear_halt(self, dev_handle: SimpleNamespace, ep: int) -> None:
        self._of(dev_handle).halts_cleared += 1

    def intr_read(
        self, dev_handle: SimpleNamespace, ep: int, intf: int, buff: "array[int]", timeout: int
    ) -> int:
        device: FakeDevice = dev_handle.device
        assert timeout > 0, "libusb would wait without end"
        with self.changed:
            self.reads += 1
            alive = self.changed.wait_for(
                lambda: device.sends or not (device.is_present or device.is_silent),
                timeout / 1000,
            )
            if not alive:
                raise timed_out()
            if not device.sends:
                raise trouble(errno.ENODEV)
            sent = device.sends.pop(0)
        if isinstance(sent, Exception):
            raise sent
        if len(sent) > len(buff):
            raise trouble(errno.EOVERFLOW)
        for place, byte in enumerate(sent):
            buff[place] = byte
        return len(sent)

    def ctrl_transfer(
        self,
        dev_handle: SimpleNamespace,
        bmRequestType: int,  # noqa: N803 - as pyusb calls it
        bRequest: int,  # noqa: N803
        wValue: int,  # noqa: N803
        wIndex: int,  # noqa: N803
        data: Any,
        timeout: int,
    ) -> int:
        device = self._of(dev_handle)
        answer = b""
        if bmRequestType == 0x80:
            answer = self._string(device, wValue & 0xFF)
        elif bmRequestType == 0x81:
            answer = device.interfaces[wIndex].descriptor
            if not answer:
                raise trouble(errno.EPIPE)
        else:
            device.requests.append(bRequest)
            if bRequest in device.stalls:
                raise trouble(errno.EPIPE)
            if bRequest == SET_PROTOCOL:
                assert device.interfaces[wIndex].holder is dev_handle, "not claimed"
                device.protocol = wValue
                if wValue:
                    self.log.append(("report protocol", wIndex))
        count = min(len(answer), len(data))
        data[:count] = array("B", answer[:count])
        return count

    def _string(self, device: FakeDevice, index: int) -> bytes:
        if index == 0:
            return b"\x04\x03\x09\x04"
        text = (device.title if index == 1 else device.serial) or ""
        encoded = text.encode("utf-16-le")
        return bytes([2 + len(encoded), 3]) + encoded


_USAGES = {
    **{char: (0, 0x04 + place) for place, char in enumerate("abcdefghijklmnopqrstuvwxyz")},
    **{char: (0, 0x1E + place) for place, char in enumerate("1234567890")},
    "\n": (0, 0x28),
    " ": (0, 0x2C),
    "-": (0, 0x2D),
    "+": (2, 0x2E),
    ".": (0, 0x37),
}
"""Modifier byte and usage of a US keyboard. Source: USB HID Usage Tables, page 7 (from memory)."""

NO_KEY = bytes(8)


def typed(text: str) -> list[bytes]:
    """The reports of a US keyboard that types a text: each key down and up again."""
    reports = []
    for char in text:
        modifiers, usage = _USAGES[char]
        reports += [bytes([modifiers, 0, usage, 0, 0, 0, 0, 0]), NO_KEY]
    return reports
