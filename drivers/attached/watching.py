"""What came and what went between two looks at the machine. Pure."""

from collections.abc import Iterable

import msgspec

from drivers.attached.discovery import Attached

SHORT_S = 2.0
"""A port that goes again so soon was taken by something. Common practice, no source."""


class Change(msgspec.Struct, frozen=True):
    """One device that is `present` from the start, has `arrived` or `left`; `was_short`: it left
    within SHORT_S of its arrival.
    """

    what: str
    device: Attached
    was_short: bool = False


def key_of(device: Attached) -> tuple[str, str, str]:
    """The same only as long as the device stays plugged in."""
    return device.kind, device.node, device.number


class Watch:
    """Compares each look with the last one."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, str, str], Attached] | None = None
        self._since: dict[tuple[str, str, str], float] = {}

    def look(self, found: Iterable[Attached], now_s: float) -> list[Change]:
        """The changes since the last look, what left first; `now_s` on a clock that never jumps.

        A device that was unplugged and plugged in again between two looks left and arrived.
        """
        now = {key_of(one): one for one in found}
        known, self._known = self._known, now
        if known is None:
            return [Change("present", one) for one in now.values()]
        left = [
            Change("left", one, now_s - self._since.pop(key, float("-inf")) < SHORT_S)
            for key, one in known.items()
            if key not in now
        ]
        arrived = {key: one for key, one in now.items() if key not in known}
        self._since.update(dict.fromkeys(arrived, now_s))
        return [*left, *(Change("arrived", one) for one in arrived.values())]
