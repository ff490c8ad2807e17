"""A study's readings as a table of parts, operators and trials; one with holes is refused. Pure.

A part is one place (journal, station, angle): the same diameter each time, so that the form of a
journal is no scatter of the gauge.
"""

from collections.abc import Sequence
from decimal import Decimal

import msgspec

from daq.errors import NoStudy, StudyRefused
from daq.evaluation.verdict import ACCEPTED, OPEN
from daq.lengths import Length, Position
from daq.plan.plan import Plan, StudyPlan
from daq.plan.scope import planned
from daq.plan.turns import turn_in, turn_words
from daq.record.state import State, standing_readings, step_mm

MOST_NAMED = 6
"""Holes that are named one by one."""


class Gathered(msgspec.Struct, frozen=True):
    """A whole study. `sizes_mm[part][operator][trial]` at 20 degrees Celsius, in the order of
    `parts` (places as journal/station/angle) and `operators`.

    `has_gauge_file` says whether `gauge` is a gauge file's name or the identity of the port.
    `lows` are the different low limits of the journals, as stated; `tolerance_mm` the smallest
    high - low, None without one. `step_mm` is the coarsest resolution; `stints` says how many.
    """

    session: str
    gauge: str
    device: str
    has_gauge_file: bool
    parts: tuple[str, ...]
    operators: tuple[str, ...]
    trials: int
    sizes_mm: tuple[tuple[tuple[Decimal, ...], ...], ...]
    lows: tuple[Length, ...]
    tolerance_mm: Decimal | None
    step_mm: Decimal
    stints: int
    ended_us: int


def gathered(state: State) -> Gathered:
    """The readings of a study session.

    Raises NoStudy for a plan without [study], and StudyRefused: not accepted, a place without a
    reading, more than one gauge.
    """
    study = state.plan.study
    session = state.opened.session
    if study is None:
        raise NoStudy(
            f"Session {session} is no gauge study: its plan has no [study]. Add [study] "
            'with operators = ["A", "B"] and trials = 3, and measure again'
        )
    verdict = state.closed.verdict if state.closed is not None else OPEN
    if verdict == OPEN:
        raise StudyRefused(
            f"Session {session} is still open{_holes(state, study)}. Finish it with "
            "`jbridge resume`: a study counts when a good check followed every reading"
        )
    if verdict != ACCEPTED:
        raise StudyRefused(
            f"Session {session} is {verdict}: no good check followed its readings, so they "
            "say nothing of the gauge. Measure the study again"
        )
    holes = _holes(state, study)
    if holes:
        raise StudyRefused(
            f"The study of session {session} has holes{holes}. Every operator must measure "
            "every part in every trial: measure it again"
        )
    standing = standing_readings(state)
    stints = {taken.stint for taken in standing}
    sources = [state.stints[stint - 1].source for stint in sorted(stints)]
    devices = dict.fromkeys((source.gauge, source.serial) for source in sources)
    if len(devices) > 1:
        raise StudyRefused(
            f"Session {session} was measured with {len(devices)} gauges "
            f"({', '.join(gauge for gauge, _ in devices)}), and a study is of one. Measure "
            "it again"
        )
    source, setup = sources[-1], state.setups[max(taken.run for taken in standing)]
    return Gathered(
        session=session,
        gauge=source.gauge,
        device=source.device,
        has_gauge_file=setup.gauge_file is not None and setup.source.gauge == source.gauge,
        parts=tuple(f"{position.journal}/{position.place}" for position in _places(state.plan)),
        operators=study.operators,
        trials=study.trials,
        sizes_mm=tuple(_table(state, study, place) for place in _places(state.plan)),
        lows=_lows(state.plan),
        tolerance_mm=state.scope.tolerance_mm,
        step_mm=max(step_mm(state, taken) for taken in standing),
        stints=len(stints),
        ended_us=state.last_us,
    )


def _places(plan: Plan) -> Sequence[Position]:
    return [p for journal in plan.journals for p in planned(journal) if p.repeat == 1]


def _table(state: State, study: StudyPlan, place: Position) -> tuple[tuple[Decimal, ...], ...]:
    rows: list[list[Decimal]] = [[] for _ in study.operators]
    for repeat in range(1, study.repeats + 1):
        position = msgspec.structs.replace(place, repeat=repeat)
        rows[turn_in(study, repeat).operator].append(state.standing[position].at_20c_mm)
    return tuple(map(tuple, rows))


def _lows(plan: Plan) -> tuple[Length, ...]:
    lows = {journal.limits.low.mm: journal.limits.low for journal in plan.journals}
    return tuple(lows.values())


def _holes(state: State, study: StudyPlan) -> str:
    """What was not measured, in words; empty if nothing is missing."""
    missing = [
        position
        for journal in state.plan.journals
        for position in planned(journal)
        if position not in state.standing
    ]
    if not missing:
        return ""
    named = ", ".join(
        f"{position.journal}/{position.place} by {turn_words(study, position.repeat)}"
        for position in missing[:MOST_NAMED]
    )
    more = f" and {len(missing) - MOST_NAMED} more" if len(missing) > MOST_NAMED else ""
    return f": not measured {named}{more}"
