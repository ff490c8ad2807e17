"""A plan's route as pages to fill in by hand: which stack, which journals, which boxes. Pure.

The boxes are numbered as the route goes, so that what was written can be typed in that order.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

import msgspec

from daq.lengths import Length, Position, parse_length
from daq.plan.plan import JournalPlan, Plan
from daq.plan.route import Stop, route, study_route
from daq.plan.turns import turn_words


class Box(msgspec.Struct, frozen=True):
    """One reading to write down: its number on the route, and its place."""

    number: int
    position: Position


class SheetBlock(msgspec.Struct, frozen=True):
    """What is measured without a break: one journal, or in a study one operator's trial with
    journals in a drawn order. `turn` is whose turn it is, "" outside a study. `is_after_strip`: the
    part is to be stripped before it.
    """

    boxes: tuple[Box, ...]
    is_after_strip: bool
    turn: str = ""


class SheetStint(msgspec.Struct, frozen=True):
    """All between a check before and a check after on one stack. `stack` is as the plan names it,
    "" where it leaves it open; `size` is None where nobody knows it.
    """

    stack: str
    size: Length | None
    blocks: tuple[SheetBlock, ...]


def stints_of(plan: Plan, saved: Mapping[str, str]) -> tuple[SheetStint, ...]:
    """The whole route, stint by stint; `saved` has the size, as text, of stacks called by name."""
    stacks = {j.name: j.group_stack or plan.check.stack or "" for j in plan.journals}
    boxes = [Box(number, at) for number, at in enumerate(_route(plan, stacks), 1)]
    return tuple(
        SheetStint(stack, _size(saved.get(stack, stack)), tuple(_blocks(plan, found)))
        for stack, found in groupby(boxes, lambda box: stacks[box.position.journal])
    )


def _route(plan: Plan, stacks: Mapping[str, str]) -> Sequence[Position]:
    stops = [
        Stop(j.name, stacks[j.name], j.stations, j.angles_deg, j.repeats, j.is_after_strip)
        for j in plan.journals
    ]
    study = plan.study
    if study is None:
        return route(stops)
    return study_route(stops, len(study.operators), study.trials, study.order_seed)


def _blocks(plan: Plan, boxes: Iterable[Box]) -> Iterator[SheetBlock]:
    late = {journal.name for journal in plan.journals if journal.is_after_strip}
    study = plan.study

    def alike(box: Box) -> tuple[bool, str, int]:
        at = box.position
        if study is None:
            return at.journal in late, at.journal, 0
        return at.journal in late, "", at.repeat

    for (is_late, _, repeat), found in groupby(boxes, alike):
        turn = "" if study is None else turn_words(study, repeat)
        yield SheetBlock(tuple(found), is_late, turn)


def _size(text: str) -> Length | None:
    try:
        return parse_length(text)
    except ValueError:
        return None


def journals_in(plan: Plan, stint: SheetStint) -> tuple[JournalPlan, ...]:
    """The journals of a stint, in the order of the file."""
    names = {box.position.journal for block in stint.blocks for box in block.boxes}
    return tuple(journal for journal in plan.journals if journal.name in names)
