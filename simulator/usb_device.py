"""A simulated USB device: what it says of itself, and the state of its interfaces."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

REPORTS_KEPT = 4096
"""Packets that wait for somebody to read them; of more than that the oldest go."""

CLASS_HID, CLASS_HUB = 0x03, 0x09
BOOT_KEYBOARD, BOOT_MOUSE, PLAIN_HID = (CLASS_HID, 1, 1), (CLASS_HID, 1, 2), (CLASS_HID, 0, 0)
"""Class, subclass and protocol of an interface. Source: USB HID 1.11, 4.2 and 4.3, from memory."""

BOOT_PROTOCOL, REPORT_PROTOCOL = 0, 1

_MODIFIER_BITS = "0507 19E0 29E7 1500 2501 7501 9508 8102"
_NO_MEANING = "9501 7508 8101"
_FIVE_LAMPS = "0508 1901 2905 9505 7501 9102 9501 7503 9101"
_SIX_KEYS = "0507 1900 29FF 1500 26FF00 9506 7508 8100"

Text = str | bytes | None
"""A text of a device; bytes are sent as a whole string descriptor, right or wrong; None: none."""


def keyboard_descriptor(report_id: int | None = None) -> bytes:
    """The report descriptor of a keyboard with six keys; each report begins with report_id if any.

    Source: USB HID 1.11, 6.2.2 for the items, from memory.
    """
    numbered = "" if report_id is None else f"85{report_id:02X}"
    return bytes.fromhex(
        f"0501 0906 A101 {numbered} {_MODIFIER_BITS} {_NO_MEANING} {_FIVE_LAMPS} {_SIX_KEYS} C0"
    )


@dataclass(eq=False)
class UsbInterface:
    """One interface with one interrupt endpoint: what it is, who has it, what waits to be read.

    form is class, subclass and protocol; packet_size in bytes. report_id begins every report while
    the report protocol is on, as it is after plugging in. refused are class requests (bRequest)
    that it stalls. is_driven tells whether the system has a driver for it at all.
    """

    form: tuple[int, int, int] = BOOT_KEYBOARD
    packet_size: int = 8
    report_id: int | None = None
    descriptor: bytes | None = None
    refused: frozenset[int] = frozenset()
    is_driven: bool = True

    is_bound: bool = field(default=False, init=False)
    holder: object = field(default=None, init=False)
    protocol: int = field(default=REPORT_PROTOCOL, init=False)
    idle: int | None = field(default=None, init=False)
    lamps: int = field(default=0, init=False)
    is_halted: bool = field(default=False, init=False)
    stays_halted: bool = field(default=False, init=False)
    packets: deque[bytes | OSError] = field(
        default_factory=lambda: deque(maxlen=REPORTS_KEPT), init=False
    )

    def __post_init__(self) -> None:
        if self.descriptor is None:
            is_keyboard = self.form in (BOOT_KEYBOARD, PLAIN_HID)
            self.descriptor = keyboard_descriptor(self.report_id) if is_keyboard else b""

    def power_up(self) -> None:
        """As it is when the device has just been plugged in and the system has looked at it."""
        self.is_bound = self.is_driven
        self.holder = None
        self.protocol = REPORT_PROTOCOL
        self.idle = None
        self.lamps = 0
        self.is_halted = self.stays_halted = False
        self.packets.clear()

    def queue(self, report: bytes) -> None:
        """Have a report wait, with its number in front if this is the report protocol.

        One longer than a packet goes out as several; an empty one as a packet without a byte.
        """
        if self.report_id is not None and self.protocol == REPORT_PROTOCOL:
            report = bytes([self.report_id]) + report
        size = self.packet_size
        self.packets.extend(report[at : at + size] for at in range(0, max(1, len(report)), size))


@dataclass(frozen=True)
class Request:
    """A control request that a device was sent; data only of those that bring some."""

    request_type: int
    request: int
    value: int
    index: int
    data: bytes = b""


@dataclass(eq=False)
class SimulatedDevice:
    """One USB device: a keyboard-type gauge unless its interfaces say otherwise.

    Texts may hold anything at all. address is given when it is plugged in. is_permitted False is a
    device node that this user may not open. requests are the class requests it got, in order.
    """

    vendor: int = 0x1209
    product: int = 0x0001
    serial: Text = "SIM0001"
    title: Text = "Simulated gauge"
    maker: Text = "Simulator"
    interfaces: tuple[UsbInterface, ...] = field(default_factory=lambda: (UsbInterface(),))
    device_class: int = 0
    has_languages: bool = True
    is_permitted: bool = True

    bus: int = field(default=0, init=False)
    ports: tuple[int, ...] = field(default=(), init=False)
    address: int = field(default=0, init=False)
    is_present: bool = field(default=False, init=False)
    is_silent: bool = field(default=False, init=False)
    dying_error: int | None = field(default=None, init=False)
    configuration: int = field(default=1, init=False)
    resets: int = field(default=0, init=False)
    requests: list[Request] = field(default_factory=list, init=False)

    @property
    def texts(self) -> tuple[Text, Text, Text]:
        """Maker, title and serial number: string descriptors 1, 2 and 3."""
        return (self.maker, self.title, self.serial)

    @property
    def socket(self) -> str:
        """The socket as the system names it: bus, and ports from the host on."""
        return f"{self.bus}-" + ".".join(map(str, self.ports))


def string_descriptor(text: str | bytes) -> bytes:
    """The text as a string descriptor, cut at the 126 characters that fit; bytes stay as they are.

    Source: USB 2.0, 9.6.7, from memory: length, 3, UTF-16 with the low byte first.
    """
    if isinstance(text, bytes):
        return text
    encoded = text.encode("utf-16-le", "surrogatepass")[:252]
    return bytes([2 + len(encoded), 3]) + encoded
