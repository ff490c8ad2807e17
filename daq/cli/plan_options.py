"""What the options of `plan new` answer: the questions that they name, before anybody is asked."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TypeAlias

from daq.errors import UsageError
from daq.plan.drafting.draft import Draft
from daq.plan.drafting.questions import Wrong, answer, next_question, questions
from daq.plan.drafting.typed import Misread, lengths_in
from daq.services.draft_stacks import is_offer_due, with_offers, with_usual_blocks

OF_GROUP = ("limits", "cross-check", "undersizes", "form", "stack")

Options: TypeAlias = Mapping[str, str | tuple[str, ...]]
"""The options given, by their names with underscores; those that may stand several times have
several texts.
"""


def with_options(draft: Draft, given: Options, home: Path) -> Draft:
    """The draft with what the options answer: first the groups, then what goes for them."""
    single = {word: text for word, text in given.items() if isinstance(text, str)}
    unit = _unit_meant(given)
    if unit is not None and not draft.units:
        single["unit"] = unit
    draft = answered(draft, single, home)
    names = [group.name or "journals" for group in draft.groups]
    of_groups: dict[str, str] = {}
    for word in OF_GROUP:
        for text in given.get(word.replace("-", "_"), ()):
            of_groups |= dict(_for_groups(word, text, names))
    return answered(draft, of_groups, home)


def _unit_meant(given: Options) -> str | None:
    """What the manual prints, by the options: as said, else as the first limits have it; both
    where a cross-check is given. None where nothing tells.
    """
    unit = str(given["unit"]) if "unit" in given else None
    for text in given.get("limits", ()) if unit is None else ():
        try:
            first = lengths_in(text.rpartition("=")[2], "mm")[:1]
        except Misread:
            continue  # told when it is answered
        if first and first[0].is_said:
            unit = first[0].length.unit
            break
    if "cross_check" in given and unit in (None, "mm", "in"):
        return "in mm" if unit == "in" else "mm in"
    return unit


def _for_groups(word: str, text: str, names: list[str]) -> Iterator[tuple[str, str]]:
    """What `[GROUP=]TEXT` answers: one question, or that of every group."""
    name, equals, rest = text.partition("=")
    if equals:
        known = next((one for one in names if one.lower() == name.strip().lower()), name.strip())
        yield f"{known} {word}", rest
        return
    for one in names:
        yield f"{one} {word}", text


def answered(draft: Draft, given: dict[str, str], home: Path) -> Draft:
    """The draft with the answers of the options in it. Raises UsageError for one that is wrong, or
    that there is no question for.
    """
    left = dict(given)
    while left:
        draft = _offered(draft, home)
        keys = [one.key for one in questions(draft)]
        key = next((one for one in keys if one in left), None)
        if key is None:
            word = next(iter(left))
            raise UsageError(
                f"there is no {word!r} in this plan; there are {', '.join(keys)[:400]}",
                _option_name(word),
            )
        draft = _given(draft, key, left.pop(key))
    return draft


def _given(draft: Draft, key: str, text: str) -> Draft:
    outcome = answer(draft, key, text)
    if isinstance(outcome, Wrong):
        raise UsageError(outcome.words.rstrip("."), _option_name(key))
    return outcome.draft


def _option_name(key: str) -> str:
    """The option that answers the question of this key."""
    return f"--{key.rpartition(' ')[2]}"


def completed(draft: Draft, home: Path) -> Draft:
    """The draft with every open question answered by what stands in brackets.

    Raises UsageError naming the option where there is nothing to take.
    """
    while True:
        draft = _offered(draft, home)
        asked = next_question(draft)
        if asked is None:
            return draft
        if asked.default is None:
            raise UsageError(f"{asked.option} is missing: {asked.words.rstrip('?')}")
        draft = _given(draft, asked.key, "")


def _offered(draft: Draft, home: Path) -> Draft:
    draft = with_usual_blocks(draft, home)
    return with_offers(draft, home) if is_offer_due(draft) else draft
