"""What `jbridge stack` is asked in words: sizes, blocks in use, protectors."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import click

from daq.equipment.stacks.block import Block
from daq.equipment.stacks.set_file import BlockSet
from daq.lengths import MM_PER, Length, parse_typed_length
from daq.services.home import load_stack


def sizes_in(words: Sequence[str]) -> list[Length]:
    """The sizes on the command line; "57.982 mm" may come as one word or as two."""
    joined: list[str] = []
    for word in words:
        if word in MM_PER and joined:
            joined[-1] += f" {word}"
        else:
            joined.append(word)
    return [size_in(word, "SIZE") for word in joined]


def size_in(word: str, option: str) -> Length:
    """A size above zero with its unit; raises BadParameter."""
    try:
        size = parse_typed_length(word)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint=option) from error
    if size.value <= 0:
        raise click.BadParameter(f"{size} is not above zero", param_hint=option)
    return size


def in_use(words: Sequence[str], home: Path) -> list[tuple[Length, str]]:
    """Blocks that may not be used: "50 mm", "50 mm #A7", or all of a saved stack by its name."""
    found: list[tuple[Length, str]] = []
    for word in words:
        kept = load_stack(word, home)
        if kept is not None:
            found += [(b.nominal, b.mark) for b in kept[0].blocks if not b.is_protector]
            continue
        size, _, mark = word.partition("#")
        try:
            found.append((size_in(size, "--without"), mark.strip()))
        except click.BadParameter as error:
            raise click.BadParameter(
                f'{word[:60]!r} is neither a block, like "50 mm", nor a saved stack',
                param_hint="--without",
            ) from error
    return found


def protectors_in(
    word: str | None, block_set: BlockSet, others: Sequence[str], home: Path
) -> tuple[Block, ...]:
    """The pair of protectors: those of the set for "set", else two of the size given.

    Raises BadParameter where the set has no pair, or one of `others` (see `in_use`) has it.
    """
    if word is None:
        return ()
    if word == "set":
        for name in others:
            kept = load_stack(name, home)
            if kept is not None and set(kept[0].blocks) & set(block_set.protectors):
                raise click.BadParameter(
                    f"the protectors of {block_set.name} are on the stack {name}",
                    param_hint="--protectors",
                )
        if len(block_set.protectors) != 2:
            raise click.BadParameter(
                f"{block_set.name} has {len(block_set.protectors)} protectors, not a pair: give "
                'the length of one, like --protectors "2 mm"',
                param_hint="--protectors",
            )
        return block_set.protectors
    one = Block(size_in(word, "--protectors"), is_protector=True)
    return (one, one)


def pitch_in(word: str | None, unit: str, usual: Decimal) -> Decimal:
    """The pitch of a screw in `unit`; the usual one without a word."""
    if word is None:
        return usual
    pitch = size_in(word, "--pitch")
    if pitch.unit != unit:
        raise click.BadParameter(
            f"{pitch} is not in {unit}, the unit of the sizes", param_hint="--pitch"
        )
    return pitch.value


def range_in(words: tuple[str, str]) -> tuple[Length, Length]:
    """The range of a micrometer, in mm or in; the lower end may be 0. Raises BadParameter."""
    try:
        low, high = map(parse_typed_length, words)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--check-range") from error
    if low.unit != high.unit or low.unit == "um":
        raise click.BadParameter(
            f"{low} and {high}: both in mm, or both in inches", param_hint="--check-range"
        )
    return low, high
