"""Reports of a boot keyboard to the text that it types. Pure.

A report is 8 bytes: modifier bits, a reserved byte, and six slots with the usage ids of the keys
that are down, 0 for none. Source: USB HID 1.11, appendix B.1 (from memory).
"""

import msgspec

from drivers.hid.layouts import ALT, CTRL, GUI, KEYPAD, KEYPAD_DIGITS, LAYOUTS, SHIFT, LayoutName

REPORT_BYTES = 8
_ROLLOVER, _LAST_ERROR = 0x01, 0x03
"""Usage ids up to _LAST_ERROR in a slot are states of the keyboard, not keys."""
_MOST_ALT_CODE = 65535


class Keys(msgspec.Struct, frozen=True):
    """What one report typed: `text`, with Enter as LF, and `notes`: words of ASCII, in order."""

    text: str
    notes: tuple[str, ...]


_NOTHING = Keys("", ())


class KeyDecoder:
    """One gauge's key presses; made anew after every open, with no key down.

    `layout` is what the gauge is set to, not the computer. `alt_numpad`: keypad digits typed with
    Alt held are one decimal character code. `report_id`: the byte that begins each of its reports.
    With Ctrl, Alt or GUI held nothing is typed: a chord is noted and has no effect.
    """

    def __init__(
        self, layout: LayoutName, *, alt_numpad: bool = False, report_id: int | None = None
    ) -> None:
        self._keys = LAYOUTS[layout]
        self._alt_numpad = alt_numpad
        self._report_id = report_id
        self._down: frozenset[int] = frozenset()
        self._alt_code: int | None = None

    def take(self, report: bytes) -> Keys:
        """What this report adds; never raises, whatever the bytes. At most 8 notes."""
        if self._report_id is not None:
            if report[:1] not in (b"", bytes([self._report_id])):
                return Keys("", ("other-report-id",))
            report = report[1:]
        if len(report) < REPORT_BYTES:
            return Keys("", ("short-report",))
        notes = ["long-report"] if len(report) > REPORT_BYTES else []
        modifiers, slots = report[0], report[2:REPORT_BYTES]
        state = _state_word(slots)
        if state:
            # Not a release: the keys that were down still are.
            return Keys("", (*notes, state))
        text = "" if modifiers & ALT else self._alt_character(notes)
        for usage in dict.fromkeys(slots):
            if usage and usage not in self._down:
                text += self._pressed(usage, modifiers, notes)
        self._down = frozenset(slots) - {0}
        return Keys(text, tuple(notes)) if text or notes else _NOTHING

    def _pressed(self, usage: int, modifiers: int, notes: list[str]) -> str:
        """The character of a key that went down."""
        if modifiers & (CTRL | ALT | GUI):
            digit = KEYPAD_DIGITS.get(usage)
            if self._alt_numpad and digit is not None and not modifiers & (CTRL | GUI):
                self._alt_code = min((self._alt_code or 0) * 10 + digit, _MOST_ALT_CODE)
            else:
                notes.append(f"modifier-{modifiers:02x}+{usage:02x}")
            return ""
        if usage in KEYPAD:
            return KEYPAD[usage]
        if usage in self._keys:
            return self._keys[usage][bool(modifiers & SHIFT)]
        notes.append(f"usage-{usage:02x}")
        return ""

    def _alt_character(self, notes: list[str]) -> str:
        """The character of the code typed while Alt was down, if it was."""
        code, self._alt_code = self._alt_code, None
        if code is None:
            return ""
        if 32 <= code <= 126:
            return chr(code)
        notes.append(f"alt-code-{code}")
        return ""


def keys_pressed(previous: bytes, report: bytes, *, report_id: int | None = None) -> frozenset[int]:
    """The usage ids of what went down between two reports in a row.

    `previous` is b"" or eight zeros before the first. After a report that does not say which keys
    are down (short, roll-over) nothing counts as pressed: a press too few can be made again.
    """
    before = frozenset[int]() if not previous.strip(b"\0") else _down(previous, report_id)
    now = _down(report, report_id)
    return frozenset() if before is None or now is None else now - before


def _down(report: bytes, report_id: int | None) -> frozenset[int] | None:
    """Usage ids of all keys and modifiers that are down; None if the report does not say."""
    if report_id is not None:
        if report[:1] != bytes([report_id]):
            return None
        report = report[1:]
    slots = report[2:REPORT_BYTES]
    if len(report) < REPORT_BYTES or _state_word(slots):
        return None
    modifiers = {0xE0 + bit for bit in range(8) if report[0] >> bit & 1}
    return frozenset(slots) - {0} | modifiers


def _state_word(slots: bytes) -> str:
    """The note for slots that tell of the keyboard's state; "" if they hold keys."""
    if _ROLLOVER in slots:
        return "rollover"
    return "keyboard-error" if any(0 < usage <= _LAST_ERROR for usage in slots) else ""
