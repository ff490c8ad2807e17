"""May a gauge open a session, by what its history says of it? Pure."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

import msgspec

from daq.gauges.control import LEAST_BASELINE, OUT, control_of, precisions
from daq.gauges.history import History
from daq.gauges.series import Series, series_of
from daq.gauges.words import bias_words, precision_words, size_words
from drivers.reading import utc_day

RECENT_DAYS = 400
"""An old finding at a size that nobody checked since says nothing of today: a year and a month, the
usual interval of calibration. Chosen by us."""

_DAY_US = 86_400_000_000


def may_open(history: History, now_us: int) -> str | None:
    """None if the gauge may open a session, else why not and what to do, in words.

    It may not while the latest check at some size is out of control by what it did before. Without
    a baseline there is nothing to be out of: what its last check found is told (`unsettled`).
    """
    faults = [fault.words for fault in faults_of(history, now_us)]
    if history.is_end_lost and not faults:
        return (
            f"The newest line in the history of the gauge {history.name} cannot be read, so "
            "its last check is not known. Run jbridge prove."
        )
    if not faults:
        return None
    return (
        f"The gauge {history.name} is out of control: {'; '.join(faults)}. Clean it and "
        "the stack, let both come to the same temperature, and run jbridge prove at "
        "that size. If it was set or mended, say so: jbridge history --adjusted TEXT."
    )


def unsettled(history: History, now_us: int) -> list[str]:
    """What the latest checks found that no baseline says anything of, in words with what to do."""
    found = []
    for series in _recent(history, series_of(history), now_us):
        last = series.last
        if last.check.passed or control_of(series, history.age).marks[-1].is_in is not None:
            continue
        found.append(
            f"the last check of the gauge {history.name} at {size_words(series)} on "
            f"{utc_day(last.at_us)} failed ({last.check.reason}). With under "
            f"{LEAST_BASELINE} good checks there it is not known whether that is usual: the "
            "check before measuring decides. Clean gauge and stack first, and let both "
            "come to the same temperature"
        )
    return found


def _recent(history: History, every: Sequence[Series], now_us: int) -> Iterator[Series]:
    """The sizes whose latest check says something of the gauge as it is today."""
    for series in every:
        last = series.last
        if last.age == history.age and now_us - last.at_us <= RECENT_DAYS * _DAY_US:
            yield series


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
    for series in _recent(history, every, now_us):
        last = series.last
        control = control_of(series, age)
        said = []
        where = f"{size_words(series)} on {utc_day(last.at_us)}"
        if control.state == OUT:
            said.append(bias_words(control.marks[-1]))
        precision = precise.get(id(last))
        if precision is not None and not precision.is_in:
            said.append(precision_words(precision))
        found += [HistoryFault(series.size_mm, f"{where}, {words}") for words in said]
    return found
