"""Judging a whole session again after each new reading, at 2,000 readings and twice as many.

`python -m bench.reevaluate` prints both goals. Times are CPU time of taking one reading in (decide
and evolve, no disk) and judging every journal and group of the plan, as the live view does. The
second goal holds a session of 4,000 readings against one of 2,000 in the same run: twice the work
may take twice the time.
"""

import time
from decimal import Decimal
from statistics import median

import msgspec

from bench.ratio import Row, timed_row
from daq.commands import TakeReading
from daq.decide import decide, settle
from daq.events import FORMAT, RULES, Entry, Opened, Setup, Source, Temperatures
from daq.evolve import begin
from daq.session import State
from daq.stints import Events, after
from daq.verdict import groups, journals
from drivers.reading import Instant, Reading

READINGS = 2_000
BOUND_MS = 5
LAST = 200
"""So many readings at the end are timed: the session is as large as it gets."""

_SHAPES = {
    "repeats": "repeats = 10\nstations = ['1', '2', '3', '4', '5']\nangles_deg = [0, 45, 90, 135]",
    "places": "stations = ['1', '2', '3', '4', '5', '6', '7', '8']\nangles_deg = "
    + str(list(range(0, 175, 7))),
}
_PER_JOURNAL = 200


class Judged(msgspec.Struct, frozen=True):
    """CPU times of the last readings of one session, in ms."""

    times_ms: tuple[float, ...]

    @property
    def middle_ms(self) -> float:
        """Their median."""
        return median(self.times_ms)


def plan(readings: int, shape: str) -> str:
    """A plan of so many readings in journals of 200: few places often, or many places once."""
    journals_of_it = "".join(
        f"[[journal]]\nname = 'J{number}'\ngroup = 'mains'\nlow = '59.970 mm'\n"
        "high = '59.990 mm'\nout_of_round = '0.010 mm'\ntaper = '0.010 mm'\n"
        for number in range(readings // _PER_JOURNAL)
    )
    return (
        "schema = 1\npart = 'bench'\n[check]\nstack = '59.970 mm'\n"
        f"[defaults]\n{_SHAPES[shape]}\n[[group]]\nname = 'mains'\n{journals_of_it}"
    )


def judged(readings: int, shape: str) -> Judged:
    """Measure a session from its first check to its last place; the last readings are timed."""
    state = _begun(plan(readings, shape))
    times = []
    for number in range(readings):
        value = Decimal("59.975") + Decimal(number * 7 % 11) / 1000
        command = _pressed(value, number)
        began = time.process_time()
        state = _took(state, command, number)
        if number >= readings - LAST:
            found = journals(state)
            groups(state, found)
            times.append((time.process_time() - began) * 1000)
    return Judged(tuple(times))


def _begun(text: str) -> State:
    setup = Setup(
        source=Source("bench", "bench", None, "bench"),
        profile="",
        gauge_file=None,
        only=(),
        stack=None,
        saved_stacks={},
        temperatures=Temperatures("22", "", "21"),
        local_offset="+00:00",
    )
    opened = Opened(
        format=FORMAT,
        program="bench",
        rules=RULES,
        session="bench",
        job="",
        part="",
        operator="",
        plan_name="bench",
        plan=text,
        setup=setup,
    )
    state = begin(Entry(1, 0, opened), "bench")
    state = after(state, settle(state, 0), 0)
    for value in ("59.970", "59.971", "59.970", "59.971", "59.970"):
        state = _took(state, _pressed(Decimal(value), 0), 0)
    return state


def _pressed(value: Decimal, at: int) -> TakeReading:
    return TakeReading(Reading(value, "mm", Decimal("0.001"), b"", Instant(at, at)))


def _took(state: State, command: TakeReading, at: int) -> State:
    events: Events = decide(state, command, at)
    return after(state, events, at)


def measure(rounds: int) -> list[Row]:
    """The goals: the worse of both shapes under its bound, and no more than linear growth."""
    once = {shape: [judged(READINGS, shape).middle_ms for _ in range(3)] for shape in _SHAPES}
    worst = max(median(found) for found in once.values())
    said = ", ".join(f"{shape} {median(found):.2f} ms" for shape, found in once.items())
    doubled, single = [], []
    for _ in range(max(3, rounds // 3)):
        single.append(2 * judged(READINGS, "repeats").middle_ms)
        doubled.append(judged(2 * READINGS, "repeats").middle_ms)
    return [
        Row(
            goal=f"a reading taken in and {READINGS} judged again, CPU in ms",
            limit=f"{BOUND_MS} ms",
            ours=said,
            value=round(worst, 2),
            bound=BOUND_MS,
        ),
        timed_row(
            f"{2 * READINGS} readings against twice the time of {READINGS}",
            1,
            doubled,
            single,
            "ms",
        ),
    ]


def main() -> None:
    """Print both goals."""
    for row in measure(9):
        print(f"{row.goal}: {row.ours}; limit {row.limit}; {row.value:.3g} ({row.verdict})")


if __name__ == "__main__":
    main()
