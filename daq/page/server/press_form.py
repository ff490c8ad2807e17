"""What a press sends: the fields `word`, `text` and `step` of an urlencoded form. Pure."""

from urllib.parse import parse_qsl

import msgspec

from daq.board.asked import SEND
from daq.rules.commands import MOST_TEXT, WORDS

MOST_BYTES = 12 * MOST_TEXT + 256
"""A character may be four bytes, each written as %XX; the rest is for the other fields."""

FORM_TYPE = "application/x-www-form-urlencoded"
_FIELDS = ("word", "text", "step")


class Pressed(msgspec.Struct, frozen=True):
    """A button that was pressed, and the step of the board that it was drawn for."""

    word: str
    text: str
    step: int


class BadForm(Exception):
    """What was sent is no press; with the status to answer."""

    def __init__(self, words: str, status: int = 400) -> None:
        self.words = words
        self.status = status
        super().__init__(words)


def pressed(content_type: str, body: bytes) -> Pressed:
    """Raises BadForm. Source: The WHATWG URL Standard, "urlencoded parsing"."""
    if len(body) > MOST_BYTES:
        raise BadForm("That is too long.", 413)
    if content_type.partition(";")[0].strip().lower() != FORM_TYPE:
        raise BadForm("That is no form of this page.")
    fields = _fields(body)
    word, text, step = (fields.get(name, "") for name in _FIELDS)
    if word not in WORDS and word != SEND:
        raise BadForm("There is no such word.")
    if len(text) > MOST_TEXT:
        raise BadForm(f"That is too long: at most {MOST_TEXT} characters.", 413)
    if not (step.isascii() and step.isdigit() and len(step) < 10):
        raise BadForm("The step is no number.")
    return Pressed(word, " ".join(text.split()), int(step))


def _fields(body: bytes) -> dict[str, str]:
    try:
        pairs = parse_qsl(
            body.decode("ascii"),
            keep_blank_values=True,
            errors="strict",
            max_num_fields=8,
            separator="&",
        )
    except ValueError as error:
        raise BadForm("That is no form of this page.") from error
    fields = dict(pairs)
    if len(fields) != len(pairs) or any(name not in _FIELDS for name in fields):
        raise BadForm("That is no form of this page.")
    return fields
