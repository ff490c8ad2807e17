"""Do bytes look like a gauge's text, and which line setting might make them so? Pure."""

from typing import Literal

from drivers.profile.profile import Link

PLAUSIBLE = 0.95
"""Share of bytes that look like text from which a line setting is believed. Chosen by us: a check
byte may be anything, a wrong baud rate spoils far more."""

_BAUDS = (9600, 4800, 2400, 19200, 1200, 38400, 57600, 115200, 600, 300)

SETTINGS: tuple[Link, ...] = (
    *(Link(baud=baud) for baud in _BAUDS),
    *(Link(baud=baud, parity=parity) for baud in _BAUDS for parity in ("E", "O")),
)
"""Line settings in the order of trying. Seven bits with parity, or with two stop bits, show through
an eight-bit port as a dirty bit 7 and need no trying. Chosen by us: the commonest first."""

_TEXT = frozenset(range(0x20, 0x7F)) | frozenset(b"\r\n\t\x02\x03")
_ETX = 0x03
_MASK7 = bytes(byte & 0x7F for byte in range(256))

Seventh = Literal["even", "odd", "set"]


def masked(data: bytes) -> bytes:
    """The same bytes with bit 7 cleared."""
    return data.translate(_MASK7)


def seventh_bit(data: bytes) -> Seventh | None:
    """What bit 7 is in *every* byte: parity, or always set; None if clear or anything else."""
    if not any(byte & 0x80 for byte in data):
        return None
    odd = {byte.bit_count() & 1 for byte in data}
    if odd == {0}:
        return "even"
    if odd == {1}:
        return "odd"
    return "set" if all(byte & 0x80 for byte in data) else None


def plausibility(data: bytes) -> float:
    """How much `data` looks like frames of text, 0 to 1: the share of bytes that may occur there.

    0 without a digit. Parity in bit 7 is seen through; the byte behind an ETX may be anything.
    """
    if seventh_bit(data) is not None:
        data = masked(data)
    if not any(0x30 <= byte <= 0x39 for byte in data):
        return 0.0
    before = b"\x00" + data
    fits = sum(byte in _TEXT or before[i] == _ETX for i, byte in enumerate(data))
    return fits / len(data)
