"""The bytes a gauge sends for one press of its button, in each format the simulator speaks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from simulator.checksums import sum_of, xor_of
from simulator.gauge import Flags, Shown
from simulator.modbus import READ_HOLDING, reading_reply
from simulator.nibbles import sync_nibbles_xor
from simulator.registers import Kind, Registers

STX = b"\x02"
ETX = b"\x03"

STATUS_LOW_BATTERY = 0x01
STATUS_ZEROED = 0x02

COMMA_COLUMNS = 9

Encode = Callable[[Shown, int, Flags], bytes]


@dataclass(frozen=True, slots=True)
class Format:
    """One way of sending a reading: a title for people, and the function that writes it.

    encode takes what is shown, the channel number (1 and up) and the gauge's flags. asked is the
    text that such a gauge waits for, None if it sends when its button is pressed; registers are
    those of a Modbus gauge, whose encode writes the reply to a request for all of them.
    """

    title: str
    encode: Encode
    asked: bytes | None = None
    registers: Registers | None = None

    @property
    def is_asked(self) -> bool:
        """It answers, and does not speak by itself."""
        return self.asked is not None or self.registers is not None


def number_unit_crlf(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``+59.982 mm`` CR LF; the sign is always sent."""
    return _ascii(f"{_always_signed(shown.digits)} {shown.unit}\r\n")


def number_crlf(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``59.982`` CR LF; the unit is not sent, the sign only when minus."""
    return _ascii(f"{_signed(shown.digits)}\r\n")


def comma_number_unit_lf(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``   59,982 mm`` LF; decimal comma, number at the right of nine columns.

    Raises ValueError when the number is wider than its columns.
    """
    number = _signed(shown.digits).replace(".", ",")
    if len(number) > COMMA_COLUMNS:
        raise ValueError(f"{number} does not fit in {COMMA_COLUMNS} columns")
    return _ascii(f"{number:>{COMMA_COLUMNS}} {shown.unit}\n")


def channel_number_unit_cr(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``C1 59.982 mm`` CR; C and the number of the gauge on a shared cable.

    Raises ValueError for a channel below 1.
    """
    if channel < 1:
        raise ValueError(f"channels count from 1, not {channel}")
    return _ascii(f"C{channel} {_signed(shown.digits)} {shown.unit}\r")


def stx_number_unit_etx_xor(shown: Shown, channel: int, flags: Flags) -> bytes:
    """STX ``+59.982 mm`` ETX and one byte, the exclusive or of text and ETX; no line end.

    The check byte may take any value, control characters among them.
    """
    checked = _ascii(f"{_always_signed(shown.digits)} {shown.unit}") + ETX
    return STX + checked + bytes([xor_of(checked)])


def number_unit_sum_crlf(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``59.982 mm*39`` CR LF; eight-bit sum of all before the star, two upper-case hex digits."""
    checked = _ascii(f"{_signed(shown.digits)} {shown.unit}")
    return checked + _ascii(f"*{sum_of(checked):02X}\r\n")


def number_unit_status_crlf(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``59.982 mm,00`` CR LF; status in hex: bit 0 battery low, bit 1 zeroed since switched on."""
    status = 0
    if flags.low_battery:
        status |= STATUS_LOW_BATTERY
    if flags.zeroed:
        status |= STATUS_ZEROED
    return _ascii(f"{_signed(shown.digits)} {shown.unit},{status:02X}\r\n")


def number_unit_cr(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``59.982 mm`` CR."""
    return _ascii(f"{_signed(shown.digits)} {shown.unit}\r")


def number_enter(shown: Shown, channel: int, flags: Flags) -> bytes:
    """``59.982`` LF, which a keyboard types as Enter; the unit is not sent."""
    return _ascii(f"{_signed(shown.digits)}\n")


def modbus_format(registers: Registers) -> Format:
    """A Modbus gauge with these registers; its channel is the number of its unit, 1 to 247."""

    def encode(shown: Shown, channel: int, flags: Flags) -> bytes:
        return reading_reply(channel, READ_HOLDING, registers.written(shown))

    order = "" if registers.count == 1 else f", {registers.words} word order"
    return Format(f"Modbus RTU, {registers.kind}{order}", encode, registers=registers)


_KINDS: tuple[Kind, ...] = ("int16", "uint16", "int32", "uint32", "float32")

FORMATS: dict[str, Format] = {
    "number-unit-crlf": Format("signed number, unit, CR LF", number_unit_crlf),
    "number-crlf": Format("number alone, CR LF", number_crlf),
    "comma-number-unit-lf": Format("decimal comma in nine columns, LF", comma_number_unit_lf),
    "channel-number-unit-cr": Format("channel, number, unit, CR", channel_number_unit_cr),
    "stx-number-unit-etx-xor": Format("STX, text, ETX, XOR byte", stx_number_unit_etx_xor),
    "number-unit-sum-crlf": Format("number, unit, hex sum, CR LF", number_unit_sum_crlf),
    "number-unit-status-crlf": Format("number, unit, hex status, CR LF", number_unit_status_crlf),
    "ask-number-unit-cr": Format("asked with ? CR: number, unit, CR", number_unit_cr, asked=b"?\r"),
    "keyboard-number-enter": Format("number, Enter, as a keyboard types it", number_enter),
    "bcd-nibbles-xor": Format("AA hex, packed digits, XOR half-byte", sync_nibbles_xor),
    **{
        # A bare 16-bit number of thousandths would end at 32.767 mm.
        f"modbus-{kind}": modbus_format(Registers(kind, decimals=2 if "16" in kind else 3))
        for kind in _KINDS
    },
}
"""Every format by name."""


def _magnitude(digits: Decimal) -> str:
    """The digits without sign, never in powers of ten, every decimal kept."""
    return format(digits.copy_abs(), "f")


def _signed(digits: Decimal) -> str:
    """The digits with a minus when below zero."""
    return ("-" if digits < 0 else "") + _magnitude(digits)


def _always_signed(digits: Decimal) -> str:
    """The digits with a minus when below zero and a plus otherwise."""
    return ("-" if digits < 0 else "+") + _magnitude(digits)


def _ascii(text: str) -> bytes:
    """The text as the gauge's seven-bit characters."""
    return text.encode("ascii")
