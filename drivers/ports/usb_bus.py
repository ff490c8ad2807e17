"""The USB devices of this machine: pyusb for access, the system's own tables for what they are.

The only file that imports pyusb. What it raises is left as it is: USBError is an OSError with an
errno, and NotImplementedError means that the platform cannot do it.
"""

import contextlib
import os
import sys
from collections.abc import Iterable, Iterator
from typing import Protocol, TypeAlias

import usb.backend.libusb1  # type: ignore[import-untyped]  # pyusb has no types
import usb.core  # type: ignore[import-untyped]
import usb.util  # type: ignore[import-untyped]

from drivers.errors import PortUnavailable
from drivers.ports.usb_choice import BusDevice

Backend: TypeAlias = object
"""A `usb.backend.IBackend`."""

TIMED_OUT: type[OSError] = usb.core.USBTimeoutError
"""By class: the number differs from system to system."""

_SYSFS = "/sys/bus/usb/devices"
_HUB, _HID = 9, 3
_BOOT_KEYBOARD, _BOOT_MOUSE = (1, 1), (1, 2)
"""Subclass and protocol of an interface. Source: USB HID 1.11, 4.2 and 4.3 (from memory)."""

_UNREADABLE = (OSError, ValueError, IndexError, NotImplementedError)
"""What pyusb raises for a descriptor that cannot be had; ValueError is a missing permission too."""

LINUX_ONLY = (
    "a gauge that types can be read by itself on Linux only. Set the gauge to "
    "virtual COM port and use that port, or use --port typed: and keep this "
    "program's window in front"
)
NO_LIBRARY = (
    "libusb 1.0 is missing. Install the package libusb-1.0-0 (Debian, Ubuntu; "
    "libusb or libusb1 elsewhere)"
)


class Endpoint(Protocol):
    """What is used of pyusb's Endpoint."""

    bEndpointAddress: int  # noqa: N815 - as pyusb and the USB standard call it
    bmAttributes: int  # noqa: N815
    wMaxPacketSize: int  # noqa: N815


class Interface(Protocol):
    """What is used of pyusb's Interface: one alternate setting of it."""

    bInterfaceNumber: int  # noqa: N815
    bAlternateSetting: int  # noqa: N815
    bInterfaceClass: int  # noqa: N815
    bInterfaceSubClass: int  # noqa: N815
    bInterfaceProtocol: int  # noqa: N815

    def __iter__(self) -> Iterator[Endpoint]: ...


class Configuration(Protocol):
    """What is used of pyusb's Configuration."""

    bConfigurationValue: int  # noqa: N815

    def __iter__(self) -> Iterator[Interface]: ...


class Device(Protocol):
    """What is used of pyusb's Device."""

    idVendor: int  # noqa: N815
    idProduct: int  # noqa: N815
    bDeviceClass: int  # noqa: N815
    bus: int | None
    address: int | None
    port_numbers: tuple[int, ...] | None
    serial_number: str | None
    product: str | None

    def __iter__(self) -> Iterator[Configuration]: ...
    def get_active_configuration(self) -> Configuration: ...
    def is_kernel_driver_active(self, interface: int) -> bool: ...
    def detach_kernel_driver(self, interface: int) -> None: ...
    def attach_kernel_driver(self, interface: int) -> None: ...
    def clear_halt(self, ep: int) -> None: ...
    def read(self, endpoint: int, size_or_buffer: int, timeout: int) -> Iterable[int]: ...
    def ctrl_transfer(
        self,
        bmRequestType: int,  # noqa: N803
        bRequest: int,  # noqa: N803
        wValue: int,  # noqa: N803
        wIndex: int,  # noqa: N803
        data_or_wLength: int | None,  # noqa: N803
        timeout: int,
    ) -> Iterable[int] | int: ...


def claim(device: Device, interface: int) -> None:
    """Take an interface for this process."""
    usb.util.claim_interface(device, interface)


def release(device: Device, interface: int) -> None:
    """Give a claimed interface back to nobody."""
    usb.util.release_interface(device, interface)


def dispose(device: Device) -> None:
    """Close whatever is open of the device."""
    usb.util.dispose_resources(device)


class Bus:
    """All attached USB devices. Raises PortUnavailable where USB cannot be used; `name` is the port
    that the user asked for, `backend` None the real thing.
    """

    def __init__(self, name: str, backend: Backend | None = None) -> None:
        self._is_real = backend is None
        self._backend = backend if backend is not None else _libusb(name)

    def devices(self) -> list[Device]:
        """A new object for each; nothing is opened. Raises OSError."""
        return list(usb.core.find(find_all=True, backend=self._backend))

    def attached(self) -> list[tuple[Device, BusDevice]]:
        """Every device but hubs, in the order of their sockets. What cannot be read of one stays
        empty in its facts. Raises OSError.
        """
        found = [
            (device, self._facts(device))
            for device in self.devices()
            if device.bDeviceClass != _HUB
        ]
        return sorted(found, key=lambda pair: (pair[0].bus or 0, pair[0].port_numbers or ()))

    def has(self, device: Device) -> bool:
        """The device is still attached, at the same address."""
        here = (device.bus, device.address)
        return any((one.bus, one.address) == here for one in self.devices())

    def _facts(self, device: Device) -> BusDevice:
        socket = _socket(device)
        interfaces = _hid_interfaces(device)
        keyboards = [n for _, n, form in interfaces if form == _BOOT_KEYBOARD]
        others = [n for _, n, form in interfaces if form not in (_BOOT_KEYBOARD, _BOOT_MOUSE)]
        try:
            return BusDevice(
                vendor=device.idVendor,
                product=device.idProduct,
                serial=self._text(device, socket, "serial"),
                socket=socket,
                title=clean(self._text(device, socket, "product") or ""),
                node=f"/dev/bus/usb/{device.bus or 0:03d}/{device.address or 0:03d}",
                keyboards=tuple(keyboards),
                others=tuple(others),
                bound=tuple(
                    number
                    for config, number, form in interfaces
                    if form != _BOOT_MOUSE and self._has_driver(device, socket, config, number)
                ),
            )
        finally:
            with contextlib.suppress(*_UNREADABLE):
                dispose(device)

    def _text(self, device: Device, socket: str | None, what: str) -> str | None:
        """A text of the device. The system has read it already and shows it to every user."""
        if self._is_real:
            if socket is None:
                return None
            try:
                with open(f"{_SYSFS}/{socket}/{what}", encoding="utf-8") as file:
                    return file.read(1024).strip()
            except (OSError, ValueError):  # no such text, or bytes that are none
                return None
        try:
            return device.serial_number if what == "serial" else device.product
        except _UNREADABLE:
            return None

    def _has_driver(self, device: Device, socket: str | None, config: int, number: int) -> bool:
        """The system's driver has the interface; where that cannot be told, it has not."""
        if self._is_real:
            try:
                link = os.readlink(f"{_SYSFS}/{socket}:{config}.{number}/driver")
            except OSError:
                return False
            return os.path.basename(link) != "usbfs"  # that one is a program like this
        try:
            return device.is_kernel_driver_active(number)
        except _UNREADABLE:
            return False


def library_trouble() -> str:
    """Why no keyboard-type gauge can be read on this machine, and what to do; "" if it can."""
    try:
        _libusb("usb")
    except PortUnavailable as error:
        return error.reason
    return ""


def _libusb(name: str) -> Backend:
    if sys.platform.startswith("linux"):
        # By its name first: pyusb's own search starts other programs.
        found = usb.backend.libusb1.get_backend(find_library=lambda _: "libusb-1.0.so.0")
        found = found or usb.backend.libusb1.get_backend()
        if found is None:
            raise PortUnavailable(name, NO_LIBRARY)
        return found
    else:  # said so for the type checker, which knows the systems
        raise PortUnavailable(name, LINUX_ONLY)


def _socket(device: Device) -> str | None:
    if device.bus is None or not device.port_numbers:
        return None
    return f"{device.bus}-" + ".".join(str(port) for port in device.port_numbers)


def _hid_interfaces(device: Device) -> list[tuple[int, int, tuple[int, int]]]:
    """Configuration, number, and subclass with protocol of each HID interface."""
    found = []
    with contextlib.suppress(*_UNREADABLE):
        for config in device:
            found += [
                (
                    config.bConfigurationValue,
                    one.bInterfaceNumber,
                    (one.bInterfaceSubClass, one.bInterfaceProtocol),
                )
                for one in config
                if one.bInterfaceClass == _HID and one.bAlternateSetting == 0
            ]
    return found


def clean(text: str) -> str:
    """A text from outside on one short line, without anything that a terminal would obey."""
    return " ".join("".join(c if c.isprintable() else "?" for c in text).split())[:80]
