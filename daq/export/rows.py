"""What stands in the tables of a session, row for row, by the names of the columns. Pure."""

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

import msgspec

from daq.equipment.gauge import TYPED_PORT
from daq.evaluation.inputs import conditions_of, known
from daq.evaluation.verdict import groups, journals
from daq.export.column import SEPARATOR
from daq.lengths import EXACT, mean_text, plain
from daq.plan.turns import operator_of
from daq.record.rule_sets import RULE_SET_3
from daq.record.standing import PartReading, is_place_of
from daq.record.state import State, sent_mm, standing_readings
from drivers.reading import utc_text

Cells: TypeAlias = dict[str, str | tuple[str, ...]]
"""A row: a text for each column, the elements of a list one by one. It may have more than the
columns of one rule set.
"""

_EPOCH = date(1970, 1, 1)
_MINUTE_US = 60 * 1_000_000
_DAY_US = 24 * 60 * _MINUTE_US


def reading_rows(state: State, verdict: str) -> list[Cells]:
    """The standing readings, in the order of the ledger."""
    of = {journal.name: journal.group for journal in state.plan.journals}
    opened, study, sizes = state.opened, state.plan.study, _sizes(state)
    every = of_session(state, verdict)
    rows = []
    for taken in standing_readings(state):
        position, sent, setup = taken.position, taken.sent, state.setups[taken.run]
        at_20c, correction = sizes(taken)
        rows.append(
            every
            | {
                "operator": operator_of(study, position.repeat) if study else opened.operator,
                "gauge": _gauge(state, taken.stint),
                "journal": position.journal,
                "group": of[position.journal],
                "station": position.station,
                "angle_deg": str(position.angle_deg),
                "repeat": str(position.repeat),
                "seq": str(taken.seq),
                "taken_at": utc_text(taken.at_us),
                "value": sent.value,
                "unit": sent.unit,
                "resolution": sent.resolution,
                "diameter_mm": plain(taken.mm),
                "diameter_20c_mm": at_20c,
                "flags": sent.flags,
                "raw_hex": sent.raw_hex,
                "stint": str(taken.stint),
                "typed": truth(setup.source.port == TYPED_PORT),
                "local_offset": setup.local_offset,
                "part_type": state.plan.part,
                "correction_mm": correction,
            }
        )
    return rows


def check_rows(state: State, verdict: str) -> list[Cells]:
    """The readings of the stack, in the order of the ledger."""
    counted = {judged.event.check_no for judged in state.judged}
    every = of_session(state, verdict)
    rows = []
    for taken in state.checks:
        size_mm = state.stack_mm(taken.stint)
        mm = sent_mm(taken.sent)
        rows.append(
            every
            | {
                "gauge": _gauge(state, taken.stint),
                "phase": taken.phase,
                "stack": state.stints[taken.stint - 1].stack,
                "stack_size_mm": plain(size_mm),
                "seq": str(taken.seq),
                "taken_at": utc_text(taken.at_us),
                "value": taken.sent.value,
                "unit": taken.sent.unit,
                "error_mm": "" if mm is None else plain(EXACT.subtract(mm, size_mm)),
                "stint": str(taken.stint),
                "check_no": str(taken.check_no),
                "counted": truth(taken.check_no in counted and taken.seq not in state.voided),
            }
        )
    return rows


def judgement_rows(state: State, verdict: str) -> list[Cells]:
    """The checks that were judged, in the order of the ledger."""
    every = of_session(state, verdict)
    return [
        every | texts(event) | {"gauge": _gauge(state, event.stint), "passed": truth(event.passed)}
        for event in (judged.event for judged in state.judged)
    ]


def journal_rows(state: State, verdict: str) -> list[Cells]:
    """The journals as the closing line has them, while there is none as they are judged now."""
    every = of_session(state, verdict)
    stations = {journal.name: journal.stations for journal in state.plan.journals}
    return [
        every
        | texts(result)
        | {
            "gauge": gauges_of(state, [result.journal]),
            "angles_used": apart(result.angles_used, ()),
            "taper_at": apart(result.taper_at, stations.get(result.journal, ())),
        }
        for result in (state.closed.journals if state.closed else journals(state))
    ]


def group_rows(state: State, verdict: str) -> list[Cells]:
    """The groups, likewise."""
    every = of_session(state, verdict)
    rows = []
    for result in state.closed.groups if state.closed else groups(state):
        own = [journal.name for journal in state.plan.journals if journal.group == result.group]
        lists: Cells = {"gauge": gauges_of(state, own), "forced_by": apart(result.forced_by, own)}
        rows.append(every | texts(result) | lists)
    return rows


ROWS: Mapping[str, Callable[[State, str], list[Cells]]] = {
    "readings": reading_rows,
    "checks": check_rows,
    "judgements": judgement_rows,
    "journals": journal_rows,
    "groups": group_rows,
}
"""The rows of each table, with the verdict that stands in them."""


# Cells --------------------------------------------------------------------------------------------


def of_session(state: State, verdict: str) -> Cells:
    """What every row of a session has."""
    opened = state.opened
    return {
        "session_id": opened.session,
        "job": opened.job,
        "part": opened.part,
        "session_verdict": verdict,
        "closed_on": _closed_on(state),
    }


def texts(record: msgspec.Struct) -> Cells:
    """The fields of a record as cells."""
    return {name: str(value) for name, value in msgspec.structs.asdict(record).items()}


def truth(claim: bool) -> str:
    """A claim as a cell."""
    return "true" if claim else "false"


def _gauge(state: State, stint: int) -> str:
    return state.stints[stint - 1].source.gauge


def gauges_of(state: State, names: Iterable[str]) -> tuple[str, ...]:
    """The gauges that took the standing readings of some journals, in the order of their stints."""
    found = [state.by_journal[name] for name in names if name in state.by_journal]
    stints = sorted({stint for readings in found for stint, _ in readings.last_of_parts})
    return tuple(dict.fromkeys(_gauge(state, stint) for stint in stints))


def apart(cell: str, names: Collection[str]) -> tuple[str, ...]:
    """The elements of a stored list. Of the names that it may hold, one may have the separator in
    it: the longest that stands at the place is the element.
    """
    found: list[str] = []
    rest = f"{cell}{SEPARATOR}" if cell else ""
    while rest:
        fitting = [name for name in names if rest.startswith(name + SEPARATOR)]
        found.append(max(fitting, key=len, default=rest.partition(SEPARATOR)[0]))
        rest = rest[len(found[-1]) + 1 :]
    return tuple(found)


def _closed_on(state: State) -> str:
    """The local date of the closing line, which is the last, where the last run ran."""
    if state.closed is None:
        return ""
    try:
        return _day(state.last_us + _offset_us(state.setup.local_offset))
    except OverflowError:  # beyond the calendar on one side only
        return _day(state.last_us)


def _day(at_us: int) -> str:
    return (_EPOCH + timedelta(days=at_us // _DAY_US)).isoformat()


def _offset_us(text: str) -> int:
    """Local time minus UTC, from +HH:MM; none is UTC."""
    if not text:
        return 0
    minutes = 60 * int(text[1:3]) + int(text[4:6])
    return (-minutes if text[0] == "-" else minutes) * _MINUTE_US


# Sizes --------------------------------------------------------------------------------------------


def _sizes(state: State) -> Callable[[PartReading], tuple[str, str]]:
    """What gives a reading's diameter at 20 degrees Celsius, and by how much it was corrected."""
    if state.rules == 1:
        return lambda taken: (_uncorrected(state, taken), "")
    if state.rules < RULE_SET_3:
        return lambda taken: (plain(taken.at_20c_mm), "")
    return _estimates(state)


def _uncorrected(state: State, taken: PartReading) -> str:
    """Rule set 1 did not correct: it left the size empty where a temperature was not 20."""
    given = msgspec.structs.astuple(state.setups[taken.run].temperatures)
    return plain(taken.mm) if all(Decimal(text) == 20 for text in given if text) else ""


def _estimates(state: State) -> Callable[[PartReading], tuple[str, str]]:
    """By the reading alone; one at a place that the plan does not have is judged nowhere, and
    stands as it was read.
    """
    about = known(state)
    conditions = {
        name: conditions_of(state, readings.journal, about)
        for name, readings in state.by_journal.items()
    }

    # A journal's readings are few different numbers, so most sums are done already.
    made: dict[tuple[int, Decimal], tuple[str, str]] = {}

    def estimate(taken: PartReading) -> tuple[str, str]:
        readings = state.by_journal.get(taken.position.journal)
        if readings is None or not is_place_of(readings.journal, taken.position):
            return plain(taken.mm), ""
        under = conditions[taken.position.journal](taken)  # one record a bracket of checks
        cells = made.get((id(under), taken.mm))
        if cells is None:
            read_mm = Fraction(taken.mm)
            found = under.estimate(read_mm)
            cells = made[id(under), taken.mm] = mean_text(found), mean_text(read_mm - found)
        return cells

    return estimate
