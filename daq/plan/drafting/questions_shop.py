"""Questions about how the shop goes about it: places, stripping, gauge blocks, stacks."""

from collections.abc import Iterator

import msgspec

from daq.lengths import EXACT, Length, parse_length, plain
from daq.plan.drafting import typed, typed_names
from daq.plan.drafting.asking import (
    AS_THEY_ARE,
    Asked,
    PlanQuestion,
    Read,
    called,
    group_of,
    key_of,
    option_of,
    unit_of,
)
from daq.plan.drafting.draft import Draft, DraftGroup
from daq.plan.drafting.typed import Misread
from daq.plan.schema import CheckTable

_NEAR = parse_length(CheckTable().near)


def of_places(draft: Draft) -> Iterator[Asked]:
    """Stations, angles, and what is reached last."""
    yield _stations(draft), _read_stations
    yield _angles(draft), _read_angles
    yield _strip(draft), _read_strip


def of_blocks(draft: Draft) -> Asked:
    """Which blocks are at hand."""
    return _blocks(draft), _read_blocks


def of_stack(draft: Draft, group: DraftGroup) -> Asked:
    """The stack for one group."""
    return _stack(draft, group), _reads_stack(group.name)


def _stations(draft: Draft) -> PlanQuestion:
    return PlanQuestion(
        "stations",
        "At which places along each journal?",
        AS_THEY_ARE if "stations" in draft.mixed else ", ".join(draft.stations),
        "Taper shows between two places; a third in the middle shows a barrel or a waist. Type "
        "their names, or 1, 2 or 3.",
        '--stations "front, rear"',
    )


def _read_stations(draft: Draft, text: str) -> tuple[Draft, str]:
    mixed = tuple(word for word in draft.mixed if word != "stations")
    return msgspec.structs.replace(draft, stations=typed_names.stations_in(text), mixed=mixed), ""


def _angles(draft: Draft) -> PlanQuestion:
    return PlanQuestion(
        "angles",
        "At which angles around it, in degrees?",
        AS_THEY_ARE if "angles" in draft.mixed else " ".join(map(str, draft.angles_deg)),
        "Four angles 45 degrees apart show every oval; 180 degrees on is the same diameter again. "
        "Type the angles, or how many.",
        '--angles "0 45 90 135"',
    )


def _read_angles(draft: Draft, text: str) -> tuple[Draft, str]:
    found = typed_names.angles_in(text)
    mixed = tuple(word for word in draft.mixed if word != "angles")
    changed = msgspec.structs.replace(draft, angles_deg=found, mixed=mixed)
    return changed, " ".join(map(str, found))


def _strip(draft: Draft) -> PlanQuestion:
    names = draft.strip
    return PlanQuestion(
        "strip",
        "Which journals can be reached only after stripping?",
        (", ".join(names) if any(" " in n for n in names) else " ".join(names)) or "none",
        "They are asked for last: one journal that is worn out before makes stripping a waste. "
        "Type names, a group, or none.",
        '--strip "M2 M4"',
    )


def _read_strip(draft: Draft, text: str) -> tuple[Draft, str]:
    groups = [(group.name, group.journals) for group in draft.groups]
    return msgspec.structs.replace(draft, strip=typed_names.strip_in(text, groups)), ""


def _blocks(draft: Draft) -> PlanQuestion:
    default = draft.blocks or ("M112" if draft.unit == "mm" else "inch-81")
    words = "Which gauge blocks are at hand, to check the gauge on?"
    if draft.before is not None and not any(group.is_stack_wanted for group in draft.groups):
        default = "none"
        words = "Which gauge blocks are at hand? none keeps the stacks as they are."
    return PlanQuestion(
        "blocks",
        words,
        default,
        "A set by its name (M46, M47, M87, M88, M112, inch-81 or one of your own), the blocks one "
        "by one like 50 8.5 1.47 mm, or none: then measure asks for a stack that the plan has not.",
        '--blocks "M88"',
    )


def _read_blocks(draft: Draft, text: str) -> tuple[Draft, str]:
    blocks = "none" if typed.is_none(text) else text
    changed = msgspec.structs.replace(draft, blocks=blocks)
    if blocks == "none":
        groups = tuple(msgspec.structs.replace(g, stack="") for g in draft.groups)
        return (changed if draft.before else msgspec.structs.replace(changed, groups=groups)), ""
    return changed, ""


def _stack(draft: Draft, group: DraftGroup) -> PlanQuestion:
    offer = draft.offer(group.name)
    default = group.stack or (offer.size if offer is not None and offer.size else "none")
    words = f"\n  {offer.words}" if offer is not None and offer.words else ""
    return PlanQuestion(
        key_of(group, "stack"),
        f"{called(group)}: the stack to check the gauge on, near the low limit?{words}",
        default,
        "The size of the stack or the name of a saved one, within 1 mm of the low limit; none "
        "leaves it open, then measure asks for --stack.",
        option_of(group, "stack", str(group.low or "59.970 mm")),
        is_due=not typed.is_none(draft.blocks),
    )


def _reads_stack(name: str) -> Read:
    def read(draft: Draft, text: str) -> tuple[Draft, str]:
        group = group_of(draft, name)
        if typed.is_none(text):
            return draft.with_group(msgspec.structs.replace(group, stack="")), ""
        stack = text
        if any(char.isdigit() for char in text[:2]):
            found = typed.lengths_in(text, unit_of(draft, group))
            if len(found) != 1:
                raise Misread("Type one size, the name of a saved stack, or none.")
            size = found[0].length
            _refuse_far(size, group)
            stack = str(size)
        return draft.with_group(msgspec.structs.replace(group, stack=stack)), ""

    return read


def _refuse_far(size: Length, group: DraftGroup) -> None:
    if group.low is None or "limits" in group.mixed:
        return
    far = EXACT.subtract(size.mm, group.low.mm).copy_abs()
    if far > _NEAR.mm:
        raise Misread(
            f"{size} lies {plain(far.normalize(EXACT))} mm from the low limit {group.low}: a stack "
            f"within {_NEAR} of it is needed."
        )
