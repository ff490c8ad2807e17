"""Which key, with Shift or without, types a character on a keyboard set to us, de or fr.

Keys are usages of the HID keyboard page, which number places and not letters. Source: USB HID Usage
Tables, page 7, and the layouts as they are printed on the keys, both from memory; dead keys and
characters that need AltGr are left out, since no gauge sends numbers with them.
"""

from __future__ import annotations

from simulator.errors import SimulatorError

ENTER, TAB, SPACE = 0x28, 0x2B, 0x2C
KEYPAD_ENTER, NUM_LOCK = 0x58, 0x53

Key = tuple[int, bool]
"""A usage, and whether Shift is held."""

# The rows of a keyboard from left to right, as usages; a gap in the numbers is another row's.
_DIGITS = (0x1E, 0x1F, 0x20, 0x21, 0x22, 0x23, 0x24, 0x25, 0x26, 0x27, 0x2D, 0x2E)
_TOP = (0x14, 0x1A, 0x08, 0x15, 0x17, 0x1C, 0x18, 0x0C, 0x12, 0x13, 0x2F, 0x30)
_HOME = (0x04, 0x16, 0x07, 0x09, 0x0A, 0x0B, 0x0D, 0x0E, 0x0F, 0x33, 0x34)
_BOTTOM = (0x1D, 0x1B, 0x06, 0x19, 0x05, 0x11, 0x10, 0x36, 0x37, 0x38)
_BACKSLASH, _HASH, _LEFT_OF_ONE, _LEFT_OF_BOTTOM = 0x31, 0x32, 0x35, 0x64

_Row = tuple[tuple[int, ...], str, str]
"""Usages, what they type plain, and with Shift; a blank marks a dead key or none."""

_ROWS: dict[str, tuple[_Row, ...]] = {
    "us": (
        ((_LEFT_OF_ONE,), "`", "~"),
        (_DIGITS, "1234567890-=", "!@#$%^&*()_+"),
        (_TOP, "qwertyuiop[]", "QWERTYUIOP{}"),
        (_HOME, "asdfghjkl;'", 'ASDFGHJKL:"'),
        ((_BACKSLASH,), "\\", "|"),
        (_BOTTOM, "zxcvbnm,./", "ZXCVBNM<>?"),
    ),
    "de": (
        ((_LEFT_OF_ONE,), " ", "°"),
        (_DIGITS, "1234567890ß ", '!"§$%&/()=? '),
        (_TOP, "qwertzuiopü+", "QWERTZUIOPÜ*"),
        (_HOME, "asdfghjklöä", "ASDFGHJKLÖÄ"),
        ((_HASH,), "#", "'"),
        ((_LEFT_OF_BOTTOM,), "<", ">"),
        (_BOTTOM, "yxcvbnm,.-", "YXCVBNM;:_"),
    ),
    "fr": (
        ((_LEFT_OF_ONE,), "²", " "),
        (_DIGITS, "&é\"'(-è_çà)=", "1234567890°+"),
        (_TOP, "azertyuiop $", "AZERTYUIOP £"),
        (_HOME, "qsdfghjklmù", "QSDFGHJKLM%"),
        ((_HASH,), "*", "µ"),
        ((_LEFT_OF_BOTTOM,), "<", ">"),
        (_BOTTOM, "wxcvbn,;:!", "WXCVBN?./§"),
    ),
}

KEYPAD: dict[str, int] = {
    **dict(zip("/*-+", range(0x54, 0x58), strict=True)),
    "\n": KEYPAD_ENTER,
    **dict(zip("1234567890", range(0x59, 0x63), strict=True)),
    ".": 0x63,
    "=": 0x67,
    ",": 0x85,
}
"""The keypad's keys, the same on every layout; the key 0x63 bears a point or a comma."""


def _keys_of(rows: tuple[_Row, ...]) -> dict[str, Key]:
    """All characters of a layout; where two keys type one, the first row's key."""
    keys: dict[str, Key] = {"\n": (ENTER, False), "\t": (TAB, False), " ": (SPACE, False)}
    for usages, plain, shifted in rows:
        for is_shifted, characters in ((False, plain), (True, shifted)):
            for usage, character in zip(usages, characters, strict=True):
                keys.setdefault(character, (usage, is_shifted))
    return keys


LAYOUTS: dict[str, dict[str, Key]] = {name: _keys_of(rows) for name, rows in _ROWS.items()}
"""Characters and their keys, by layout."""


def key_of(character: str, layout: str) -> Key:
    """The key for a character; SimulatorError for an unknown layout or a character without one."""
    if layout not in LAYOUTS:
        raise SimulatorError(f"unknown layout {layout!r}; known: {', '.join(LAYOUTS)}")
    try:
        return LAYOUTS[layout][character]
    except KeyError:
        raise SimulatorError(f"no key of the {layout} layout types {character!r}") from None
