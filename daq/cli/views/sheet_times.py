"""Moments as the clock of the shop had them. Pure."""

from drivers.reading import utc_text

_MINUTE_US = 60 * 1_000_000


def local_minute(at_us: int, offset: str) -> str:
    """A moment (microseconds UTC) to the minute, local where `offset` (+HH:MM) says how much later
    the clocks were; without one it is UTC and says so.
    """
    if not offset:
        return f"{utc_text(at_us)[:16].replace('T', ' ')} UTC"
    minutes = 60 * int(offset[1:3]) + int(offset[4:6])
    moved = at_us + (-minutes if offset[0] == "-" else minutes) * _MINUTE_US
    try:
        return utc_text(moved)[:16].replace("T", " ")
    except (OverflowError, ValueError):  # beyond the calendar on one side only
        return f"{utc_text(at_us)[:16].replace('T', ' ')} UTC"


def local_days(first_us: int, last_us: int, offset: str) -> str:
    """The day, or the first and the last day."""
    first, last = (local_minute(at_us, offset)[:10] for at_us in (first_us, last_us))
    return first if first == last else f"{first} to {last}"
