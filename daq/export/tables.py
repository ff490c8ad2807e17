"""The four tables of a session as rows of text, with the type of every column. Pure.

The order of columns is part of the contract: further ones may follow, none moves.
"""

from collections.abc import Mapping
from decimal import Decimal
from enum import Enum

import msgspec

from daq.evaluation.verdict import OPEN, groups, journals
from daq.lengths import EXACT, plain
from daq.plan.turns import operator_of
from daq.record.events import TYPED_PORT, StintBegan
from daq.record.standing import PartReading
from daq.record.state import State, sent_mm
from drivers.reading import utc_text


class ColumnKind(Enum):
    """What a column holds; empty always means not known or not applicable."""

    TEXT = "text"
    LENGTH = "length"  # exact decimal
    WHOLE = "whole"
    TIME = "time"  # UTC with Z
    TRUTH = "truth"  # true or false
    HEX = "hex"
    FLAGS = "flags"  # joined by ;
    NUMBER = "number"  # a plain decimal that is no length
    OFFSET = "offset"  # +HH:MM or -HH:MM; made here, so it needs no guard


class Column(msgspec.Struct, frozen=True):
    """One column: its name, what it holds, and its meaning for people."""

    name: str
    kind: ColumnKind
    meaning: str


class Table(msgspec.Struct, frozen=True):
    """One table: rows of text, one text for each column."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


_T, _L, _W, _I, _B, _H, _F, _N = (
    ColumnKind.TEXT,
    ColumnKind.LENGTH,
    ColumnKind.WHOLE,
    ColumnKind.TIME,
    ColumnKind.TRUTH,
    ColumnKind.HEX,
    ColumnKind.FLAGS,
    ColumnKind.NUMBER,
)


def _columns(*listed: tuple[str, ColumnKind, str]) -> tuple[Column, ...]:
    return tuple(Column(*column) for column in listed)


READINGS = _columns(
    ("session_id", _T, "session that the row belongs to"),
    ("job", _T, "job, as given"),
    ("part", _T, "part measured"),
    ("operator", _T, "who measured"),
    ("gauge", _T, "gauge, by the shop's name or the identity of its port"),
    ("journal", _T, "bearing surface"),
    ("group", _T, "group of journals"),
    ("station", _T, "place along the journal"),
    ("angle_deg", _W, "place around the journal, degrees"),
    ("repeat", _W, "which repeat at this place, from 1"),
    ("seq", _W, "line of the ledger that holds the reading"),
    ("taken_at", _I, "arrival, UTC"),
    ("value", _L, "as sent, in unit"),
    ("unit", _T, "unit of value and resolution"),
    ("resolution", _L, "one step of the gauge, in unit"),
    ("diameter_mm", _L, "value in mm, not corrected for the check's error"),
    ("diameter_20c_mm", _L, "diameter at 20 degrees Celsius"),
    ("flags", _F, "what the gauge or its driver said of the reading"),
    ("raw_hex", _H, "the bytes of the frame"),
    ("session_verdict", _T, "verdict on the session"),
    ("stint", _W, "one gauge and one stack between two checks, from 1"),
    ("typed", _B, "entered by hand instead of sent by the gauge"),
    ("local_offset", ColumnKind.OFFSET, "local time minus UTC where the session ran"),
    ("part_type", _T, "kind of part, from the plan"),
)
CHECKS = _columns(
    ("session_id", _T, "session that the row belongs to"),
    ("gauge", _T, "gauge, by the shop's name or the identity of its port"),
    ("phase", _T, "before, during or after"),
    ("stack", _T, "stack, as named in the plan or option"),
    ("stack_size_mm", _L, "size of the stack"),
    ("seq", _W, "line of the ledger that holds the reading"),
    ("taken_at", _I, "arrival, UTC"),
    ("value", _L, "as sent, in unit"),
    ("unit", _T, "unit of value"),
    ("error_mm", _L, "value - stack"),
    ("session_verdict", _T, "verdict on the session"),
    ("stint", _W, "one gauge and one stack between two checks, from 1"),
    ("check_no", _W, "check of the session, from 1"),
    ("counted", _B, "part of a check that was judged"),
)
JUDGEMENTS = _columns(
    ("session_id", _T, "session that the row belongs to"),
    ("check_no", _W, "check of the session, from 1"),
    ("stint", _W, "one gauge and one stack between two checks, from 1"),
    ("gauge", _T, "gauge, by the shop's name or the identity of its port"),
    ("phase", _T, "before, during or after"),
    ("stack_size_mm", _L, "size of the stack"),
    ("readings", _W, "readings that count"),
    ("mean_error_mm", _L, "mean of value - stack, half-even to 0.00001"),
    ("spread_mm", _L, "largest - smallest"),
    ("drift_mm", _L, "mean - mean of the before-check, half-even to 0.00001"),
    ("max_error_mm", _L, "permitted mean error"),
    ("max_spread_mm", _L, "permitted spread"),
    ("max_drift_mm", _L, "permitted drift"),
    ("passed", _B, "within all of its limits"),
    ("reason", _T, "why, in words with numbers"),
)
JOURNALS = _columns(
    ("session_id", _T, "session that the row belongs to"),
    ("part", _T, "part measured"),
    ("journal", _T, "bearing surface"),
    ("group", _T, "group of journals"),
    ("positions_planned", _W, "places in the plan, repeats counted"),
    ("positions_measured", _W, "places with a standing reading"),
    ("smallest_mm", _L, "smallest diameter"),
    ("smallest_at", _T, "station/angle of the smallest"),
    ("largest_mm", _L, "largest diameter"),
    ("largest_at", _T, "station/angle of the largest"),
    (
        "out_of_round_mm",
        _L,
        "two-point out-of-round: most, over stations, of max - min over angles",
    ),
    ("out_of_round_at", _T, "station of it"),
    ("taper_mm", _L, "most, over angles, of max - min over stations at the same angle"),
    ("taper_at", _T, "angle of it"),
    ("low_limit_mm", _L, "low limit, exactly"),
    ("high_limit_mm", _L, "high limit, exactly"),
    ("margin_to_low_mm", _L, "smallest - low limit"),
    ("uncertainty_mm", _L, "expanded uncertainty of the decision"),
    ("verdict", _T, "below, above, out-of-form, incomplete, undecided or within"),
    ("session_verdict", _T, "verdict on the session"),
    ("out_of_round_limit_mm", _L, "limit of out-of-round"),
    ("taper_limit_mm", _L, "limit of taper"),
    ("size_verdict", _T, "below, above, incomplete, undecided or within"),
    ("form_verdict", _T, "within, over, undecided, no-limit or not-enough-positions"),
    ("decision_rule", _T, "by which rule a limit counts as kept"),
    ("angles_used", _T, "angles measured, joined by ;"),
    ("remarks", _T, "what these places cannot show"),
    ("form_uncertainty_mm", _L, "expanded uncertainty of a difference, for form"),
    ("standard_uncertainty_mm", _L, "combined standard uncertainty of a diameter"),
    ("uncorrected_error_mm", _L, "error on the stack, part of the expanded uncertainty"),
    ("coverage_factor", _N, "k of the expanded uncertainty"),
    ("effective_dof", _N, "degrees of freedom after Welch and Satterthwaite, empty: unlimited"),
    ("conformance_probability", _N, "that the true sizes keep the size limits"),
    ("ovality_seen", _N, "least share of an ellipse that these angles see"),
    ("ellipse_mm", _L, "fitted out-of-round of the second harmonic, largest over stations"),
    ("ellipse_deg", _N, "direction of the largest diameter of that, degrees"),
    ("settled_by", _T, "what would settle an undecided verdict"),
)
GROUPS = _columns(
    ("session_id", _T, "session that the row belongs to"),
    ("part", _T, "part measured"),
    ("group", _T, "group of journals"),
    (
        "step",
        _T,
        "next step for all journals of the group: serve-as-is, bearing-undersize, grind, shelf, "
        "undecided or not-assessed",
    ),
    ("undersize", _T, "undersize step that it goes to"),
    ("finished_low_mm", _L, "finished low limit to grind to, exactly"),
    ("finished_high_mm", _L, "finished high limit to grind to, exactly"),
    ("forced_by", _T, "journals that force the step, joined by ;"),
    ("bearing_growth_mm", _L, "by how much each bearing shell is thicker than standard"),
    ("clearance_smallest_mm", _L, "oil clearance at the largest diameter"),
    ("clearance_largest_mm", _L, "oil clearance at the smallest diameter"),
    ("reason", _T, "the rule, with numbers"),
    ("remarks", _T, "what supports it and what was not examined"),
    ("session_verdict", _T, "verdict on the session"),
)
_OF_RULES_1 = JOURNALS[: [column.name for column in JOURNALS].index("remarks") + 1]
"""The columns of a session judged under rule set 1: what is stored stays what it was."""


def tables(state: State, *, verdict: str | None = None) -> tuple[Table, ...]:
    """Readings, checks, judgements, journals and groups of a session as it stands; a session of
    rule set 1 has no groups.
    """
    given = verdict or (state.closed.verdict if state.closed else OPEN)
    is_old = _is_of_rules_1(state)
    columns = _OF_RULES_1 if is_old else JOURNALS
    return (
        Table("readings", READINGS, _reading_rows(state, given)),
        Table("checks", CHECKS, _check_rows(state, given)),
        Table("judgements", JUDGEMENTS, _judgement_rows(state)),
        Table("journals", columns, _journal_rows(state, given, columns)),
        *([] if is_old else [Table("groups", GROUPS, _group_rows(state, given))]),
    )


def _gauges(state: State) -> Mapping[int, StintBegan]:
    return {stint.stint: stint for stint in state.stints}


def _is_of_rules_1(state: State) -> bool:
    """Closed by a version that knew no temperatures and no uncertainty."""
    return state.closed is not None and state.closed.rules == 1


def _at_20c(state: State, taken: PartReading) -> str:
    """The diameter at 20 degrees Celsius; rule set 1 did not correct, and left it empty."""
    if _is_of_rules_1(state):
        given = msgspec.structs.astuple(state.setups[taken.run].temperatures)
        return plain(taken.mm) if all(Decimal(text) == 20 for text in given if text) else ""
    return plain(taken.at_20c_mm)


def _reading_rows(state: State, verdict: str) -> tuple[tuple[str, ...], ...]:
    gauges = _gauges(state)
    groups = {journal.name: journal.group for journal in state.plan.journals}
    opened, study = state.opened, state.plan.study
    rows = []
    for taken in sorted(state.standing.values(), key=lambda taken: taken.seq):
        position, sent = taken.position, taken.sent
        rows.append(
            (
                opened.session,
                opened.job,
                opened.part,
                operator_of(study, position.repeat) if study else opened.operator,
                gauges[taken.stint].source.gauge,
                position.journal,
                groups[position.journal],
                position.station,
                str(position.angle_deg),
                str(position.repeat),
                str(taken.seq),
                utc_text(taken.at_us),
                sent.value,
                sent.unit,
                sent.resolution,
                plain(taken.mm),
                _at_20c(state, taken),
                ";".join(sent.flags),
                sent.raw_hex,
                verdict,
                str(taken.stint),
                "true" if state.setups[taken.run].source.port == TYPED_PORT else "false",
                state.setups[taken.run].local_offset,
                state.plan.part,
            )
        )
    return tuple(rows)


def _check_rows(state: State, verdict: str) -> tuple[tuple[str, ...], ...]:
    gauges = _gauges(state)
    counted = {judged.event.check_no for judged in state.judged}
    rows = []
    for taken in state.checks:
        stint = gauges[taken.stint]
        size_mm = state.stack_mm(taken.stint)
        mm = sent_mm(taken.sent)
        is_counted = taken.check_no in counted and taken.seq not in state.voided
        rows.append(
            (
                state.opened.session,
                stint.source.gauge,
                taken.phase,
                stint.stack,
                plain(size_mm),
                str(taken.seq),
                utc_text(taken.at_us),
                taken.sent.value,
                taken.sent.unit,
                "" if mm is None else plain(EXACT.subtract(mm, size_mm)),
                verdict,
                str(taken.stint),
                str(taken.check_no),
                "true" if is_counted else "false",
            )
        )
    return tuple(rows)


def _judgement_rows(state: State) -> tuple[tuple[str, ...], ...]:
    gauges = _gauges(state)
    return tuple(
        (
            state.opened.session,
            str(event.check_no),
            str(event.stint),
            gauges[event.stint].source.gauge,
            event.phase,
            event.stack_size_mm,
            str(event.readings),
            event.mean_error_mm,
            event.spread_mm,
            event.drift_mm,
            event.max_error_mm,
            event.max_spread_mm,
            event.max_drift_mm,
            "true" if event.passed else "false",
            event.reason,
        )
        for event in (judged.event for judged in state.judged)
    )


def _journal_rows(
    state: State, verdict: str, columns: tuple[Column, ...]
) -> tuple[tuple[str, ...], ...]:
    rows = []
    results = state.closed.journals if state.closed else journals(state)
    for result in results:
        values = msgspec.structs.asdict(result) | {
            "session_id": state.opened.session,
            "part": state.opened.part,
            "session_verdict": verdict,
        }
        rows.append(tuple(str(values[column.name]) for column in columns))
    return tuple(rows)


def _group_rows(state: State, verdict: str) -> tuple[tuple[str, ...], ...]:
    rows = []
    for result in state.closed.groups if state.closed else groups(state):
        values = msgspec.structs.asdict(result) | {
            "session_id": state.opened.session,
            "part": state.opened.part,
            "session_verdict": verdict,
        }
        rows.append(tuple(str(values[column.name]) for column in GROUPS))
    return tuple(rows)
