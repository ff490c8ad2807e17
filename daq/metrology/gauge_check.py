"""The proof of a gauge on a known stack: limits of a check and its judgement. Pure.

Error = indication - true size; drift = this check's mean - the before-check's mean. A mean is
compared by sums and fractions, so no rounding decides a check.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.lengths import EXACT, mean_text, plain
from daq.metrology.statistics.samples import exact_mean

MOST_SHARE = 4
"""A check limit, a resolution step or a permitted error over 1/4 of the tolerance is refused.
Chosen by us after the trade's rule that a gauge be four to ten times better than the tolerance
(common practice, no source)."""


class CheckLimits(msgspec.Struct, frozen=True):
    """Largest permitted |mean error|, spread and |drift|, in mm."""

    max_error: Decimal
    max_spread: Decimal
    max_drift: Decimal


class Judgement(msgspec.Struct, frozen=True):
    """What a check says of the gauge. `drift` is None for a before-check."""

    mean_error: Fraction
    spread: Decimal
    drift: Fraction | None
    passed: bool
    reason: str


class CheckRules(msgspec.Struct, frozen=True):
    """What a rule set says of checks. `mean_steps`, `spread_steps`: the steps of the gauge that a
    derived limit on mean error and drift, on spread, is at least. `is_error_judged_again`: the mean
    error is judged in every check, not in the before-check alone.
    """

    mean_steps: int
    spread_steps: int
    is_error_judged_again: bool


EARLIER_CHECKS = CheckRules(1, 1, is_error_judged_again=True)
"""Of rule sets 1 and 2."""

CHECKS = CheckRules(2, 3, is_error_judged_again=False)
"""From rule set 3 on. One step is what the last digit of a sound gauge may turn by, so a limit of
one step fails sound gauges: with an offset of 0.6 and a drift of 0.4 step (standard deviations) and
a tolerance of 10 to 20 steps, sound gauges fail by these in 0.06, 0.14 and 1.4 % of sessions where
a reading scatters by 0.3, 0.5 and 0.7 step; a drift of 3 steps is always seen. Chosen by us by
simulation. The error that the before-check found is taken off every reading, so that later it is
the drift from there that counts."""


def derived_limit(tolerance_mm: Decimal | None, step_mm: Decimal, steps: int) -> Decimal | None:
    """The check limit where the plan gives none: a tenth of the smallest tolerance in the run, at
    least so many steps; None if there is no tolerance to derive it from.
    """
    if tolerance_mm is None:
        return None
    return max(
        EXACT.multiply(tolerance_mm, Decimal("0.1")), EXACT.multiply(step_mm, Decimal(steps))
    )


def too_coarse(what: str, value_mm: Decimal, tolerance_mm: Decimal | None) -> str | None:
    """Why `value_mm` is too large for the tolerance, in words; None if it is not."""
    if tolerance_mm is None or EXACT.multiply(value_mm, Decimal(MOST_SHARE)) <= tolerance_mm:
        return None
    quarter = Fraction(tolerance_mm) / MOST_SHARE
    return (
        f"the gauge is too coarse: {what} {plain(value_mm)} mm is over a quarter of the smallest "
        f"tolerance, {plain(tolerance_mm)} mm / 4 = {_trim(mean_text(quarter))} mm"
    )


def judge(
    errors: Sequence[Decimal],
    before: Sequence[Decimal] | None,
    limits: CheckLimits,
    age_us: int | None = None,
    max_age_us: int | None = None,
    rules: CheckRules = CHECKS,
) -> Judgement:
    """Judge one check.

    `errors`: value - stack in mm, one per counted reading, at least one. `before`: those of the
    stint's before-check, None if this is it. `age_us`: time since the stint's last passed check.
    """
    mean = exact_mean(errors)
    spread = EXACT.subtract(max(errors), min(errors))
    drift = None
    if before is not None:
        drift = mean - exact_mean(before)
    faults = []
    is_error_judged = before is None or rules.is_error_judged_again
    if is_error_judged and abs(mean) > Fraction(limits.max_error):
        faults.append(_over("mean error", mean, limits.max_error))
    if spread > limits.max_spread:
        faults.append(_over("spread", Fraction(spread), limits.max_spread, signed=False))
    if drift is not None and abs(drift) > Fraction(limits.max_drift):
        faults.append(_over("drift", drift, limits.max_drift))
    if age_us is not None and max_age_us is not None and not 0 <= age_us <= max_age_us:
        faults.append(age_words(age_us, max_age_us))
    said = [f"mean error {signed_text(mean)} mm", f"spread {_trim(plain(spread))} mm"]
    if drift is not None:
        said.append(f"drift {signed_text(drift)} mm")
    return Judgement(mean, spread, drift, not faults, "; ".join(faults) or ", ".join(said))


def age_words(age_us: int, max_age_us: int) -> str:
    """Why a check is too old, with the numbers."""
    if age_us < 0:
        return "this computer's clock went back since the last passed check, so its age is unknown"
    age, permitted = _minutes(age_us), _minutes(max_age_us)
    more = " (and a little more than that)" if age == permitted else ""
    return f"the last passed check is {age} min{more} old, permitted {permitted} min"


def _minutes(us: int) -> str:
    return f"{us / 60_000_000:.2f}".rstrip("0").rstrip(".")


def _over(what: str, value: Fraction, limit: Decimal, *, signed: bool = True) -> str:
    text = signed_text(value) if signed else _trim(mean_text(value))
    limit_text = _trim(plain(limit))
    if abs(Fraction(text)) <= Fraction(limit):
        text += " (and a little more than that, below what is shown)"
    return f"{what} {text} mm, permitted {limit_text} mm"


def signed_text(value: Fraction) -> str:
    """A mean for people: its sign, to 0.00001 mm, at least four decimals."""
    text = _trim(mean_text(abs(value)))
    if not Fraction(text):
        return text
    return ("-" if value < 0 else "+") + text


def _trim(text: str) -> str:
    """Trailing zeros off, never fewer than four decimals: 0.00310 -> 0.0031, 0.002 -> 0.0020."""
    whole, _, part = text.partition(".")
    return f"{whole}.{part.rstrip('0').ljust(4, '0')}"
