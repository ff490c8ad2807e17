"""The columns of the tables by rule set: those of today, and the one place that chooses. Pure.

The order of columns is part of the contract: further ones may follow, none moves. A session has the
columns of the rule set that closed it.
"""

from collections.abc import Mapping

from daq.export.column import Column, ColumnKind, listed
from daq.export.earlier_columns import (
    CHECKS_2,
    GROUPS_2,
    JOURNALS_1,
    JOURNALS_2,
    JUDGEMENTS_2,
    READINGS_2,
)
from daq.export.session_columns import NOTES, SESSIONS, STEPS

_T, _L, _N, _S, _X, _D = (
    ColumnKind.TEXT,
    ColumnKind.LENGTH,
    ColumnKind.NUMBER,
    ColumnKind.LIST,
    ColumnKind.HEX_TEXT,
    ColumnKind.DATE,
)


def _changed(earlier: tuple[Column, ...], *anew: tuple[str, ColumnKind, str]) -> tuple[Column, ...]:
    """Earlier columns in their order, some of them with another kind or meaning."""
    by_name = {column.name: column for column in earlier}
    assert by_name.keys() >= {name for name, _, _ in anew}
    return tuple({**by_name, **{column.name: column for column in listed(*anew)}}.values())


_JOB, _CLOSED_ON = listed(
    ("job", _T, "job, as given"),
    ("closed_on", _D, "local date of the closing line, empty while the session is open"),
)
(_GAUGES,) = listed(("gauge", _S, "gauges that read the journals of the row, joined by ;"))

READINGS = (
    *_changed(
        READINGS_2,
        ("diameter_mm", _L, "value in mm, as read"),
        (
            "diameter_20c_mm",
            _L,
            "estimate by this reading alone: less the gauge's error on the stack as the checks "
            "around it found it, at 20 degrees Celsius, half-even to 0.00001",
        ),
        ("flags", _S, "what the gauge or its driver said of the reading, joined by ;"),
        ("raw_hex", _X, "the bytes of the frame: hex, then two hexadecimal digits for each"),
    ),
    *listed(
        ("correction_mm", _L, "diameter_mm - estimate by this reading alone, half-even to 0.00001")
    ),
    _CLOSED_ON,
)
CHECKS = (*CHECKS_2, _JOB, _CLOSED_ON)
JUDGEMENTS = (
    *_changed(
        JUDGEMENTS_2,
        ("max_error_mm", _L, "permitted mean error, judged in a before-check"),
        ("passed", ColumnKind.TRUTH, "within the limits that this check is judged by"),
    ),
    _JOB,
    _CLOSED_ON,
)
JOURNALS = (
    *_changed(
        JOURNALS_2,
        (
            "smallest_mm",
            _L,
            "smallest estimate of a place, at 20 degrees Celsius, half-even to 0.00001",
        ),
        ("largest_mm", _L, "largest estimate of a place, likewise"),
        (
            "out_of_round_mm",
            _L,
            "two-point out-of-round of the estimates: ovality of the fitted oval, or most, over "
            "stations, of max - min over angles; half-even to 0.00001",
        ),
        ("out_of_round_at", _T, "station of it, empty where one oval fits all places"),
        (
            "taper_mm",
            _L,
            "of the estimates: largest difference of the stations' fitted means, or most, over "
            "angles, of max - min over stations; half-even to 0.00001",
        ),
        ("taper_at", _S, "angle of it, or where one oval fits all places its stations joined by ;"),
        ("margin_to_low_mm", _L, "smallest estimate - low limit, half-even to 0.00001"),
        (
            "uncertainty_mm",
            _L,
            "coverage_factor times standard_uncertainty_mm, one-sided, rounded up to 0.00001",
        ),
        (
            "form_verdict",
            _T,
            "within, over, undecided, not-seen, no-limit or not-enough-positions",
        ),
        ("angles_used", _S, "angles measured, joined by ;"),
        (
            "form_uncertainty_mm",
            _L,
            "the larger of out_of_round_uncertainty_mm and taper_uncertainty_mm",
        ),
        (
            "standard_uncertainty_mm",
            _L,
            "combined standard uncertainty of the estimate at the place that decides",
        ),
        ("uncorrected_error_mm", _L, "empty: the error on the stack is taken off every size"),
        ("coverage_factor", _N, "k of uncertainty_mm, one-sided at the plan's confidence"),
        (
            "conformance_probability",
            _N,
            "that the true size at the smallest place keeps the low limit; of a journal that is "
            "above, at the largest the high one; of a ground one, both",
        ),
        ("ellipse_mm", _L, "ovality of the oval fitted to all places, or largest of one station"),
    ),
    *listed(
        ("smallest_read_mm", _L, "mean as read at smallest_at"),
        ("largest_read_mm", _L, "mean as read at largest_at"),
        (
            "form_by",
            _T,
            "fit: form is that of one oval through all places; range: differences of estimates",
        ),
        (
            "provisional",
            _T,
            "yes where no passed check follows some of the readings, else empty",
        ),
        (
            "out_of_round_uncertainty_mm",
            _L,
            "expanded uncertainty of out_of_round_mm, one-sided, rounded up to 0.00001",
        ),
        (
            "taper_uncertainty_mm",
            _L,
            "expanded uncertainty of taper_mm, one-sided, rounded up to 0.00001",
        ),
    ),
    _JOB,
    _GAUGES,
    _CLOSED_ON,
)
GROUPS = (
    *_changed(GROUPS_2, ("forced_by", _S, "journals that force the step, joined by ;")),
    _JOB,
    _GAUGES,
    _CLOSED_ON,
)


def columns_of(rules: int) -> Mapping[str, tuple[Column, ...]]:
    """The columns of each table of a session that rule set `rules` judged, in the order of the
    tables.

    Rule set 1 knew no groups, and its sessions have no table of them; sessions, notes and steps
    came with rule set 3.
    """
    if rules < 3:
        return {
            "readings": READINGS_2,
            "checks": CHECKS_2,
            "judgements": JUDGEMENTS_2,
            "journals": JOURNALS_1 if rules == 1 else JOURNALS_2,
            "groups": GROUPS_2,
        }
    return {
        "readings": READINGS,
        "checks": CHECKS,
        "judgements": JUDGEMENTS,
        "journals": JOURNALS,
        "groups": GROUPS,
        "steps": STEPS,
        "sessions": SESSIONS,
        "notes": NOTES,
    }


def has_groups(rules: int, *, is_study: bool) -> bool:
    """Rule set 1 knew no next step; from 3 on a gauge study has none, for it is about the gauge."""
    return rules != 1 if rules < 3 else not is_study
