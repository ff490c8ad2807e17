"""What stands in the tables of a session, row for row, by the names of the columns. Pure."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import repeat
from typing import TypeAlias

import msgspec

from daq.equipment.gauge import TYPED_PORT
from daq.evaluation.inputs import known
from daq.export.basis import Basis
from daq.export.column import SEPARATOR
from daq.lengths import EXACT, mean_text, plain
from daq.plan.turns import operator_of
from daq.record.rule_sets import RULE_SET_3
from daq.record.standing import PartReading, is_place_of
from daq.record.state import StackReading, State, sent_mm, standing_readings
from drivers.reading import utc_text

Cell: TypeAlias = str | tuple[str, ...]
"""A text, or the elements of a list one by one."""

Cells: TypeAlias = dict[str, Cell]
"""A cell for each column, by its name. It may have more than the columns of one rule set."""

_EPOCH = date(1970, 1, 1)
_MINUTE_US = 60 * 1_000_000
_DAY_US = 24 * 60 * _MINUTE_US


class Rows(msgspec.Struct, frozen=True):
    """The rows of a table, `many` of them. `same` has what stands in every one, `own` what stands
    in a column row for row: of thousands of rows it is quicker made, and written, column by column.
    """

    many: int
    same: Cells
    own: Mapping[str, Sequence[Cell]]

    def column(self, name: str) -> Iterable[Cell]:
        """What stands in a column, row for row; KeyError if there is none of that name."""
        own = self.own.get(name)
        return repeat(self.same[name], self.many) if own is None else own


def rows_of(same: Cells, rows: Sequence[Cells]) -> Rows:
    """Rows that were made one by one, all with the same columns."""
    names = rows[0] if rows else ()
    return Rows(len(rows), same, {name: [row[name] for row in rows] for name in names})


def reading_rows(basis: Basis) -> Rows:
    """The standing readings, in the order of the ledger."""
    state = basis.state
    group = {journal.name: journal.group for journal in state.plan.journals}
    opened, study, sizes = state.opened, state.plan.study, _sizes(state)
    found = standing_readings(state)
    gauges = {stint: _gauge(state, stint) for stint in {taken.stint for taken in found}}
    sized = [sizes(taken) for taken in found]
    at = [taken.position for taken in found]
    sent = [taken.sent for taken in found]
    setups = [state.setups[taken.run] for taken in found]
    own: dict[str, Sequence[Cell]] = {
        "gauge": [gauges[taken.stint] for taken in found],
        "journal": [each.journal for each in at],
        "group": [group[each.journal] for each in at],
        "station": [each.station for each in at],
        "angle_deg": [str(each.angle_deg) for each in at],
        "repeat": [str(each.repeat) for each in at],
        "seq": [str(taken.seq) for taken in found],
        "taken_at": [utc_text(taken.at_us) for taken in found],
        "value": [each.value for each in sent],
        "unit": [each.unit for each in sent],
        "resolution": [each.resolution for each in sent],
        "diameter_mm": [plain(taken.mm) for taken in found],
        "diameter_20c_mm": [at_20c for at_20c, _ in sized],
        "flags": [each.flags for each in sent],
        "raw_hex": [each.raw_hex for each in sent],
        "stint": [str(taken.stint) for taken in found],
        "typed": [truth(each.source.port == TYPED_PORT) for each in setups],
        "local_offset": [each.local_offset for each in setups],
        "correction_mm": [correction for _, correction in sized],
    }
    if study:
        own["operator"] = [operator_of(study, each.repeat) for each in at]
    same: Cells = {"operator": opened.operator, "part_type": state.plan.part}
    return Rows(len(found), of_session(basis) | same, own)


def check_rows(basis: Basis) -> Rows:
    """The readings of the stack, in the order of the ledger."""
    state = basis.state
    counted = {judged.event.check_no for judged in state.judged}
    found = list(state.checks)
    sizes = {number: state.stack_mm(number) for number in {taken.stint for taken in found}}
    own: dict[str, Sequence[Cell]] = {
        "gauge": [_gauge(state, taken.stint) for taken in found],
        "phase": [taken.phase for taken in found],
        "stack": [state.stints[taken.stint - 1].stack for taken in found],
        "stack_size_mm": [plain(sizes[taken.stint]) for taken in found],
        "seq": [str(taken.seq) for taken in found],
        "taken_at": [utc_text(taken.at_us) for taken in found],
        "value": [taken.sent.value for taken in found],
        "unit": [taken.sent.unit for taken in found],
        "error_mm": [_error(taken, sizes[taken.stint]) for taken in found],
        "stint": [str(taken.stint) for taken in found],
        "check_no": [str(taken.check_no) for taken in found],
        "counted": [
            truth(taken.check_no in counted and taken.seq not in state.voided) for taken in found
        ],
    }
    return Rows(len(found), of_session(basis), own)


def _error(taken: StackReading, size_mm: Decimal) -> str:
    mm = sent_mm(taken.sent)
    return "" if mm is None else plain(EXACT.subtract(mm, size_mm))


def judgement_rows(basis: Basis) -> Rows:
    """The checks that were judged, in the order of the ledger."""
    state = basis.state
    rows = [
        texts(event) | {"gauge": _gauge(state, event.stint), "passed": truth(event.passed)}
        for event in (judged.event for judged in state.judged)
    ]
    return rows_of(of_session(basis), rows)


def journal_rows(basis: Basis) -> Rows:
    """The journals as the closing line has them, while there is none as they are judged now."""
    state = basis.state
    stations = {journal.name: journal.stations for journal in state.plan.journals}
    rows = [
        texts(result)
        | {
            "gauge": gauges_of(state, [result.journal]),
            "angles_used": apart(result.angles_used, ()),
            "taper_at": apart(result.taper_at, stations.get(result.journal, ())),
        }
        for result in basis.journals
    ]
    return rows_of(of_session(basis), rows)


def group_rows(basis: Basis) -> Rows:
    """The groups, likewise."""
    state = basis.state
    rows = []
    for result in basis.groups:
        own = [journal.name for journal in state.plan.journals if journal.group == result.group]
        lists: Cells = {"gauge": gauges_of(state, own), "forced_by": apart(result.forced_by, own)}
        rows.append(texts(result) | lists)
    return rows_of(of_session(basis), rows)


# Cells --------------------------------------------------------------------------------------------


def of_session(basis: Basis) -> Cells:
    """What every row of a session has."""
    opened = basis.state.opened
    return {
        "session_id": opened.session,
        "job": opened.job,
        "part": opened.part,
        "session_verdict": basis.verdict,
        "closed_on": _closed_on(basis.state),
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

    # Readings are few different numbers, so most sums are done already.
    made: dict[tuple[int, int, int, str, str], tuple[str, str]] = {}

    def estimate(taken: PartReading) -> tuple[str, str]:
        position, sent = taken.position, taken.sent
        readings = state.by_journal.get(position.journal)
        if readings is None or not is_place_of(readings.journal, position):
            return plain(taken.mm), ""
        of = taken.stint, taken.run, about.bracket(taken), sent.value, sent.unit
        cells = made.get(of)
        if cells is None:
            read_mm = Fraction(taken.mm)
            found = about.conditions(state, taken).estimate(read_mm)
            cells = made[of] = mean_text(found), mean_text(read_mm - found)
        return cells

    return estimate
