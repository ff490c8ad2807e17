"""Which readings of a stream count: the first after a press, or one that came to rest. Pure."""

from decimal import Decimal

from daq.rules.commands import Why
from drivers.reading import Instant, Reading

MOVED_STEPS = 10
"""A value that is so many resolution steps away from where it rested has left it. Chosen by us: far
more than a gauge flickers, far less than opening its jaws."""


class Rest:
    """Notices when a stream of values has come to rest.

    At rest means: for `rest_s` seconds all values lay within one resolution step of each other, in
    one unit and without a gap as long. A rest is told of once; then the value must move by more
    than MOVED_STEPS steps before the next counts. So must it at the start: what lay still before
    the operator began is no reading.
    """

    def __init__(self, rest_s: float) -> None:
        self._rest_ns = int(rest_s * 1e9)
        self._since: Instant | None = None
        self._last: Instant | None = None
        self._unit = ""
        self._least = self._most = Decimal(0)
        self._left: Decimal | None = None
        self._has_moved = False

    @property
    def since(self) -> Instant | None:
        """From when on the value rests that was taken last; None before the first."""
        return self._since

    def take(self, reading: Reading) -> bool:
        """A value of the stream; True if with it the value has come to rest."""
        value, step = reading.value, reading.resolution
        if self._left is None or reading.unit != self._unit:
            self._left, self._unit, self._since = value, reading.unit, None
            self._has_moved = False
        elif abs(value - self._left) > MOVED_STEPS * step:
            self._has_moved = True
        least = value if self._since is None else min(self._least, value)
        most = value if self._since is None else max(self._most, value)
        is_gap = self._last is not None and reading.at.mono_ns - self._last.mono_ns > self._rest_ns
        self._last = reading.at
        if self._since is None or most - least > step or is_gap:
            self._since, self._least, self._most = reading.at, value, value
            return False
        self._least, self._most = least, most
        if not self._has_moved or reading.at.mono_ns - self._since.mono_ns < self._rest_ns:
            return False
        self.leave(reading)
        return True

    def leave(self, reading: Reading) -> None:
        """The value must move away from here before it can come to rest again."""
        self._left, self._has_moved = reading.value, False


class Gate:
    """Lets pass what counts of a gauge that speaks without being pressed.

    Without `rest_s` only a press makes a reading count, with it also a value that came to rest.
    """

    def __init__(self, rest_s: float | None = None) -> None:
        self._rest_s = rest_s
        self._rest = None if rest_s is None else Rest(rest_s)
        self._pressed: Instant | None = None

    @property
    def is_open(self) -> bool:
        """A press waits for its reading."""
        return self._pressed is not None

    @property
    def rests_since(self) -> Instant | None:
        """From when on the value rests; None where no rest is looked for."""
        return None if self._rest is None else self._rest.since

    def press(self, at: Instant) -> None:
        """The operator's trigger: the first reading after `at` counts."""
        self._pressed = at

    def shut(self) -> None:
        """The stream has ended: forget a press, and what rested before."""
        self._pressed = None
        self._rest = None if self._rest_s is None else Rest(self._rest_s)

    def take(self, reading: Reading) -> Why | None:
        """A reading of the stream; says why it counts, None if it does not."""
        has_rested = self._rest is not None and self._rest.take(reading)
        if self._pressed is not None and reading.at.mono_ns > self._pressed.mono_ns:
            self._pressed = None
            if self._rest is not None:
                self._rest.leave(reading)  # it is taken: resting on makes no second reading of it
            return "pressed"
        return "rested" if has_rested else None
