"""The one clock: UTC for the record, carried on by a clock that does not jump within a run."""

import sys
import time

from drivers.reading import Instant

_BOOTTIME: int | None = getattr(time, "CLOCK_BOOTTIME", None)
"""Linux has it; elsewhere the clock that does not jump does."""


def _steady_ns() -> int:
    # CLOCK_BOOTTIME also counts while the machine sleeps; a check must age over a closed lid too.
    if sys.platform == "win32" or _BOOTTIME is None:
        return time.monotonic_ns()
    else:  # said so for the type checker, which knows the systems
        return time.clock_gettime_ns(_BOOTTIME)


class Clock:
    """Stamps moments. UTC is read once, so that a clock set during the run shifts no interval."""

    def __init__(self) -> None:
        self._mono_ns = _steady_ns()
        self._utc_us = time.time_ns() // 1000

    def now(self) -> Instant:
        """This moment."""
        mono_ns = _steady_ns()
        return Instant(self._utc_us + (mono_ns - self._mono_ns) // 1000, mono_ns)
