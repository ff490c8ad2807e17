"""Every message of the program stands in messages.txt with an example, and is fit to be read.

A message that is new or changed fails here until somebody has looked at it: then
`.venv/bin/python -m tests.house.messages` writes the list anew.
"""

import re

import pytest

from tests.house import messages
from tests.house.messages import Message

# Words that stay in tables, schemas and the contributors' guide. Keys and file names are no words.
NOT_ON_SCREEN = re.compile(
    r"\b(stints?|standing|tainted|ledgers?|guarded|coverage|limits kept|settled?|settles|frames?)\b"
    r"(?!\.\w)",
    re.IGNORECASE,
)
# File, word of the message: why it may say it.
EARLIER = "stored by earlier versions, and computed again as they did"
STORED = "stored at the close and computed again by verify; the screen says it in its own words"
ALLOWED = {
    ("daq/disposition/next_step.py", "settle"): STORED,
    ("daq/evaluation/error_notes.py", "stint"): STORED,
    ("daq/evaluation/journal_form.py", "stint"): "a line of the budget's table",
    ("daq/evaluation/journals.py", "guarded"): STORED,
    ("daq/evaluation/remedies.py", "settle"): STORED,
    ("daq/evaluation/verdict.py", "standing"): STORED,
    ("daq/evaluation/verdict.py", "stint"): STORED,
    ("daq/evaluation/earlier/diameter.py", "stint"): EARLIER,
    ("daq/evaluation/earlier/inputs.py", "stint"): EARLIER,
    ("daq/evaluation/earlier/journals.py", "guarded"): EARLIER,
    ("daq/evaluation/earlier/remedies.py", "settle"): EARLIER,
    ("daq/evaluation/earlier/remedies.py", "stint"): EARLIER,
    ("daq/metrology/uncertainty/budget.py", "coverage"): "only a mistake in the program raises it",
    ("daq/metrology/uncertainty/table.py", "coverage"): "a term of the table",
    ("daq/record/shape.py", "stint"): "names a field of the record",
}
PAGE = "daq/cli/views/worksheet.py"  # to print, and read at leisure
MOST_WORDS = 60
BAD_ENDS = re.compile(r";$|(?<!\.)\.\.(?![./])|\s[,;](?!\w)|[,;:]\.(?![\w./])")
READERS_OWN_WORDS = re.compile(
    r"\bExpected `?(str|int|float|bool|array|object)\b|\bNone\b(?=[,:;)]|$)"
)


@pytest.fixture(scope="module")
def found() -> list[Message]:
    return messages.messages()


def test_messages_are_those_that_were_read(found: list[Message]) -> None:
    """Else: python -m tests.house.messages, and read what changed in messages.txt."""
    assert messages.LISTING.read_text(encoding="utf-8") == messages.listing(found)


def test_no_message_has_words_that_a_machinist_does_not_know(found: list[Message]) -> None:
    said = [
        (message.file, word[0].lower(), message.template)
        for message in found
        for word in NOT_ON_SCREEN.finditer(message.said)
    ]
    assert [one for one in said if one[:2] not in ALLOWED] == []


def test_every_word_that_is_let_through_is_still_said(found: list[Message]) -> None:
    said = {
        (message.file, word[0].lower())
        for message in found
        for word in NOT_ON_SCREEN.finditer(message.said)
    }
    assert set(ALLOWED) <= {(file, word.removesuffix("s")) for file, word in said}


def test_no_message_is_long(found: list[Message]) -> None:
    long = [
        one.example for one in found if len(one.example.split()) > MOST_WORDS and one.file != PAGE
    ]
    assert long == []


def test_every_message_ends_as_a_sentence_or_a_piece_of_one_does(found: list[Message]) -> None:
    assert [one.example for one in found if BAD_ENDS.search(one.example)] == []


def test_no_message_speaks_of_types_of_the_language(found: list[Message]) -> None:
    assert [one.example for one in found if READERS_OWN_WORDS.search(one.example)] == []


def test_brackets_and_quotes_of_every_message_are_closed(found: list[Message]) -> None:
    marks = ("`", '"')
    unequal = [one for one in found for mark in marks if one.template.count(mark) % 2]
    open_ones = [
        one
        for one in found
        if one.said.count("(") != one.said.count(")") and "suffix" not in one.template
    ]
    assert [one.template for one in (*unequal, *open_ones)] == []
