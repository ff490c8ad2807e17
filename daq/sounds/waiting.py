"""What waits to be played: few, for what is old is of no use any more. Pure."""

from typing import NamedTuple


class Sounding(NamedTuple):
    """A cue or a text to be played; `after_s`: so many seconds after its time has come."""

    what: str
    urgency: int
    after_s: float = 0.0


def with_one_more(waiting: tuple[Sounding, ...], new: Sounding, most: int) -> tuple[Sounding, ...]:
    """`waiting` in order of time and `new` behind it; if they are more than `most`, without the
    oldest of the least urgent. So the last of the most urgent is never dropped.
    """
    found = (*waiting, new)
    if len(found) <= most:
        return found
    dropped = min(range(len(found)), key=lambda at: (found[at].urgency, at))
    return found[:dropped] + found[dropped + 1 :]
