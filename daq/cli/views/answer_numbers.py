"""The numbers of one journal as they are shown: what stands on a line can be subtracted by hand,
and nothing crosses its limit by rounding. Pure.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.board.shown_lengths import (
    CONVERTED,
    SHOWN_STEPS,
    ShownLimit,
    shown_difference,
    shown_limit,
    shown_size,
    stated_unit,
)
from daq.lengths import EXACT, Length, plain, shortest
from daq.plan.journals import JournalPlan
from daq.record.results import JournalResult

_NEXT_MM = Fraction(1, 10**9)
"""Less than the numbers of a result show. Where its verdict says that a size is outside though the
size as printed lies on the limit, it lies by less than this printing outside."""


class JournalShown(msgspec.Struct, frozen=True, kw_only=True):
    """A journal's numbers in `unit`, None where not measured or not limited. `over_low` and
    `over_high` are the sizes less the limits as shown. `is_converted`: the plan has another unit.
    """

    unit: str
    is_converted: bool
    low: ShownLimit
    high: ShownLimit | None
    smallest: Decimal | None = None
    largest: Decimal | None = None
    over_low: Decimal | None = None
    over_high: Decimal | None = None
    off_round: Decimal | None = None
    off_round_limit: ShownLimit | None = None
    taper: Decimal | None = None
    taper_limit: ShownLimit | None = None
    taper_per: str = ""


def shown_journal(result: JournalResult, journal: JournalPlan, unit: str) -> JournalShown:
    """The numbers of a result in mm or in inches."""
    limits = journal.limits
    low = shown_limit(limits.low, unit, is_low=True)
    high = None if limits.high is None else shown_limit(limits.high, unit, is_low=False)
    smallest = _size(result.smallest_mm, unit, low, high, is_below=result.size_verdict == "below")
    largest = _size(result.largest_mm, unit, low, high, is_above=result.size_verdict == "above")
    taper = limits.taper
    if limits.taper_per is not None and result.taper_limit_mm:
        taper = Length(Decimal(result.taper_limit_mm), "mm")
    round_limit = _form_limit(limits.out_of_round, unit)
    taper_limit = _form_limit(taper, unit)
    return JournalShown(
        unit=unit,
        is_converted=unit != stated_unit(limits.low),
        low=low,
        high=high,
        smallest=smallest,
        largest=largest,
        over_low=None if smallest is None else EXACT.subtract(smallest, low.value),
        over_high=(
            None if largest is None or high is None else EXACT.subtract(largest, high.value)
        ),
        off_round=_size(result.out_of_round_mm, unit, None, round_limit),
        off_round_limit=round_limit,
        taper=_size(result.taper_mm, unit, None, taper_limit),
        taper_limit=taper_limit,
        taper_per=f" per {limits.taper_per}" if limits.taper_per else "",
    )


def _form_limit(limit: Length | None, unit: str) -> ShownLimit | None:
    return None if limit is None else shown_limit(limit, unit, is_low=False)


def _size(
    text: str,
    unit: str,
    low: ShownLimit | None,
    high: ShownLimit | None,
    *,
    is_below: bool = False,
    is_above: bool = False,
) -> Decimal | None:
    if not text:
        return None
    mm = Fraction(Decimal(text))
    if is_below and low is not None:
        mm = min(mm, Fraction(low.mm) - _NEXT_MM)
    if is_above and high is not None:
        mm = max(mm, Fraction(high.mm) + _NEXT_MM)
    value = shown_size(mm, unit, [limit for limit in (low, high) if limit is not None])
    return EXACT.add(value, Decimal(0).scaleb(_exponent(SHOWN_STEPS[unit])))


def _exponent(step: Decimal) -> int:
    exponent = step.as_tuple().exponent
    assert isinstance(exponent, int)
    return exponent


def signed_text(value: Decimal) -> str:
    """A difference with its sign; zero has none."""
    return format(value, "+f") if value else plain(value.copy_abs())


def amounts(values: Sequence[tuple[Decimal, JournalShown]]) -> str:
    """The size of a difference in each unit, like "0.0091 mm (~0.00036 in)"."""
    first, *others = [
        f"{CONVERTED if shown.is_converted else ''}{shortest(value.copy_abs())} {shown.unit}"
        for value, shown in values
    ]
    return first + "".join(f" ({other})" for other in others)


def amount_of(mm: Decimal, units: Sequence[str], stated: str) -> str:
    """An amount in mm in each of `units`; what is not in the unit `stated` is marked."""
    first, *others = [
        f"{CONVERTED if unit != stated else ''}"
        f"{shortest(shown_difference(Fraction(mm), unit))} {unit}"
        for unit in units
    ]
    return first + "".join(f" ({other})" for other in others)
