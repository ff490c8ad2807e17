"""From a block set to stacks: protectors, blocks that are in use, and the file that keeps one."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.equipment.stacks.block import Block
from daq.equipment.stacks.compose import MOST_BLOCKS, Bench, alternatives, nearest, together
from daq.equipment.stacks.set_file import BlockSet
from daq.equipment.stacks.stack import Stack
from daq.equipment.stacks.stack_file import certified_size, trimmed
from daq.lengths import EXACT, MM_PER, Length, plain, signed

_FINEST = Decimal("1e-9")


class NoStack(msgspec.Struct, frozen=True):
    """Why there is no stack of a size, and the nearest that there are, smaller first."""

    size: Length
    why: str
    nearest: tuple[Stack, ...] = ()


class Maker:
    """Makes stacks of one block set, without the blocks that are `in_use`.

    `protectors` are wrung to both ends and are not of the set's other blocks; their lengths are
    taken off first. Raises ValueError for a block in use that the set has not got.
    """

    def __init__(
        self,
        block_set: BlockSet,
        *,
        in_use: Sequence[tuple[Length, str]] = (),
        protectors: Sequence[Block] = (),
    ) -> None:
        self.block_set = block_set
        self.protectors = tuple(protectors)
        self._bench = Bench(_free(block_set, in_use))
        self._protected = sum((one.nominal.mm for one in self.protectors), Decimal(0))

    def stacks(self, size: Length, most: int) -> list[Stack]:
        """Up to `most` stacks of that size, fewest blocks first; empty if there is none."""
        rest = EXACT.subtract(size.mm, self._protected)
        if rest <= 0:
            return []
        return [self._stack(size, blocks) for blocks in alternatives(self._bench, rest, most)]

    def none(self, size: Length) -> NoStack:
        """Why there is no stack of that size, with the nearest, which are never given out as it."""
        rest = EXACT.subtract(size.mm, self._protected)
        found = []
        for mm in nearest(self._bench, rest) if rest > 0 else (None, None):
            if mm is not None:
                near = in_unit(EXACT.add(mm, self._protected), self.block_set.unit)
                found += self.stacks(near, 1)
        return NoStack(size, self._why(rest), tuple(found))

    def together(self, sizes: Sequence[Length]) -> list[Stack] | str:
        """A stack for each size, no block in two of them, or why there are none.

        Raises ValueError with protectors: there is only one pair.
        """
        if self.protectors:
            raise ValueError("one pair of protectors cannot be on several stacks at once")
        found = together(self._bench, [size.mm for size in sizes])
        if found.stacks is not None:
            pairs = zip(sizes, found.stacks, strict=True)
            return [self._stack(size, blocks) for size, blocks in pairs]
        if found.needed_twice is not None:
            return f"two of them need the block {found.needed_twice}"
        if found.is_proven:
            return "each can be made, but not without using a block twice"
        return "no stacks without a shared block were found in time; there may be some"

    def _why(self, rest: Decimal) -> str:
        if rest <= 0:
            return (
                f"the protectors alone are {plain(trimmed(self._protected))} mm, nothing is left "
                "for blocks"
            )
        return f"no {MOST_BLOCKS} blocks or fewer of {self.block_set.name} make it exactly"

    def _stack(self, size: Length, blocks: Sequence[Block]) -> Stack:
        ordered = tuple(sorted(blocks, key=lambda one: one.nominal.mm))
        # A protector at each end, the longest block in the middle of the words only.
        whole = (*self.protectors[:1], *ordered, *self.protectors[1:])
        of = self.block_set
        is_certified = any(one.is_certified for one in whole)
        return Stack(
            name="",
            nominal=size,
            size=certified_size(size, whole),
            blocks=whole,
            set_name=of.name,
            grade=of.grade,
            certificate=of.certificate if is_certified else "",
            certificate_date=of.certificate_date if is_certified else None,
            certificate_due=of.certificate_due if is_certified else None,
            coefficient=of.coefficient,
        )


def _free(block_set: BlockSet, in_use: Sequence[tuple[Length, str]]) -> list[Block]:
    """The blocks of the set but those in use, told by size and mark ("" for any mark)."""
    free = list(block_set.blocks)
    for nominal, mark in in_use:
        for one in free:
            if one.nominal.mm == nominal.mm and mark in ("", one.mark):
                free.remove(one)
                break
        else:
            shown = f"{nominal}{f' #{mark}' if mark else ''}"
            raise ValueError(f"no block of {shown} in {block_set.name}, so it cannot be in use")
    return free


def in_unit(mm: Decimal, unit: str) -> Length:
    """A length in `unit` where that takes at most nine decimals, else in mm."""
    value = trimmed((mm / MM_PER[unit]).quantize(_FINEST))
    if EXACT.multiply(value, MM_PER[unit]) == mm:
        return Length(value, unit)
    return Length(trimmed(mm), "mm")


def exact_um(um: Fraction) -> str:
    """An exact difference of two sizes as decimal text, without trailing zeros."""
    value = EXACT.divide(Decimal(um.numerator), Decimal(um.denominator))
    return plain(trimmed(value))


def away_um(size: Length, other: Length) -> Fraction:
    """How far `other` lies over `size`, in um; negative if it lies under it."""
    return Fraction(EXACT.subtract(other.mm, size.mm)) * 1000


def stack_text(stack: Stack) -> str:
    """The file that keeps a stack, for HOME/stacks/NAME.toml."""
    lines = ["schema = 1", f"size = {_quoted(str(stack.nominal))}"]
    for key, text in (
        ("set", stack.set_name),
        ("grade", stack.grade),
        ("certificate", stack.certificate),
    ):
        if text:
            lines.append(f"{key} = {_quoted(text)}")
    for key, day in (
        ("certificate_date", stack.certificate_date),
        ("certificate_due", stack.certificate_due),
    ):
        if day is not None:
            lines.append(f"{key} = {day.isoformat()}")
    if stack.coefficient is not None:
        lines.append(f'expansion = "{stack.coefficient.value} /K"')
        lines.append(f'expansion_limit = "{stack.coefficient.half_width} /K"')
    for one in stack.blocks:
        lines += ["", "[[block]]", f"nominal = {_quoted(str(one.nominal))}"]
        if one.mark:
            lines.append(f"mark = {_quoted(one.mark)}")
        if one.deviation_um is not None:
            lines.append(f'deviation = "{signed(trimmed(one.deviation_um))} um"')
            lines.append(f'uncertainty = "{plain(trimmed(one.uncertainty_um or Decimal(0)))} um"')
            lines.append(f"k = {one.k!r}")
        if one.is_protector:
            lines.append("protector = true")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A TOML basic string; the text is printable."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
