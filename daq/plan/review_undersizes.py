"""What looks wrong in the undersizes of a group: offsets that do not match, bands that touch. Pure.

Every doubt is (key, stable word, words with the arithmetic).
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TypeAlias

from daq.lengths import EXACT, Length, Limits, plain
from daq.plan.bearing import HALF
from daq.plan.plan import GroupPlan, JournalPlan, Undersize

Doubt: TypeAlias = tuple[str, str, str]

GREATEST_TIMES = 8
"""greatest_undersize so many times the last undersize is taken for a slip of the decimal point."""


def step_doubts(group: GroupPlan, members: Sequence[JournalPlan]) -> Iterator[Doubt]:
    """What looks wrong in one group; its members have the same limits where it has undersizes."""
    if not group.undersizes:
        return
    standard = members[0].standard_limits if members else None
    for number, step in enumerate(group.undersizes, 1):
        key = f"{group.key}.undersize[{number}]"
        if standard is not None:
            yield from _offsets(step, standard, key)
            yield from _against_standard(step, standard, key)
        if number < len(group.undersizes):
            yield from _against_next(step, group.undersizes[number], key)
    last = group.undersizes[-1].by
    greatest = group.greatest_undersize
    if greatest is not None and greatest.mm >= GREATEST_TIMES * last.mm:
        yield (
            f"{group.key}.greatest_undersize",
            "ten-times",
            f"{greatest} is many times the greatest undersize named, {last}: is a decimal point "
            "out of place?",
        )


def _offsets(step: Undersize, standard: Limits, key: str) -> Iterator[Doubt]:
    """No limit of a step lies outside the standard ones less the undersize.

    Inside is well: many manuals grind to a narrower band than they accept as standard. A
    bearing-only step has no finished high limit that could follow the standard one.
    """
    sides = [("low", step.low, standard.low, 1)]
    if step.high is not None and standard.high is not None and not step.is_bearing_only:
        sides.append(("high", step.high, standard.high, -1))
    for word, limit, usual, sign in sides:
        offset = EXACT.subtract(usual.mm, limit.mm)
        off = EXACT.multiply(EXACT.subtract(offset, step.by.mm), Decimal(sign))
        if off <= _allowed(limit, usual, step.by):
            continue
        hint = ""
        if step.by.mm in (EXACT.add(offset, offset), EXACT.multiply(offset, HALF)):
            hint = ". One is twice the other: `by` is on the diameter, not on the radius"
        yield (
            f"{key}.{word}",
            "undersize-offset",
            f"{word} of the undersize {step.name}: {usual} - {limit} = {_shown(offset)} mm, but "
            f"the undersize is {step.by} = {_shown(step.by.mm)} mm{hint}",
        )


def _allowed(*lengths: Length) -> Decimal:
    """Nothing in one unit; with a conversion in it, one unit of the coarsest last digit."""
    if len({length.unit == "in" for length in lengths}) == 1:
        return Decimal(0)
    return max(length.step_mm for length in lengths)


def _against_standard(step: Undersize, standard: Limits, key: str) -> Iterator[Doubt]:
    if step.is_bearing_only:
        if step.low.mm >= standard.low.mm:
            yield (
                f"{key}.low",
                "overlap",
                f"bearings of {step.name} serve from {step.low}, not under the standard low limit "
                f"{standard.low}: no journal needs them",
            )
        top, word = step.high, "over"
        meets = top is not None and top.mm > standard.low.mm
    else:
        top, word = step.high, "not under"
        meets = top is not None and top.mm >= standard.low.mm
    if meets:
        yield (
            f"{key}.high",
            "overlap",
            f"high limit {top} of the undersize {step.name} is {word} the standard low limit "
            f"{standard.low}: is that low limit one for wear?",
        )


def _against_next(step: Undersize, beyond: Undersize, key: str) -> Iterator[Doubt]:
    if step.worn_low is None or beyond.high is None or step.worn_low.mm > beyond.high.mm:
        return
    yield (
        f"{key}.worn_low",
        "overlap",
        f"a journal of {step.name} may wear to {step.worn_low}, which is not over {beyond.high}, "
        f"the high limit of {beyond.name}",
    )


def _shown(mm: Decimal) -> str:
    return plain(mm.normalize(EXACT))
