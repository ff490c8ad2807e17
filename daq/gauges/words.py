"""Findings of a history in words: the numbers, the rule and its source. Pure."""

from daq.gauges.control import Baseline, Mark, Precision
from daq.gauges.series import Series
from daq.lengths import plain

BIAS_SOURCE = "NIST/SEMATECH e-Handbook 2.3.5.2"
PRECISION_SOURCE = "NIST/SEMATECH e-Handbook 2.3.5.1"


def mm_text(value: float) -> str:
    """A length of some micrometres in mm, to 0.00001, without a sign."""
    return f"{abs(value):.5f}"


def signed_mm(value: float) -> str:
    """An error in mm with its sign, to 0.00001; zero has none."""
    text = f"{value:+.5f}"
    return text if float(text) else text[1:]


def size_words(series: Series) -> str:
    """The size of a series."""
    return f"{plain(series.size_mm)} mm"


def percent(share: float) -> str:
    """A share in per cent, as short as it goes."""
    return f"{share * 100:g} %"


def limits_words(baseline: Baseline) -> str:
    """The limits for the next occasion, and where they come from."""
    floor = " (as the resolution alone would scatter)" if baseline.is_floored else ""
    return (
        f"{signed_mm(baseline.low_mm)} to {signed_mm(baseline.high_mm)} mm, mean "
        f"{signed_mm(baseline.mean_mm)} mm -+ t({percent(1 - baseline.alpha / 2)}, "
        f"{baseline.count - 1}) * s, s = {mm_text(baseline.sd_mm)} mm{floor} of the "
        f"{baseline.count} occasions before ({BIAS_SOURCE})"
    )


def bias_words(mark: Mark) -> str:
    """One occasion against its baseline."""
    error = f"error {signed_mm(mark.point.error_mm)} mm"
    if mark.baseline is None:
        return f"{error}, no baseline yet"
    where = "within" if mark.is_in else "outside"
    return f"{error} lies {where} {limits_words(mark.baseline)}"


def precision_words(precision: Precision) -> str:
    """One check's scatter against the pooled one."""
    sd = precision.point.sd_mm
    assert sd is not None
    what = "is over" if not precision.is_in else "is within"
    basis = (
        "the least that the resolution shows"
        if precision.is_floored
        else f"pooled {mm_text(precision.pooled_mm)} mm, {precision.pooled_dof} degrees of freedom"
    )
    return (
        f"standard deviation {mm_text(sd)} mm of {len(precision.point.check.readings)} readings "
        f"{what} {mm_text(precision.limit_mm)} mm (F limit on {basis}; {PRECISION_SOURCE})"
    )
