"""What the keys of a button device are for, as `--send-key` says it. Pure."""

import re
from collections.abc import Iterable, Mapping

import msgspec

from daq.errors import UsageError
from drivers.hid.key_names import FIRST, LAST, key_name

SEND, BACK, KEEP, DROP = "send", "back", "keep", "drop"

DOES = {SEND: "sends", BACK: "takes back", KEEP: "keeps", DROP: "drops"}
"""What a key can be for, and how that is said of it."""

ONE_AT_A_TIME = "keys of two meanings went down at once: press one at a time"

LIKE = "usb:1209:0003=68:send,69:back,6A:keep,6B:drop"

_KEY = re.compile(r"([0-9A-Fa-f]{1,2}):([A-Za-z]+)")


class BoundKeys(msgspec.Struct, frozen=True):
    """A button device by name, and the word of each key by its USB usage id; none: every key of it
    is a send key.
    """

    device: str
    words: Mapping[int, str] = {}

    @property
    def can_send(self) -> bool:
        """A key of it is a press."""
        return not self.words or SEND in self.words.values()

    @property
    def can_more(self) -> bool:
        """A key of it says a word of the operator's."""
        return bool(set(self.words.values()) - {SEND})

    @property
    def can_answer(self) -> bool:
        """A reading in question can be answered by it, either way."""
        return {KEEP, DROP} <= set(self.words.values())

    @property
    def told(self) -> str:
        """What each key is for, in words; empty if all of them send."""
        return ", ".join(f"{key_name(usage)} {DOES[word]}" for usage, word in self.words.items())

    def meant(self, usages: Iterable[int]) -> tuple[str, str]:
        """The word of keys that went down together, or in words why there is none; one is empty.

        A key without a word is no matter beside one that has one: some devices press Ctrl or Shift
        with theirs.
        """
        if not self.words:
            return SEND, ""
        pressed = sorted(usages)
        words = {self.words[usage] for usage in pressed if usage in self.words}
        if len(words) == 1:
            return words.pop(), ""
        if words:
            return "", ONE_AT_A_TIME
        return "", f"{key_name(pressed[0])} means nothing here: {self.told}"


def bound_keys(option: str) -> BoundKeys:
    """`usb:VID:PID[:SERIAL]`, perhaps with `=USAGE:WORD,...` behind it; the name of the device is
    not looked at. Raises UsageError.
    """
    device, mark, keys = option.rpartition("=")
    if not mark:
        return BoundKeys(option)
    if not keys.strip():
        raise _wrong("no key follows the =. Leave that out, or name keys")
    words: dict[int, str] = {}
    for key in keys.split(","):
        usage, word = _read(key.strip())
        if usage in words:
            raise _wrong(f"{key_name(usage)} is there twice. Give each key once")
        words[usage] = word
    return BoundKeys(device, words)


def _read(key: str) -> tuple[int, str]:
    found = _KEY.fullmatch(key)
    if found is None:
        raise _wrong(f"{key[:40]!r} is no key with its word. Write USAGE:WORD")
    usage, word = int(found[1], 16), found[2].lower()
    if not FIRST <= usage <= LAST:
        raise _wrong(f"{found[1]} is no key. Give its USB usage in hex, {FIRST:02X} to {LAST:02X}")
    if word not in DOES:
        raise _wrong(f"{found[2][:40]!r} is no word for a key. There are: {', '.join(DOES)}")
    return usage, word


def _wrong(words: str) -> UsageError:
    return UsageError(f"--send-key: {words}, like {LIKE}")
