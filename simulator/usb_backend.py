"""A USB bus without a kernel behind the interface that pyusb asks libraries by.

Give it to pyusb, ``usb.core.find(backend=SimulatedUsb(bus))``, and everything above the library is
the real thing.
"""

from __future__ import annotations

import errno
import time
from array import array
from collections.abc import Callable
from types import SimpleNamespace
from typing import TypeVar

import usb.backend  # type: ignore[import-untyped]  # pyusb has no types

from simulator.usb_bus import UsbBus
from simulator.usb_descriptors import (
    FIRST_ENDPOINT,
    configuration_descriptor,
    device_descriptor,
    endpoint_descriptor,
    interface_descriptor,
)
from simulator.usb_device import Request, SimulatedDevice, UsbInterface
from simulator.usb_errors import timed_out, trouble
from simulator.usb_requests import answer

_Answer = TypeVar("_Answer")


class _Handle:
    """One opening of a device, dead once the device is unplugged or moved."""

    def __init__(self, device: SimulatedDevice) -> None:
        self.device = device
        self.address = device.address


class SimulatedUsb(usb.backend.IBackend):  # type: ignore[misc]  # pyusb has no types
    """What pyusb finds and does on a bus. Blocking calls may be made from any thread."""

    def __init__(self, bus: UsbBus) -> None:
        self._bus = bus

    def enumerate_devices(self) -> list[SimulatedDevice]:
        """Every device that is plugged in, in the order of plugging."""
        return self._bus.devices()

    def get_parent(self, dev: SimulatedDevice) -> None:
        """No device hangs on another that pyusb could see."""

    def get_device_descriptor(self, dev: SimulatedDevice) -> SimpleNamespace:
        """Can be had without opening, as all descriptors but strings and reports."""
        return device_descriptor(dev)

    def get_configuration_descriptor(self, dev: SimulatedDevice, config: int) -> SimpleNamespace:
        """IndexError for any but the first."""
        return configuration_descriptor(dev, config)

    def get_interface_descriptor(
        self, dev: SimulatedDevice, intf: int, alt: int, config: int
    ) -> SimpleNamespace:
        """IndexError when there is none."""
        return interface_descriptor(dev, intf, alt, config)

    def get_endpoint_descriptor(
        self, dev: SimulatedDevice, ep: int, intf: int, alt: int, config: int
    ) -> SimpleNamespace:
        """IndexError when there is none."""
        return endpoint_descriptor(dev, ep, intf, alt, config)

    def open_device(self, dev: SimulatedDevice) -> _Handle:
        """Raises EACCES without permission, ENODEV once it is gone."""
        with self._bus.changed:
            if not dev.is_present:
                raise trouble(errno.ENODEV)
            if not dev.is_permitted:
                raise trouble(errno.EACCES)
            return _Handle(dev)

    def close_device(self, dev_handle: _Handle) -> None:
        """Claims end; a driver that was detached stays away."""
        with self._bus.changed:
            for interface in dev_handle.device.interfaces:
                if interface.holder is dev_handle:
                    interface.holder = None

    def get_configuration(self, dev_handle: _Handle) -> int:
        """1, or 0 for a device that has been told to have none."""
        return self._with(dev_handle, lambda device: device.configuration)

    def set_configuration(self, dev_handle: _Handle, config_value: int) -> None:
        """Raises EBUSY while a driver or a program has any interface, ENOENT for an unknown one."""

        def configure(device: SimulatedDevice) -> None:
            if any(one.is_bound or one.holder is not None for one in device.interfaces):
                raise trouble(errno.EBUSY)
            if config_value not in (0, 1):
                raise trouble(errno.ENOENT)
            device.configuration = config_value
            for one in device.interfaces:
                one.is_bound = one.is_driven and config_value == 1

        self._with(dev_handle, configure)

    def set_interface_altsetting(self, dev_handle: _Handle, intf: int, altsetting: int) -> None:
        """Each interface has one setting, 0; ENOENT for another."""

        def choose(device: SimulatedDevice) -> None:
            if _interface(device, intf).holder is not dev_handle or altsetting != 0:
                raise trouble(errno.ENOENT)

        self._with(dev_handle, choose)

    def claim_interface(self, dev_handle: _Handle, intf: int) -> None:
        """EBUSY while the system's driver or somebody else has it."""

        def claim(device: SimulatedDevice) -> None:
            one = _interface(device, intf)
            if one.is_bound or one.holder not in (None, dev_handle):
                raise trouble(errno.EBUSY)
            one.holder = dev_handle
            self._bus.log.append(("claim", intf))

        self._with(dev_handle, claim)

    def release_interface(self, dev_handle: _Handle, intf: int) -> None:
        """ENOENT if this handle does not have it."""

        def release(device: SimulatedDevice) -> None:
            one = _interface(device, intf)
            if one.holder is not dev_handle:
                raise trouble(errno.ENOENT)
            one.holder = None
            self._bus.log.append(("release", intf))

        self._with(dev_handle, release)

    def is_kernel_driver_active(self, dev_handle: _Handle, intf: int) -> bool:
        """Whether the system's driver has it; another program does not count."""
        return self._with(dev_handle, lambda device: _interface(device, intf).is_bound)

    def detach_kernel_driver(self, dev_handle: _Handle, intf: int) -> None:
        """ENOENT when no driver has it, also while another program does."""

        def detach(device: SimulatedDevice) -> None:
            one = _interface(device, intf)
            if not one.is_bound:
                raise trouble(errno.ENOENT)
            one.is_bound = False
            self._bus.log.append(("detach", intf))

        self._with(dev_handle, detach)

    def attach_kernel_driver(self, dev_handle: _Handle, intf: int) -> None:
        """EBUSY while it is claimed or has its driver, ENOENT if there is none for it.

        What waited to be read is typed on the desktop from now on.
        """

        def attach(device: SimulatedDevice) -> None:
            one = _interface(device, intf)
            if one.holder is not None or one.is_bound:
                raise trouble(errno.EBUSY)
            if not one.is_driven:
                raise trouble(errno.ENOENT)
            one.is_bound = True
            self._bus.log.append(("attach", intf))
            self._bus.desktop += [
                (device, packet) for packet in one.packets if isinstance(packet, bytes)
            ]
            one.packets.clear()

        self._with(dev_handle, attach)

    def clear_halt(self, dev_handle: _Handle, ep: int) -> None:
        """The endpoint sends again, unless it stays halted."""

        def clear(device: SimulatedDevice) -> None:
            one = _interface(device, ep - FIRST_ENDPOINT)
            one.is_halted = one.stays_halted

        self._with(dev_handle, clear)

    def reset_device(self, dev_handle: _Handle) -> None:
        """Settings go back to those after plugging in; driver and claim stay."""

        def reset(device: SimulatedDevice) -> None:
            device.resets += 1
            for one in device.interfaces:
                bound, holder = one.is_bound, one.holder
                one.power_up()
                one.is_bound, one.holder = bound, holder

        self._with(dev_handle, reset)

    def ctrl_transfer(
        self,
        dev_handle: _Handle,
        bmRequestType: int,  # noqa: N803 - as pyusb calls it
        bRequest: int,  # noqa: N803
        wValue: int,  # noqa: N803
        wIndex: int,  # noqa: N803
        data: array[int],
        timeout: int,
    ) -> int:
        """The number of bytes sent, or put into data; EPIPE for what the device does not know."""
        is_inward = bool(bmRequestType & 0x80)
        sent = b"" if is_inward else data.tobytes()
        request = Request(bmRequestType, bRequest, wValue, wIndex, sent)
        reply = self._with(dev_handle, lambda device: answer(device, request))
        if reply is None:
            raise trouble(errno.EPIPE)
        if not is_inward:
            return len(sent)
        return _put(reply[: len(data)], data)

    def intr_read(
        self, dev_handle: _Handle, ep: int, intf: int, buff: array[int], timeout: int
    ) -> int:
        """Packets until one is short or the buffer is full; timeout in ms, 0 waits for ever.

        As libusb does, a time-out after some packets gives these.
        """
        until_s = time.monotonic() + timeout / 1000 if timeout else None
        with self._bus.changed:
            one = _interface(dev_handle.device, intf)
            self._bus.readers += 1
            self._bus.changed.notify_all()
            try:
                return self._read(dev_handle, one, buff, until_s)
            finally:
                self._bus.readers -= 1

    def _read(
        self, dev_handle: _Handle, one: UsbInterface, buff: array[int], until_s: float | None
    ) -> int:
        """Fill the buffer from an interface; the number of bytes. Called with the bus at rest."""
        got = b""
        while True:
            packet = self._next_packet(dev_handle, one, until_s)
            if packet is None and not got:
                raise timed_out()
            if packet is None:
                return _put(got, buff)
            if len(got) + len(packet) > len(buff):
                raise trouble(errno.EOVERFLOW)
            got += packet
            if len(packet) < one.packet_size or len(got) == len(buff):
                return _put(got, buff)

    def _next_packet(
        self, dev_handle: _Handle, one: UsbInterface, until_s: float | None
    ) -> bytes | None:
        """The next packet of a claimed interface, waited for; None when none came in time."""
        device = dev_handle.device
        was_waiting = False
        while True:
            if device.is_silent:
                pass
            elif not device.is_present or device.address != dev_handle.address:
                dying = device.dying_error if was_waiting else None
                raise trouble(errno.ENODEV if dying is None else dying)
            elif one.holder is not dev_handle:
                raise trouble(errno.EBUSY)
            elif one.is_halted:
                raise trouble(errno.EPIPE)
            elif one.packets:
                packet = one.packets.popleft()
                if isinstance(packet, OSError):
                    raise packet
                return packet
            left_s = None if until_s is None else until_s - time.monotonic()
            if left_s is not None and left_s <= 0:
                return None
            was_waiting = True
            self._bus.changed.wait(left_s)

    def _with(self, dev_handle: _Handle, do: Callable[[SimulatedDevice], _Answer]) -> _Answer:
        """Do something with the device of a handle; ENODEV if it has been unplugged since."""
        with self._bus.changed:
            device = dev_handle.device
            if not device.is_present or device.address != dev_handle.address:
                raise trouble(errno.ENODEV)
            return do(device)


def _interface(device: SimulatedDevice, number: int) -> UsbInterface:
    """The interface of that number; ENOENT when there is none."""
    if not 0 <= number < len(device.interfaces):
        raise trouble(errno.ENOENT)
    return device.interfaces[number]


def _put(data: bytes, buffer: array[int]) -> int:
    """Put bytes at the start of a buffer that has room for them; their number."""
    buffer[: len(data)] = array("B", data)
    return len(data)
