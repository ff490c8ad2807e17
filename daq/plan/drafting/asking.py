"""What a question and its answer are, and how groups are called in them."""

from collections.abc import Callable
from typing import TypeAlias

import msgspec

from daq.plan.drafting.draft import Draft, DraftGroup

AS_THEY_ARE = "as they are"
"""Stands in brackets where an existing plan says more than one answer can."""


class PlanQuestion(msgspec.Struct, frozen=True):
    """One question. `key` is what it is called ("rods limits"), `default` what stands in brackets
    and Enter takes, None where there is nothing to take; `help` explains in a sentence; `option`
    answers it from a script. `is_due`: it is asked by itself, else only where somebody names it.
    """

    key: str
    words: str
    default: str | None
    help: str
    option: str
    is_due: bool = True


Read: TypeAlias = Callable[[Draft, str], tuple[Draft, str]]
"""An answer to the draft with it and words that say how it was understood, or Misread."""

Asked: TypeAlias = tuple[PlanQuestion, Read]


def called(group: DraftGroup) -> str:
    """A group as people say it."""
    return group.name.upper() or "JOURNALS"


def key_of(group: DraftGroup, what: str) -> str:
    """The key of a question about a group."""
    return f"{group.name or 'journals'} {what}"


def option_of(group: DraftGroup, what: str, example: str) -> str:
    """The option that answers a question about a group."""
    return f'--{what} {group.name or "journals"}="{example}"'


def again(draft: Draft, key: str) -> Draft:
    """The draft with one question to be asked again."""
    asked = tuple(one for one in draft.asked if one != key)
    return msgspec.structs.replace(draft, asked=asked)


def group_of(draft: Draft, name: str) -> DraftGroup:
    """The group that a question is about."""
    group = draft.group(name)
    assert group is not None, "a question about a group is asked only while it is there"
    return group


def unit_of(draft: Draft, group: DraftGroup) -> str:
    """The unit of a bare number about a group: that of its limits, else what the manual prints."""
    if group.low is None or group.low.unit not in ("mm", "in"):
        return draft.unit
    return group.low.unit
