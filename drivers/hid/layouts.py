"""Which character a key gives, by USB usage id, for the layouts a gauge can be set to. Pure.

Usage ids name key positions. Only single characters: a dead key is given as its plain accent.
Source: USB HID Usage Tables, page 0x07 (from memory); the characters of de and fr as in xkb-data
symbols de(basic) and fr(basic).
"""

from typing import Literal, TypeAlias

LayoutName: TypeAlias = Literal["us", "de", "fr"]

CTRL, SHIFT, ALT, GUI = 0x11, 0x22, 0x44, 0x88
"""Masks of a report's modifier byte, left and right key of a kind together."""

MODIFIERS = {
    0x01: "LeftCtrl",
    0x02: "LeftShift",
    0x04: "LeftAlt",
    0x08: "LeftGUI",
    0x10: "RightCtrl",
    0x20: "RightShift",
    0x40: "RightAlt",
    0x80: "RightGUI",
}

_LETTERS, _DIGITS, _WHITE, _MARKS, _EXTRA = 0x04, 0x1E, 0x28, 0x2D, 0x64
"""Where runs of neighbouring keys begin: a to z, 1 to 0, Enter, the marks right of 0, and the key
left of z that US keyboards lack."""


def _keys(*rows: tuple[int, str, str]) -> dict[int, str]:
    """Usage id to two characters, plain and with Shift. A blank in a row is a key without one."""
    keys = {_WHITE: "\n\n", 0x2B: "\t\t", 0x2C: "  "}
    for first, plain, shifted in rows:
        for place, pair in enumerate(zip(plain, shifted, strict=True)):
            if pair != (" ", " "):
                keys[first + place] = "".join(pair)
    return keys


LAYOUTS: dict[LayoutName, dict[int, str]] = {
    "us": _keys(
        (_LETTERS, "abcdefghijklmnopqrstuvwxyz", "ABCDEFGHIJKLMNOPQRSTUVWXYZ"),
        (_DIGITS, "1234567890", "!@#$%^&*()"),
        (_MARKS, "-=[]\\ ;'`,./", '_+{}| :"~<>?'),
    ),
    "de": _keys(
        (_LETTERS, "abcdefghijklmnopqrstuvwxzy", "ABCDEFGHIJKLMNOPQRSTUVWXZY"),
        (_DIGITS, "1234567890", '!"§$%&/()='),
        (_MARKS, "ß´ü+##öä^,.-", "?`Ü*''ÖÄ°;:_"),  # noqa: RUF001 - that very accent
        (_EXTRA, "<", ">"),
    ),
    "fr": _keys(
        (_LETTERS, "qbcdefghijkl,noparstuvzxyw", "QBCDEFGHIJKL?NOPARSTUVZXYW"),
        (_DIGITS, "&é\"'(-è_çà", "1234567890"),
        (_MARKS, ")=^$**mù²;:!", "°+¨£µµM%²./§"),
        (_EXTRA, "<", ">"),
    ),
}
"""Usage id to two characters, plain and with Shift, for each layout."""

KEYPAD: dict[int, str] = {
    **{0x54 + place: char for place, char in enumerate("/*-+\n1234567890.")},
    0x67: "=",
    0x85: ",",
}
"""Keypad keys: the same character in every layout, whatever Shift and NumLock say."""

KEYPAD_DIGITS = {usage: int(char) for usage, char in KEYPAD.items() if char.isdigit()}
