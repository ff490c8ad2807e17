"""Stacks for a draft from the blocks that are at hand: a set by its name, or blocks one by one."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import msgspec

from daq.equipment.stacks.block import Block
from daq.equipment.stacks.making import Maker, away_um
from daq.equipment.stacks.set_file import BlockSet
from daq.errors import PlanError, SettingsError
from daq.lengths import Length, plain, shortest
from daq.plan.drafting.draft import Draft, DraftGroup, Offer
from daq.plan.drafting.file_text import text_of
from daq.plan.drafting.typed import Misread, is_none, lengths_in
from daq.plan.plan import parse_plan
from daq.services.home import load_block_set
from daq.services.stack_proposals import proposals

MOST_TYPED = 150


def with_usual_blocks(draft: Draft, home: Path) -> Draft:
    """The draft with the shop's only set of its unit, or the common one, to stand in brackets."""
    if draft.blocks or "blocks" in draft.asked or not draft.units:
        return draft
    try:
        usual = load_block_set(None, draft.unit, home).name
    except SettingsError:  # several sets, or one that is wrong: whoever answers says which
        return draft
    return msgspec.structs.replace(draft, blocks=usual)


def is_offer_due(draft: Draft) -> bool:
    """Offers are wanted and not made for the draft as it is."""
    is_wanted = "blocks" in draft.asked and not is_none(draft.blocks)
    return is_wanted and draft.offered_for != _what(draft)


def with_offers(draft: Draft, home: Path) -> Draft:
    """The draft with a stack for each group near its low limit, as far as the blocks make one.

    Raises SettingsError where the blocks are none.
    """
    found = []
    for group in draft.groups:
        if group.low is not None and "limits" not in group.mixed:
            found.append(_offer(draft, group, _maker(draft.blocks, group.low.unit, home)))
    return msgspec.structs.replace(draft, offers=tuple(found), offered_for=_what(draft))


def _what(draft: Draft) -> str:
    lows = " ".join(f"{group.name}={group.low}" for group in draft.groups)
    return f"{draft.blocks}|{lows}"


def _maker(blocks: str, unit: str, home: Path) -> Maker:
    """Of a set by its name, or of blocks typed one by one."""
    if not any(char.isdigit() for char in blocks[:1]):
        return Maker(load_block_set(blocks, unit, home))
    try:
        typed = lengths_in(blocks, unit)
    except Misread as wrong:
        raise SettingsError(str(wrong)) from wrong
    sizes = list(dict.fromkeys(one.length for one in typed if one.length.value > 0))
    if len(sizes) > MOST_TYPED:
        raise SettingsError(f"{len(sizes)} blocks; at most {MOST_TYPED}.")
    return Maker(_typed_set(sizes))


def _typed_set(sizes: Sequence[Length]) -> BlockSet:
    return BlockSet(
        name="these blocks",
        title="",
        unit=sizes[0].unit if sizes else "mm",
        blocks=tuple(Block(size) for size in sizes),
        protectors=(),
        grade="",
        certificate="",
        certificate_date=None,
        certificate_due=None,
        coefficient=None,
    )


def _offer(draft: Draft, group: DraftGroup, maker: Maker) -> Offer:
    """The stack for one group: as `jbridge stack --plan` proposes it for a plan of that group."""
    assert group.low is not None
    alone = msgspec.structs.replace(
        Draft(part="x"), groups=(DraftGroup("g", ("J",), group.low, group.high),)
    )
    try:
        proposed = proposals(parse_plan(text_of(alone), "draft"), lambda unit: maker)
    except PlanError as error:
        return Offer(group.name, group.low, "", error.reason)
    stack = proposed[0].stack
    if stack is None:
        return Offer(group.name, group.low, "", f"{maker.block_set.name}: no stack within 1 mm")
    blocks = " + ".join(plain(one.nominal.value) for one in stack.blocks)
    off = away_um(group.low, stack.nominal)
    beside = f", {_mm_text(abs(off))} from the low limit" if off else ""
    words = f"{maker.block_set.name}: {stack.nominal} = {blocks}{beside}"
    return Offer(group.name, group.low, str(stack.nominal), words)


def _mm_text(um: Fraction) -> str:
    """A distance for show, to 0.1 um."""
    return f"{shortest(Decimal(round(um * 10)) / 10000)} mm"
