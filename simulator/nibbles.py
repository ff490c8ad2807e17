"""A reading as packed half-bytes behind a sync byte."""

from __future__ import annotations

from simulator.checksums import xor_of
from simulator.gauge import Flags, Shown

SYNC = 0xAA
DIGITS = 7
UNITS = {"mm": 0, "in": 1}
LOW_BATTERY = 0x2


def sync_nibbles_xor(shown: Shown, channel: int, flags: Flags) -> bytes:
    """AA hex, then half-bytes, the high one first: status, decimals, 7 digits, sign, unit, check.

    The check is the exclusive or of all half-bytes before it. Raises ValueError for a number of
    more digits than there is room for.
    """
    sign, digits, exponent = shown.digits.as_tuple()
    decimals = -int(exponent)
    if len(digits) > DIGITS or not 0 <= decimals <= DIGITS:
        raise ValueError(f"{shown.digits:f} does not fit in {DIGITS} digits")
    padded = [0] * (DIGITS - len(digits)) + list(digits)
    status = LOW_BATTERY if flags.low_battery else 0
    minus = int(bool(sign and any(digits)))
    halves = bytes([status, decimals, *padded, minus, UNITS[shown.unit]])
    halves += bytes([xor_of(halves)])
    return bytes([SYNC]) + bytes(
        high << 4 | low for high, low in zip(halves[::2], halves[1::2], strict=True)
    )
