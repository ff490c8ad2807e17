"""Keyboards in the system's list of input devices that are not on USB. Pure.

Source: Linux's /proc/bus/input/devices; its input.h (buses) and input-event-codes.h (keys), from
memory.
"""

import re

from drivers.attached.tree import OtherKeyboard
from drivers.printable import shown

_USB, _VIRTUAL = "0003", "0006"
"""Buses that are left out: USB has its own tree, and behind a virtual device there is a program."""

_BY = {"0005": "Bluetooth", "0011": "PS/2", "0018": "a line inside the machine"}
_DIGITS = 0b1111111111 << 2
"""Keys 1 to 0 have the codes 2 to 11: what has them all can type a size. Power buttons and volume
keys are keyboards too, to the system.
"""

_IDS = re.compile(r"Bus=([0-9a-f]{4}) Vendor=([0-9a-f]{4}) Product=([0-9a-f]{4})")


def other_keyboards(listed: str) -> tuple[OtherKeyboard, ...]:
    """What can type digits and is not on USB, in the order of the list. Never raises."""
    found = (_keyboard(block) for block in listed.split("\n\n"))
    return tuple(one for one in found if one is not None)


def _keyboard(block: str) -> OtherKeyboard | None:
    """One device of the list: lines of a letter, a colon and facts."""
    told = dict(re.findall(r"^([A-Z]: (?:Name|Sysfs|KEY)=|I: )(.*)$", block, re.MULTILINE))
    ids = _IDS.match(told.get("I: ", ""))
    if ids is None or ids[1] in (_USB, _VIRTUAL) or not _types_digits(told.get("B: KEY=", "")):
        return None
    return OtherKeyboard(
        title=shown(told.get("N: Name=", "").strip().strip('"')) or "keyboard, no name given",
        by=_BY.get(ids[1], "another way"),
        ids=":".join(ids.groups()),
        number=told.get("S: Sysfs=", "").rpartition("/")[2],
    )


def _types_digits(keys: str) -> bool:
    """`keys` is a map of bits in hexadecimal words, the lowest keys last."""
    last = keys.split()[-1:]
    try:
        return bool(last) and int(last[0], 16) & _DIGITS == _DIGITS
    except ValueError:
        return False
