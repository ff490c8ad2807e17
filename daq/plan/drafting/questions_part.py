"""Questions about the part: what it is, what the manual prints, how many journals."""

from collections.abc import Iterator, Sequence

import msgspec

from daq.plan.drafting import typed, typed_names
from daq.plan.drafting.asking import Asked, PlanQuestion, Read
from daq.plan.drafting.draft import MAINS, RODS, UNITS, Draft, DraftGroup, Units
from daq.plan.drafting.typed import Misread
from daq.plan.group_names import alike
from daq.plan.plan import MOST_PART
from drivers.printable import shown


def of_part(draft: Draft) -> Iterator[Asked]:
    """From the title to the names of the journals."""
    yield _part(draft), _read_part
    yield _units(draft), _read_units
    yield _members(draft, MAINS, "M", "How many main journals?"), _reads_members(MAINS, "M")
    yield (
        _members(draft, RODS, "R", "How many rod journals? A pin that two rods share counts once."),
        _reads_members(RODS, "R"),
    )
    yield _others(draft), _read_others


def _part(draft: Draft) -> PlanQuestion:
    return PlanQuestion(
        "part",
        "Which engine, and which part of it?",
        draft.part or None,
        "It is the title of screen, tables and sheets, like: four-cylinder pump, crankshaft.",
        '--part "four-cylinder pump, crankshaft"',
    )


def _read_part(draft: Draft, text: str) -> tuple[Draft, str]:
    if len(text) > MOST_PART:
        raise Misread(f"At most {MOST_PART} characters.")
    return msgspec.structs.replace(draft, part=text), ""


def _units(draft: Draft) -> PlanQuestion:
    return PlanQuestion(
        "unit",
        "What does the manual print: mm, in, or both (the one that counts first: mm in)?",
        draft.units or "mm",
        "Numbers that you type without a unit are taken in this one; with both, the second is "
        "asked for too, and a misprint shows.",
        '--unit "mm"',
    )


def _read_units(draft: Draft, text: str) -> tuple[Draft, str]:
    words = " ".join(text.lower().replace(",", " ").replace("and", " ").replace("+", " ").split())
    meant = {"both": "mm in", "inch": "in", "inches": "in", '"': "in", "m": "mm", "i": "in"}
    units = meant.get(words, words)
    for known in UNITS:
        if units == known:
            chosen: Units = known
            return msgspec.structs.replace(draft, units=chosen), ""
    raise Misread("Type mm, or in, or both: mm in where mm counts, in mm where inches do.")


def _members(draft: Draft, name: str, letter: str, words: str) -> PlanQuestion:
    group = draft.group(name)
    default = _names_text(group.journals, letter) if group else None
    if default is None and draft.before is not None:
        default = "0"
    return PlanQuestion(
        name,
        words,
        default,
        f"Type how many, they are then called {letter}1, {letter}2, ...; or type their names, like "
        f"{letter}1 {letter}2 {letter}3. 0 is none.",
        f"--{name} 5",
    )


def _names_text(names: Sequence[str], letter: str) -> str:
    usual = [f"{letter}{number}" for number in range(1, len(names) + 1)]
    if list(names) == usual:
        return str(len(names))
    return ", ".join(names) if any(" " in name for name in names) else " ".join(names)


def _reads_members(name: str, letter: str) -> Read:
    def read(draft: Draft, text: str) -> tuple[Draft, str]:
        return _with_members(draft, name, typed_names.names_in(text, letter))

    return read


def _with_members(draft: Draft, name: str, names: tuple[str, ...]) -> tuple[Draft, str]:
    for other in draft.groups:
        taken = [one for one in names if other.name != name and one in other.journals]
        if taken:
            raise Misread(
                f"{shown(taken[0], 40)} stands among the {other.name} already: type other names."
            )
    group = draft.group(name)
    if not names:
        groups = tuple(one for one in draft.groups if one.name != name)
        return _fitting(msgspec.structs.replace(draft, groups=groups)), ""
    group = msgspec.structs.replace(group or DraftGroup(name, is_stack_wanted=True), journals=names)
    changed = _fitting(_in_order(draft.with_group(group)))
    words = f"{names[0]} to {names[-1]}" if len(names) > 1 else names[0]
    return changed, f"{len(names)}: {words}"


def _in_order(draft: Draft) -> Draft:
    """Mains before rods before others, in a new plan; in an existing one the order stays."""
    if draft.before is not None:
        return draft
    order = {MAINS: 0, RODS: 1}
    groups = sorted(draft.groups, key=lambda group: order.get(group.name, 2))
    return msgspec.structs.replace(draft, groups=tuple(groups))


def _fitting(draft: Draft) -> Draft:
    """Without journals to strip that are not there any more."""
    strip = tuple(name for name in draft.strip if name in draft.journals)
    return msgspec.structs.replace(draft, strip=strip)


def _others(draft: Draft) -> PlanQuestion:
    others = [group for group in draft.groups if group.name not in (MAINS, RODS)]
    default = "; ".join(
        f"{group.name or 'journals'}: {_names_text(group.journals, _letter(group.name))}"
        for group in others
    )
    return PlanQuestion(
        "others",
        "Any other journals, with limits of their own?",
        default or "none",
        "A name and how many, or which, like: cams: 4; idler: I1. None is the usual answer.",
        '--others "cams: 4"',
    )


def _letter(name: str) -> str:
    first = name[:1].upper()
    return first if first.isalpha() else "J"


def _read_others(draft: Draft, text: str) -> tuple[Draft, str]:
    wanted: dict[str, str] = {}
    for piece in [] if typed.is_none(text) else filter(str.strip, text.split(";")):
        name, colon, members = piece.partition(":")
        if not colon:
            name, _, members = piece.strip().rpartition(" ")
        name = typed_names.name_in(name.strip())
        if name == "journals" and draft.group("") is not None:
            name = ""
        _refuse_alike(name, (MAINS, RODS, *wanted))
        if not members.strip():
            raise Misread("Type a name of their own and how many, like cams: 4; idler: I1.")
        wanted[name] = members
    gone = [g.name for g in draft.groups if g.name not in (MAINS, RODS, *wanted)]
    for name in gone:
        draft, _ = _with_members(draft, name, ())
    for name, members in wanted.items():
        names = typed_names.names_in(members, _letter(name))
        if not names:
            raise Misread(f"How many {shown(name, 40)}? Type it, like {shown(name, 40)}: 4.")
        draft, _ = _with_members(draft, name, names)
    if not draft.groups:
        raise Misread("There is no journal yet. Type some here, or back to change the numbers.")
    return draft, ""


def _refuse_alike(name: str, others: Sequence[str]) -> None:
    """Refuse a group whose name is another's, or looks like it."""
    for other in others:
        if name == other or alike(name, other):
            raise Misread(
                f"{shown(name, 40)} looks like {shown(other, 40)}: type a name of its own, and how "
                "many, like cams: 4; idler: I1."
            )
