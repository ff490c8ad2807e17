"""The guarded input line: a keyboard-type gauge that types into this program's own window.

For systems where no program can have such a gauge to itself (Windows, macOS). What is typed while
another window is in front is not seen here, and nobody can tell the gauge's keys from a person's:
so every reading taken this way is marked as typed. Where a person reads the gauge and types its
values, no bytes of a gauge come here at all: whoever owns the run reads the lines.
"""

import queue
from collections.abc import Callable

from daq.acquisition.inputs import InputSource, Item, Typed
from daq.equipment.gauge import BY_HAND, TYPED_PORT
from daq.rules.commands import WORDS
from drivers.attached.device_id import DeviceId
from drivers.errors import PortLost, PortUnavailable
from drivers.ports.base import Port
from drivers.profile.profile import Link, Profile

BY_HAND_TEXT = f"""\
schema = 1
id = "{BY_HAND}"
title = "Read off the gauge and typed by a person: 59.982, with its unit if need be"
kind = "text"

[frame]
end = "\\n"                     # Enter

[[layout]]
name = "number"
form = "fixed"
[[layout]]
sp = [0, 3]
[[layout]]
name = "unit"
optional = true
map = {{ mm = "mm", in = "in" }}

[value]
unit = "mm"
"""
"""The profile of such a run, for its record: how the program takes these lines stands in
daq/rules/typed_value.py."""


def by_hand() -> Profile:
    """The profile of values that a person types."""
    from drivers.profile.file import parse_profile  # noqa: PLC0415 - only when it runs

    return parse_profile(BY_HAND_TEXT, f"the profile {BY_HAND}")


class TypedPort:
    """A port whose bytes are the lines of this program's own keyboard, Enter as LF."""

    name = TYPED_PORT
    identity = DeviceId(TYPED_PORT)

    def __init__(self) -> None:
        self._lines: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._is_open = True

    def type(self, text: str) -> None:
        """A whole line; from any thread."""
        self._lines.put(text.encode("utf-8") + b"\n")

    def read(self, timeout_s: float | None) -> bytes:
        """A line as soon as there is one; b"" means silence so far, or a wake-up."""
        if not self._is_open:
            raise PortLost(TYPED_PORT, "it has been closed")
        try:
            return self._lines.get(timeout=timeout_s)
        except queue.Empty:
            return b""

    def write(self, data: bytes) -> None:
        """Never: nothing can be sent to a gauge that types."""
        raise PortUnavailable(TYPED_PORT, "a gauge that types cannot be asked")

    def notices(self) -> tuple[str, ...]:
        """None: all that comes are lines."""
        return ()

    def wake(self) -> None:
        """End a waiting `read` early."""
        self._lines.put(b"")

    def close(self) -> None:
        """As often as you like."""
        self._is_open = False


def shared(keyboard: InputSource, port: TypedPort) -> InputSource:
    """The keyboard, with the gauge's lines led to its port: all but the operator's own words."""

    def listen(put: Callable[[Item], None]) -> None:
        def lead(item: Item) -> None:
            if isinstance(item, Typed) and item.text and not _is_word(item.text):
                port.type(item.text)
            else:
                put(item)

        keyboard(lead)

    return listen


def _is_word(text: str) -> bool:
    return text.strip().partition(" ")[0].lower() in WORDS


def open_here(name: str, link: Link) -> Port:
    """As drivers.ports.open_port, and the guarded input line too."""
    from drivers.ports import open_port  # noqa: PLC0415 - only when it runs

    return TypedPort() if name == TYPED_PORT else open_port(name, link)


def check_name(name: str) -> None:
    """As drivers.ports.check_port_name, and the guarded input line too."""
    from drivers.ports import check_port_name  # noqa: PLC0415 - only when it runs

    if name != TYPED_PORT:
        check_port_name(name)
