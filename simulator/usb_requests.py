"""What a simulated USB device answers to control requests."""

from __future__ import annotations

from simulator.usb_device import Request, SimulatedDevice, UsbInterface, string_descriptor

GET_STATUS, GET_DESCRIPTOR, GET_CONFIGURATION = 0x00, 0x06, 0x08
GET_IDLE, GET_PROTOCOL = 0x02, 0x03
SET_REPORT, SET_IDLE, SET_PROTOCOL = 0x09, 0x0A, 0x0B
"""Source: USB 2.0, 9.4, and USB HID 1.11, 7.2, from memory."""

_DEVICE_IN, _INTERFACE_IN = 0x80, 0x81
_CLASS_IN, _CLASS_OUT = 0xA1, 0x21
_STRING, _REPORT_DESCRIPTOR = 3, 0x22
_ENGLISH = b"\x04\x03\x09\x04"


def answer(device: SimulatedDevice, request: Request) -> bytes | None:
    """The bytes that come back, none for a request that brings some; None is a stall.

    Class requests change the device and are written down in it. It is called with the bus at rest.
    """
    if request.request_type == _DEVICE_IN:
        return _of_device(device, request)
    if request.request_type == _INTERFACE_IN:
        return _of_interface(device, request)
    if request.request_type not in (_CLASS_IN, _CLASS_OUT):
        return None
    device.requests.append(request)
    interface = _interface(device, request.index)
    if interface is None or request.request in interface.refused:
        return None
    if request.request_type == _CLASS_IN:
        return _told(interface, request)
    return b"" if _obeyed(interface, request) else None


def _of_device(device: SimulatedDevice, request: Request) -> bytes | None:
    """Strings, the number of the configuration, and the status."""
    kind, index = request.value >> 8, request.value & 0xFF
    if request.request == GET_CONFIGURATION:
        return bytes([device.configuration])
    if request.request == GET_STATUS:
        return bytes(2)
    if request.request != GET_DESCRIPTOR or kind != _STRING or not device.has_languages:
        return None
    if index == 0:
        return _ENGLISH
    text = device.texts[index - 1] if index <= len(device.texts) else None
    return None if text is None else string_descriptor(text)


def _of_interface(device: SimulatedDevice, request: Request) -> bytes | None:
    """The report descriptor."""
    interface = _interface(device, request.index)
    is_asked_for_it = request.request == GET_DESCRIPTOR and request.value >> 8 == _REPORT_DESCRIPTOR
    if interface is None or not is_asked_for_it:
        return None
    return interface.descriptor or None


def _obeyed(interface: UsbInterface, request: Request) -> bool:
    """Protocol, idle time or lamps set; False for another request."""
    if request.request == SET_PROTOCOL:
        interface.protocol = request.value & 1
    elif request.request == SET_IDLE:
        interface.idle = request.value >> 8
    elif request.request == SET_REPORT and request.data:
        interface.lamps = request.data[-1]
    else:
        return False
    return True


def _told(interface: UsbInterface, request: Request) -> bytes | None:
    """Protocol or idle time; None for another request."""
    if request.request == GET_PROTOCOL:
        return bytes([interface.protocol])
    return bytes([interface.idle or 0]) if request.request == GET_IDLE else None


def _interface(device: SimulatedDevice, number: int) -> UsbInterface | None:
    """The interface that a request means, by the low byte of its index."""
    number &= 0xFF
    return device.interfaces[number] if number < len(device.interfaces) else None
