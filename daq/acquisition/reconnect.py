"""A gauge that is away: since when, and how much longer it is waited for. Pure."""

from drivers.errors import PortLost


class Absence:
    """Moments are `mono_ns` of one clock; `wait_s` None waits without end."""

    def __init__(self, wait_s: float | None) -> None:
        self._wait_ns = None if wait_s is None else int(wait_s * 1e9)
        self._until_ns: int | None = None
        self._was_heard = True
        self.lost: PortLost | None = None

    def begin(self, lost: PortLost, now_ns: int) -> None:
        """The gauge is gone. One that came back without a word has not been back: its time runs on,
        or a server that accepts and hangs up would be waited for without end.
        """
        self.lost = lost
        if self._was_heard and self._wait_ns is not None:
            self._until_ns = now_ns + self._wait_ns

    def end(self) -> None:
        """A port is open again."""
        self.lost = None
        self._was_heard = False

    def heard(self) -> None:
        """The gauge said something."""
        self._was_heard = True

    def left_s(self, now_ns: int) -> float | None:
        """How much longer it is waited for; None if it is not away, or without end."""
        if self.lost is None or self._until_ns is None:
            return None
        return max(0.0, (self._until_ns - now_ns) / 1e9)

    def is_over(self, now_ns: int) -> bool:
        """It has been waited for long enough."""
        return self.left_s(now_ns) == 0.0
