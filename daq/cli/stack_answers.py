"""The work behind `jbridge stack`: sizes, a plan, or a range, each to text, rows and exit code."""

import textwrap
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import msgspec

from daq.cli.views.stack import (
    WIDTH,
    blocks_text,
    columns,
    none_row,
    none_text,
    short_text,
    stack_row,
    stack_text,
    um_text,
)
from daq.equipment.stacks.making import Maker, NoStack, exact_um
from daq.equipment.stacks.screw import (
    hides_periodic_error,
    spindle_angle_deg,
    usual_permitted_um,
)
from daq.equipment.stacks.stack import Stack
from daq.lengths import EXACT, Length
from daq.plan import key_words
from daq.plan.plan import Plan
from daq.services.stack_proposals import Proposal, proposals

DONE, NONE = 0, 1

_SAVE_WORDS = (
    'Save a stack with `jbridge stack "SIZE" --save NAME` and write its name in '
    "the plan: then its blocks and certificate count. Of a bare size the blocks "
    "are not known, so grade 2 and three joints are assumed."
)


class Answer(msgspec.Struct, frozen=True):
    """What is told: text for people, rows for programs, the exit code, and a stack to keep."""

    text: str
    rows: list[dict[str, Any]]
    code: int = DONE
    first: Stack | None = None


def one_size(maker: Maker, size: Length, most: int, on: date) -> Answer:
    """Up to `most` stacks of one size, or the nearest."""
    found = maker.stacks(size, most)
    if not found:
        return _none([maker.none(size)], on)
    texts = [f"{size} from {_set_words(maker)}:", stack_text(found[0], on)]
    if len(found) > 1:
        texts.append("or")
        texts += [f"  {short_text(stack, on)}" for stack in found[1:]]
    if len(found) < most:
        texts.append(_all_words(len(found)))
    rows: list[dict[str, Any]] = [
        {"asked": str(size), "stacks": [stack_row(one, on) for one in found], "none": None}
    ]
    return Answer("\n".join(texts), rows, DONE, found[0])


def several(maker: Maker, sizes: Sequence[Length], on: date) -> Answer:
    """Stacks of several sizes at once: no block in two of them."""
    missing = [size for size in sizes if not maker.stacks(size, 1)]
    if missing:
        return _none([maker.none(size) for size in missing], on)
    found = maker.together(sizes)
    listed = ", ".join(map(str, sizes))
    rows: list[dict[str, Any]]
    if isinstance(found, str):
        text = (
            f"There are no stacks of {listed} at once from {maker.block_set.name}: {found}. Build "
            "them one after another, or take some from another set."
        )
        rows = [
            {"asked": str(size), "stacks": [], "none": {"why": found, "nearest": []}}
            for size in sizes
        ]
        return Answer("\n".join(textwrap.wrap(text, WIDTH)), rows, NONE)
    texts = [stack_text(stack, on) for stack in found]
    head = f"{listed}, all at once from {_set_words(maker)}, no block used twice:"
    rows = [
        {"asked": str(size), "stacks": [stack_row(one, on)], "none": None}
        for size, one in zip(sizes, found, strict=True)
    ]
    return Answer("\n".join((head, *texts)), rows)


def _none(nones: Sequence[NoStack], on: date) -> Answer:
    rows: list[dict[str, Any]] = [
        {"asked": str(none.size), "stacks": [], "none": none_row(none, on)} for none in nones
    ]
    return Answer("\n".join(none_text(none, on) for none in nones), rows, NONE)


def for_plan(plan: Plan, maker_for: Callable[[str], Maker], on: date) -> Answer:
    """The stacks that a plan needs."""
    found = proposals(plan, maker_for)
    groups = [one.group for one in found]
    texts = [f"Stacks for {plan.part} ({plan.source}), each near the low limit:"]
    texts += [_proposal_text(one, groups.count(one.group) > 1, on) for one in found]
    rows = [
        {
            "group": one.group,
            "journals": list(one.journals),
            "low_limit": str(one.wanted),
            "planned": one.planned,
            "away_um": exact_um(one.away_um),
            "stack": None if one.stack is None else stack_row(one.stack, on),
        }
        for one in found
    ]
    code = DONE if all(one.stack for one in found) else NONE
    texts += textwrap.wrap(_SAVE_WORDS, WIDTH)
    return Answer("\n".join(texts), rows, code)


def for_range(maker: Maker, sizes: Sequence[Length], low: Length, pitch: Decimal) -> Answer:
    """The sizes to check a micrometer at, with a stack for each."""
    table = [("size", "spindle at", f"stack from {maker.block_set.name}")]
    rows: list[dict[str, Any]] = []
    code = DONE
    for size in sizes:
        stacks = maker.stacks(size, 1)
        angle = spindle_angle_deg(size, low, pitch)
        degrees = f"{float(angle):g}"
        what = blocks_text(stacks[0]) if stacks else "none can be made"
        table.append((str(size), f"{degrees}°", what))
        code = code if stacks else NONE
        rows.append(
            {
                "size": str(size),
                "spindle_deg": float(angle),
                "blocks": [str(one.nominal) for one in stacks[0].blocks] if stacks else None,
            }
        )
    shows = (
        "All of them stop the spindle at the same place of a turn, or opposite it: an error that "
        "repeats with each turn stays hidden."
        if hides_periodic_error(sizes, low, pitch)
        else "They stop the spindle at different places of a turn, so an error that repeats with "
        "each turn shows."
    )
    text = (
        f"Pitch of the screw: {pitch} {low.unit} (--pitch). {shows} Judge the largest "
        f"|error| at these sizes by the maker's limit{_usual(low, sizes)}, not largest "
        "less smallest."
    )
    return Answer("\n".join((columns(table), "", *textwrap.wrap(text, WIDTH))), rows, code)


def _usual(low: Length, sizes: Sequence[Length]) -> str:
    """What the standard permits, which is for ranges of 25 mm (or 1 in, which is near)."""
    travel = EXACT.subtract(max(size.mm for size in sizes), low.mm)
    if not Decimal(25) <= travel <= Decimal("25.4"):
        return ""
    um = usual_permitted_um(low)
    return f"; a common micrometer of this range is permitted ±{um} µm (DIN 863-1)"


def _set_words(maker: Maker) -> str:
    of = maker.block_set
    about = f" ({of.title})" if of.title else ""
    grade = f", grade {of.grade}" if of.grade else ""
    return f"{of.name}{about}{grade}"


def _all_words(count: int) -> str:
    return "That is the only stack." if count == 1 else f"These {count} are all."


def _proposal_text(one: Proposal, is_split: bool, on: date) -> str:
    whose = f"group {one.group}: " if one.group else ""
    head = f"{whose}{key_words.several(one.journals)}: low limit {one.wanted}"
    if one.stack is None:
        return f"{head}\n  no stack within check.near of it can be made from this set"
    lines = []
    if one.away_um:
        side = "over" if one.away_um > 0 else "under"
        lines.append(
            f"no stack makes it exactly; the nearest is {one.stack.nominal}, "
            f"{um_text(abs(one.away_um))} µm {side} it"
        )
    below = []
    if one.planned:
        below.append(f"the plan says now: {one.planned}")
    stack = f'stack = "{one.stack.nominal}"'
    if is_split:
        below.append(
            f"in the plan: a [[group]] of their own for {', '.join(one.journals)} with {stack}, "
            "as check.near parts them from the others"
        )
    elif one.group:
        below.append(f'in the plan: [[group]] with name = "{one.group}" and {stack}')
    else:
        below.append(f"in the plan: [check] with {stack}")
    parts = (_wrapped(lines), textwrap.indent(stack_text(one.stack, on), "  "), _wrapped(below))
    return "\n".join(filter(None, (head, *parts)))


def _wrapped(lines: Sequence[str]) -> str:
    wrapped = [textwrap.fill(line, WIDTH, subsequent_indent="  ") for line in lines]
    return textwrap.indent("\n".join(wrapped), "  ")
