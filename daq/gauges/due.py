"""When the gauge is to be checked next, by a stated rule. Pure."""

import math
from collections.abc import Sequence
from datetime import date, timedelta

import msgspec

from daq.gauges.drift import Drift
from daq.gauges.history import DUE, History
from drivers.reading import utc_day

USUAL_DAYS = 30
"""Days from one check to the next where nothing says sooner. Chosen by us: between checks before
each session and a yearly certificate (common practice, no source)."""

SHARE = 4
"""Drift may use up a quarter of the permitted error before the next check. Chosen by us, as for the
limits of a check."""

LEAST_DAYS = 90
"""A line that shows no drift counts here only if it spans so many days: the bound of a shorter one
tells of the few checks, not of the gauge. Chosen by us."""

LONGEST_DAYS = 3653


class Reason(msgspec.Struct, frozen=True):
    """One reason for a check on a day, in words."""

    on: date
    words: str


class Due(msgspec.Struct, frozen=True):
    """The earliest of all `reasons`, which are in order of time."""

    reasons: tuple[Reason, ...]

    @property
    def on(self) -> date:
        """The day of the next check."""
        return self.reasons[0].on

    @property
    def words(self) -> str:
        """Why then."""
        return self.reasons[0].words


def due(
    history: History,
    drifts: Sequence[Drift],
    *,
    is_out: bool,
    today: date,
    certificate_due: date | None = None,
    permitted_mm: float | None = None,
    usual_days: int = USUAL_DAYS,
) -> Due:
    """The rule: the earliest of the certificate's date, the date noted by hand, the usual interval
    after the last check, the day on which drift, by the 95 % bound of its rate, has used up a
    quarter of the permitted error, and, where drift is real, the day on which the 95 % bound of its
    line reaches the permitted error; at once while the gauge is out of control or never checked.
    """
    checks = history.checks
    if not checks:
        return Due((Reason(today, "it was never checked"),))
    last = utc_day(checks[-1][0])
    reasons = [
        Reason(last + timedelta(days=usual_days), f"{usual_days} days after the last check"),
    ]
    if is_out:
        reasons.append(Reason(today, "it is out of control"))
    if certificate_due is not None:
        reasons.append(Reason(certificate_due, "the certificate in the gauge file ends"))
    by_hand = [note.text for _, note in history.notes if note.about == DUE]
    noted = day_in(by_hand[-1]) if by_hand else None
    if noted is not None and noted > last:  # a check on that day or later has met it
        reasons.append(Reason(noted, "noted by hand"))
    if permitted_mm is not None:
        for drift in drifts:
            reasons += _by_drift(drift, last, permitted_mm)
    return Due(tuple(sorted(reasons, key=lambda reason: reason.on)))


def day_in(text: str) -> date | None:
    """A day written as YYYY-MM-DD; None if it is none."""
    try:
        return date.fromisoformat(text) if len(text) == 10 else None
    except ValueError:
        return None


def _by_drift(drift: Drift, last: date, permitted_mm: float) -> list[Reason]:
    found = []
    if drift.is_real or drift.days >= LEAST_DAYS:
        worst = abs(drift.rate_mm) + drift.half_width_mm
        days = permitted_mm / SHARE / worst * 365.25 if worst else math.inf
        if days < LONGEST_DAYS:
            words = (
                f"drift of up to {worst * 1000:.2f} um a year at {drift.size_words} (95 % bound) "
                f"uses up a quarter of the permitted {permitted_mm * 1000:g} um"
            )
            found.append(Reason(last + timedelta(days=max(1, int(days))), words))
    crossing = drift.crossing_us(permitted_mm) if drift.is_real else None
    if crossing is not None:
        words = (
            f"by drift the error at {drift.size_words} may reach the permitted "
            f"{permitted_mm * 1000:g} um (95 % bound of the line)"
        )
        found.append(Reason(utc_day(crossing), words))
    return found
