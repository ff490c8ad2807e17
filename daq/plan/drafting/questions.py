"""The questions in the order of the trade: what comes next, and what an answer makes of a draft.

Source of the order: how a shop manual is read, engine first, then how many journals, their limits,
undersizes, form; then how the shop goes about it. Chosen by us.
"""

from collections.abc import Iterator
from typing import TypeAlias

import msgspec

from daq.plan.drafting.asking import AS_THEY_ARE, Asked, PlanQuestion, key_of
from daq.plan.drafting.draft import Draft, DraftGroup
from daq.plan.drafting.questions_group import of_group
from daq.plan.drafting.questions_part import of_part
from daq.plan.drafting.questions_shop import of_blocks, of_places, of_stack
from daq.plan.drafting.typed import Misread
from drivers.printable import shown

BACK, HELP, LATER = "back", "?", "later"


class Wrong(msgspec.Struct, frozen=True):
    """What is wrong with an answer, in words."""

    words: str


class Answered(msgspec.Struct, frozen=True):
    """The draft with an answer in it, and how that was understood, "" where nothing needs words."""

    draft: Draft
    words: str = ""


class Explained(msgspec.Struct, frozen=True):
    """The question was not answered: `words` explain it."""

    words: str


class Left(msgspec.Struct, frozen=True):
    """Whoever answers goes on later."""


Outcome: TypeAlias = Answered | Wrong | Explained | Left


def questions(draft: Draft) -> tuple[PlanQuestion, ...]:
    """All questions of a draft as far as its answers tell which there are, in their order."""
    return tuple(question for question, _ in _all(draft))


def next_question(draft: Draft) -> PlanQuestion | None:
    """The first that is not answered; None when nothing is left to ask."""
    due = (one for one in questions(draft) if one.is_due and one.key not in draft.asked)
    return next(due, None)


def question(draft: Draft, key: str) -> PlanQuestion | None:
    """The question of that key; the words of it may also be apart by a hyphen."""
    wanted = key.strip().lower().replace("-", " ")
    return next((one for one in questions(draft) if one.key.lower() == wanted), None)


def take(draft: Draft, line: str, called: str | None = None) -> Outcome:
    """What a line leads to that is typed at the next question, or at the one that was `called`."""
    now = next_question(draft) if called is None else question(draft, called)
    word = line.strip().lower()
    if word == LATER:
        return Left()
    if word == BACK:
        return back(draft) if called is None else Answered(draft)
    if now is None:
        return Wrong("There is nothing left to ask.")
    if word == HELP:
        return Explained(now.help)
    return answer(draft, now.key, line)


def back(draft: Draft) -> Answered | Wrong:
    """The draft with its last answer to be given again; what was said stands in brackets."""
    if not draft.asked:
        return Wrong("This is the first question.")
    return Answered(msgspec.structs.replace(draft, asked=draft.asked[:-1]))


def answer(draft: Draft, key: str, line: str) -> Answered | Wrong:
    """The draft with the question `key` answered by `line`; an empty one takes the default."""
    found = next(((q, read) for q, read in _all(draft) if q.key == key), None)
    if found is None:
        return Wrong(f"There is no question {shown(key, 60)} here.")
    asked, read = found
    text = line.strip()
    if not text:
        if asked.default is None:
            return Wrong(f"There is nothing in brackets to take. {asked.help}")
        text = asked.default
    if not text.isprintable():
        return Wrong(f"This holds characters that cannot be printed: {shown(text, 40)}.")
    try:
        # What stands in brackets of an existing plan is taken as it is, not read again.
        after, words = (draft, "") if _is_kept(draft, asked, line) else read(draft, text)
    except Misread as wrong:
        return Wrong(str(wrong))
    keys = (*(one for one in after.asked if one != key), key)
    return Answered(msgspec.structs.replace(after, asked=keys), words)


def _is_kept(draft: Draft, asked: PlanQuestion, line: str) -> bool:
    """Nothing is to be read: an existing plan says what stands in brackets already, perhaps in
    more words than a line has.
    """
    if draft.before is None or asked.key == "blocks":
        return False
    text = line.strip()
    if text:
        return text == asked.default == AS_THEY_ARE
    is_stack = asked.key.endswith(" stack")
    return not is_stack or any(
        asked.key == key_of(group, "stack") and group.stack for group in draft.groups
    )


def _all(draft: Draft) -> Iterator[Asked]:
    yield from of_part(draft)
    last: DraftGroup | None = None
    for group in draft.groups:
        yield from of_group(draft, group, last)
        last = group
    yield from of_places(draft)
    yield of_blocks(draft)
    for group in draft.groups:
        yield of_stack(draft, group)
