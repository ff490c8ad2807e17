"""The descriptors of a simulated USB device, with the fields that pyusb reads from them."""

from __future__ import annotations

from types import SimpleNamespace

from simulator.usb_device import SimulatedDevice

FIRST_ENDPOINT = 0x81
"""The address of the first interface's endpoint, inward; the others' follow."""


def device_descriptor(dev: SimulatedDevice) -> SimpleNamespace:
    """Source of the fields here and below: USB 2.0, chapter 9.6, from memory."""
    indices = [n if text is not None else 0 for n, text in enumerate(dev.texts, 1)]
    return SimpleNamespace(
        bLength=18,
        bDescriptorType=1,
        bcdUSB=0x0200,
        bDeviceClass=dev.device_class,
        bDeviceSubClass=0,
        bDeviceProtocol=0,
        bMaxPacketSize0=8,
        idVendor=dev.vendor,
        idProduct=dev.product,
        bcdDevice=0x0100,
        iManufacturer=indices[0],
        iProduct=indices[1],
        iSerialNumber=indices[2],
        bNumConfigurations=1,
        bus=dev.bus,
        address=dev.address,
        port_number=dev.ports[-1] if dev.ports else 0,
        port_numbers=dev.ports or None,
        speed=1,
    )


def configuration_descriptor(dev: SimulatedDevice, config: int) -> SimpleNamespace:
    """The one configuration, whose value is 1."""
    if config != 0:
        raise IndexError(f"no configuration {config}")
    return SimpleNamespace(
        bLength=9,
        bDescriptorType=2,
        wTotalLength=9 + 25 * len(dev.interfaces),
        bNumInterfaces=len(dev.interfaces),
        bConfigurationValue=1,
        iConfiguration=0,
        bmAttributes=0xA0,
        bMaxPower=50,
        extra_descriptors=[],
    )


def interface_descriptor(dev: SimulatedDevice, intf: int, alt: int, config: int) -> SimpleNamespace:
    """An interface; with the HID descriptor behind it, if it is one."""
    if config != 0 or alt != 0 or intf >= len(dev.interfaces):
        raise IndexError(f"no interface {intf} with setting {alt} in configuration {config}")
    one = dev.interfaces[intf]
    size = len(one.descriptor or b"")
    hid = [9, 0x21, 0x11, 0x01, 0, 1, 0x22, size & 0xFF, size >> 8]
    return SimpleNamespace(
        bLength=9,
        bDescriptorType=4,
        bInterfaceNumber=intf,
        bAlternateSetting=0,
        bNumEndpoints=1,
        bInterfaceClass=one.form[0],
        bInterfaceSubClass=one.form[1],
        bInterfaceProtocol=one.form[2],
        iInterface=0,
        extra_descriptors=hid if size else [],
    )


def endpoint_descriptor(
    dev: SimulatedDevice, ep: int, intf: int, alt: int, config: int
) -> SimpleNamespace:
    """The interrupt endpoint of an interface: 81 hex for the first, and so on."""
    if ep != 0:
        raise IndexError(f"no endpoint {ep} in interface {intf}")
    return SimpleNamespace(
        bLength=7,
        bDescriptorType=5,
        bEndpointAddress=FIRST_ENDPOINT + intf,
        bmAttributes=3,
        wMaxPacketSize=dev.interfaces[intf].packet_size,
        bInterval=10,
        bRefresh=0,
        bSynchAddress=0,
        extra_descriptors=[],
    )
