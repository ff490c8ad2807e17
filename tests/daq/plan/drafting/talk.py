"""A talk with nobody: lines answered one after another, and the answers of an inline-four."""

from collections.abc import Sequence

from daq.plan.drafting.draft import Draft
from daq.plan.drafting.questions import Answered, Outcome, next_question, take

FOUR = (
    "four-cylinder pump, crankshaft",
    "",  # mm
    "5",
    "4",
    "",  # no others
    "59.970 59.990",
    "0.25 0.50",
    "0.005",
    "50.780 50.800",
    "",  # undersizes as the mains have
    "",  # form as the mains have
    "",  # front, rear
    "",  # 0 45 90 135
    "M3",
    "none",  # no blocks
)


def said(lines: Sequence[str], draft: Draft | None = None) -> Draft:
    """The draft after these lines, each of them an answer."""
    draft = draft or Draft()
    for line in lines:
        outcome = take(draft, line)
        assert isinstance(outcome, Answered), (next_question(draft), line, outcome)
        draft = outcome.draft
    return draft


def last(lines: Sequence[str], draft: Draft | None = None) -> Outcome:
    """What the last of these lines leads to."""
    return take(said(lines[:-1], draft), lines[-1])
