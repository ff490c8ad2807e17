"""Options as answers: what they name, what is left to the brackets, what is missing."""

from pathlib import Path

import pytest

from daq.cli.plan_options import answered, completed
from daq.errors import UsageError
from daq.plan.drafting.draft import Draft


def test_options_answer_what_they_name_and_what_is_left_takes_the_brackets(tmp_path: Path) -> None:
    given = {"part": "x", "mains": "2", "rods": "0", "mains limits": "59.97 59.99"}
    draft = completed(answered(Draft(), given, tmp_path), tmp_path)
    assert draft.groups[0].stack == "59.97 mm"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({}, r'--part "four-cylinder pump, crankshaft" is missing'),
        ({"part": "x"}, "--mains 5 is missing"),
        ({"part": "x", "mains": "2", "rods": "0"}, "--limits mains=.* is missing"),
        ({"cams limits": "1 2"}, "there is no 'cams limits' in this plan"),
        ({"mains": "5.5"}, "no number of journals"),
    ],
)
def test_a_missing_or_wrong_option_is_named(
    given: dict[str, str], words: str, tmp_path: Path
) -> None:
    with pytest.raises(UsageError, match=words):
        completed(answered(Draft(), given, tmp_path), tmp_path)


def test_a_stack_may_be_said_without_any_blocks(tmp_path: Path) -> None:
    given = {"part": "x", "mains": "2", "rods": "0", "mains limits": "59.97 59.99"}
    given |= {"blocks": "none", "mains stack": "59.98 mm"}
    draft = completed(answered(Draft(), given, tmp_path), tmp_path)
    assert draft.groups[0].stack == "59.98 mm"
