"""What a HID report descriptor says of its keyboard reports. Pure.

Source: USB HID 1.11, 6.2.2 (items) and appendix B.1 (the boot report); from memory.
"""

from collections.abc import Iterator

import msgspec

_MAIN, _GLOBAL, _LOCAL = 0, 1, 2
_INPUT, _COLLECTION, _END_COLLECTION = 8, 10, 12
_PAGE, _REPORT_SIZE, _REPORT_ID, _REPORT_COUNT, _PUSH, _POP = 0, 7, 8, 9, 10, 11
_USAGE = 0
_LONG_ITEM = 0xFE
_APPLICATION = 1
_DESKTOP, _KEYBOARDS = 0x01, (0x06, 0x07)
"""Usage page of generic desktop devices, and its usages keyboard and keypad."""
_KEYS_PAGE = 0x07
_CONSTANT, _VARIABLE = 0x01, 0x02
"""Bits of an input item."""

_BOOT_FORM = [("variable", 1, 8), ("constant", 8, 1), ("array", 8, 6)]
"""Modifier bits, the reserved byte, six slots: kind, bits of one, how many."""


class KeyboardReports(msgspec.Struct, frozen=True):
    """How a device sends keys: the byte that begins each report, if any, and whether what follows
    is the 8-byte boot form.
    """

    report_id: int | None
    is_boot_form: bool


def keyboard_reports(descriptor: bytes) -> KeyboardReports | None:
    """The first keyboard of a report descriptor; None if it describes none. Never raises."""
    state = {_PAGE: 0, _REPORT_SIZE: 0, _REPORT_ID: 0, _REPORT_COUNT: 0}
    saved: list[dict[int, int]] = []
    usage, depth, keyboard_depth = 0, 0, 0
    report_id: int | None = None
    fields: list[tuple[str, int, int]] = []
    for kind, tag, value in _items(descriptor):
        if kind == _GLOBAL:
            if tag == _PUSH:
                saved.append(dict(state))
            elif tag == _POP and saved:
                state = saved.pop()
            elif tag in state:
                state[tag] = value
        elif kind == _LOCAL and tag == _USAGE:
            usage = value
        elif kind == _MAIN:
            if tag == _COLLECTION:
                depth += 1
                is_keyboard = state[_PAGE] == _DESKTOP and usage in _KEYBOARDS
                if value == _APPLICATION and is_keyboard and not keyboard_depth:
                    keyboard_depth = depth
            elif tag == _END_COLLECTION:
                if keyboard_depth and depth == keyboard_depth:
                    break
                depth = max(0, depth - 1)
            elif tag == _INPUT and keyboard_depth:
                if not fields:
                    report_id = state[_REPORT_ID] or None
                if (state[_REPORT_ID] or None) == report_id:
                    fields.append(_field(value, state))
            usage = 0
    if not keyboard_depth:
        return None
    return KeyboardReports(report_id, fields == _BOOT_FORM)


def _field(flags: int, state: dict[int, int]) -> tuple[str, int, int]:
    size, count = state[_REPORT_SIZE], state[_REPORT_COUNT]
    if flags & _CONSTANT:
        return ("constant", size * count, 1)
    if state[_PAGE] != _KEYS_PAGE:
        return ("other", size, count)
    return ("variable" if flags & _VARIABLE else "array", size, count)


def _items(descriptor: bytes) -> Iterator[tuple[int, int, int]]:
    """Each short item's type, tag and unsigned value; a half item at the end is left out."""
    place = 0
    while place < len(descriptor):
        prefix = descriptor[place]
        if prefix == _LONG_ITEM:
            place += 3 + (descriptor[place + 1] if place + 1 < len(descriptor) else 0)
            continue
        size = (0, 1, 2, 4)[prefix & 3]
        data = descriptor[place + 1 : place + 1 + size]
        if len(data) < size:
            return
        yield prefix >> 2 & 3, prefix >> 4, int.from_bytes(data, "little")
        place += 1 + size
