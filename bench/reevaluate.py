"""Judging a whole session again after each new reading, at 2,000 readings and twice as many.

`python -m bench.reevaluate` prints both goals. Times are CPU time of taking one reading in (decide
and evolve, no disk) and judging every journal and group of the plan, without the words for what
would settle an undecided one, which only a closing line has. The
second goal holds a session of 4,000 readings against one of 2,000 in the same run: twice the work
may take twice the time.
"""

import time
from decimal import Decimal
from statistics import median

import msgspec

from bench.ratio import Row, timed_row
from daq.evaluation.live import judged_live
from daq.evaluation.verdict import groups
from daq.record.advance import Advance
from daq.record.events import FORMAT, RULES, Entry, GaugeSource, Opened, Setup, Temperatures
from daq.record.evolve import begin
from daq.record.state import State
from daq.rules.commands import CheckNow, TakeReading
from daq.rules.decide import decide, settle
from drivers.reading import Instant, Reading

READINGS = 2_000
BOUND_MS = 5
LAST = 200
"""So many readings at the end are timed: the session is as large as it gets."""


class Shape(msgspec.Struct, frozen=True):
    """A session of one shape: readings a journal, places and repeats, and how often a check comes
    in between (0: never).
    """

    per_journal: int
    places: str
    check_every: int = 0


_EIGHT = "stations = ['1', '2']\nangles_deg = [0, 45, 90, 135]"
SHAPES = {
    "10 journals of 20 places, ten times each": Shape(
        200, "repeats = 10\nstations = ['1', '2', '3', '4', '5']\nangles_deg = [0, 45, 90, 135]"
    ),
    "10 journals of 200 places": Shape(
        200, f"stations = {[str(n) for n in range(10)]}\nangles_deg = {list(range(0, 180, 9))}"
    ),
    "one journal of 2000 places": Shape(
        2000, f"stations = {[str(n) for n in range(20)]}\nangles_deg = {list(range(100))}"
    ),
    "250 journals of 8 places": Shape(8, _EIGHT),
    "250 journals of 8 places, a check every 50 readings": Shape(8, _EIGHT, 50),
}


class Judged(msgspec.Struct, frozen=True):
    """CPU times of the last readings of one session, in ms."""

    times_ms: tuple[float, ...]

    @property
    def middle_ms(self) -> float:
        """Their median."""
        return median(self.times_ms)


def plan(readings: int, shape: Shape) -> str:
    """A plan of so many readings."""
    journals_of_it = "".join(
        f"[[journal]]\nname = 'J{number}'\ngroup = 'mains'\nlow = '59.970 mm'\n"
        "high = '59.990 mm'\nout_of_round = '0.010 mm'\ntaper = '0.010 mm'\n"
        for number in range(readings // shape.per_journal)
    )
    return (
        "schema = 1\npart = 'bench'\n[check]\nstack = '59.970 mm'\nleast_interval = '0 s'\n"
        f"[defaults]\nleast_interval = '0 s'\n{shape.places}\n"
        f"[[group]]\nname = 'mains'\n{journals_of_it}"
    )


def judged(readings: int, shape: Shape) -> Judged:
    """Measure a session from its first check to its last place; the last readings are timed."""
    state = _begun(plan(readings, shape))
    times, live = [], judged_live(state, None)
    for number in range(readings):
        if shape.check_every and number % shape.check_every == shape.check_every - 1:
            state = _checked(decide(state, CheckNow(), number).state)
        value = Decimal("59.975") + Decimal(number * 7 % 11) / 1000
        command = _pressed(value, number)
        began = time.process_time()
        state = decide(state, command, number).state
        if number >= readings - LAST:
            live = judged_live(state, live)
            groups(state, live.results)
            times.append((time.process_time() - began) * 1000)
    return Judged(tuple(times))


def _begun(text: str) -> State:
    setup = Setup(
        source=GaugeSource("bench", "bench", None, "bench"),
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
    return _checked(settle(Advance(begin(Entry(1, 0, opened), "bench"), 0)).state)


def _checked(state: State) -> State:
    for value in ("59.970", "59.971", "59.970", "59.971", "59.970"):
        state = decide(state, _pressed(Decimal(value), state.last_us), state.last_us).state
    return state


def _pressed(value: Decimal, at: int) -> TakeReading:
    return TakeReading(Reading(value, "mm", Decimal("0.001"), b"", Instant(at, at)))


def measure(rounds: int) -> list[Row]:
    """The goals: every shape under its bound, and no more than linear growth."""
    rows = []
    for words, shape in SHAPES.items():
        found = sorted(judged(READINGS, shape).middle_ms for _ in range(3))[1]
        rows.append(
            Row(
                goal=f"{READINGS} readings judged again after one more, {words}: CPU in ms",
                limit=f"{BOUND_MS} ms",
                ours=f"{found:.2f} ms",
                value=round(found, 2),
                bound=BOUND_MS,
            )
        )
    doubled, single = [], []
    grown = next(iter(SHAPES.values()))
    for _ in range(max(3, rounds // 3)):
        single.append(2 * judged(READINGS, grown).middle_ms)
        doubled.append(judged(2 * READINGS, grown).middle_ms)
    growth = f"{2 * READINGS} readings against twice the time of {READINGS}"
    return [*rows, timed_row(growth, 1, doubled, single, "ms")]


def main() -> None:
    """Print both goals."""
    for row in measure(9):
        print(f"{row.goal}: {row.ours}; limit {row.limit}; {row.value:.3g} ({row.verdict})")


if __name__ == "__main__":
    main()
