"""What people call the key of a USB usage id. Pure.

Source: USB HID Usage Tables, page 0x07 (from memory).
"""

from drivers.hid.layouts import KEYPAD, LAYOUTS

FIRST, LAST = 0x04, 0xE7
"""Usage ids of keys: A to the right GUI key."""

_NAMES = {
    0x28: "Enter",
    0x29: "Escape",
    0x2A: "Backspace",
    0x2B: "Tab",
    0x2C: "the space bar",
    **{0x3A + n: f"F{n + 1}" for n in range(12)},
    0x4A: "Home",
    0x4B: "Page Up",
    0x4C: "Delete",
    0x4D: "End",
    0x4E: "Page Down",
    0x4F: "arrow right",
    0x50: "arrow left",
    0x51: "arrow down",
    0x52: "arrow up",
    0x58: "keypad Enter",
    **{0x68 + n: f"F{n + 13}" for n in range(12)},
}


def key_name(usage: int) -> str:
    """The key as it is printed on most keyboards, with its usage id in hex: "F13 (68)"."""
    number = f"{usage:02X}"
    printed = LAYOUTS["us"].get(usage, "")[:1]
    name = _NAMES.get(usage) or (f"keypad {KEYPAD[usage]}" if usage in KEYPAD else printed.upper())
    return f"{name} ({number})" if name else f"key {number}"
