"""May a gauge open a session, by what its history says of it? Pure."""

from decimal import Decimal

import msgspec

from daq.gauges.control import OUT, control_of, precisions
from daq.gauges.history import History
from daq.gauges.series import series_of
from daq.gauges.words import bias_words, precision_words, size_words
from drivers.reading import utc_day

RECENT_DAYS = 400
"""An old finding at a size that nobody checked since says nothing of today: a year and a month, the
usual interval of calibration. Chosen by us."""

_DAY_US = 86_400_000_000


def may_open(history: History, now_us: int) -> str | None:
    """None if the gauge may open a session, else why not and what to do, in words.

    It may not while the latest check at some size is out of control, or failed where there is no
    baseline yet to tell whether the gauge was always so.
    """
    faults = [fault.words for fault in faults_of(history, now_us)]
    if history.is_end_lost and not faults:
        return (
            f"The newest line of the history of the gauge {history.name} cannot be read, so nobody "
            "knows what its last check said. Run jbridge prove."
        )
    if not faults:
        return None
    return (
        f"By its history the gauge {history.name} is out of control: {'; '.join(faults)}. Clean it "
        "and the stack, let both come to the same temperature, and run jbridge prove at that size; "
        "if it was set anew or mended, record that with jbridge history --adjusted TEXT."
    )


class HistoryFault(msgspec.Struct, frozen=True):
    """Something out of control: at which size, and in words with its numbers and rule."""

    size_mm: Decimal
    words: str


def faults_of(history: History, now_us: int) -> list[HistoryFault]:
    """What is out of control now, one entry a size and kind."""
    age = history.age
    every = series_of(history)
    found = []
    precise = {
        id(precision.point): precision
        for precision in precisions([point for series in every for point in series.points])
    }
    for series in every:
        last = series.last
        if last.age != age or now_us - last.at_us > RECENT_DAYS * _DAY_US:
            continue
        control = control_of(series, age)
        said = []
        where = f"{size_words(series)} on {utc_day(last.at_us)}"
        if control.state == OUT:
            said.append(bias_words(control.marks[-1]))
        elif control.marks[-1].is_in is None and not last.check.passed:
            said.append(f"the last check failed ({last.check.reason})")
        precision = precise.get(id(last))
        if precision is not None and not precision.is_in:
            said.append(precision_words(precision))
        found += [HistoryFault(series.size_mm, f"{where}, {words}") for words in said]
    return found
