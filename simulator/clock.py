"""The time a script is played in."""

from __future__ import annotations

import time
from typing import Protocol


class Clock(Protocol):
    """Something that tells the time and waits; tests bring one that waits for nothing."""

    def now_s(self) -> float:
        """Seconds since some fixed moment; never runs backwards."""
        ...

    def sleep_s(self, seconds: float) -> None:
        """Return after this many seconds."""
        ...


class WallClock:
    """The real thing, unmoved by changes of the time of day."""

    def now_s(self) -> float:
        """Seconds since some fixed moment; never runs backwards."""
        return time.monotonic()

    def sleep_s(self, seconds: float) -> None:
        """Return after this many seconds."""
        time.sleep(seconds)
