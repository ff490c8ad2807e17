"""What is spoken of a step: what just happened, then what comes. Pure.

The words lie in `texts`, one file a language.
"""

import re
import unicodedata
from functools import lru_cache
from importlib.resources import files
from string import Formatter

import msgspec

from daq.board.board import Board, CheckAsked, LastValue, PlaceAsked
from daq.board.cue import (
    BELOW,
    CHECK_FAILED,
    CHECK_PASSED,
    JOURNAL_DONE,
    KEPT,
    LOOK,
    become_below,
    become_done,
)
from drivers.toml_file import WrongKey, converted, table_in

ENGLISH = "en"
SCHEMA = 1

_LED_ON = (KEPT, JOURNAL_DONE, BELOW)
"""Cues of a reading that counted."""

_NO_LANGUAGE = ("", "c", "posix")

MOST_SPOKEN = 40
"""So many characters of a name are spoken, and of a value. Chosen by us: three seconds."""


class SpokenTexts(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The texts of one language; every key is required."""

    schema: int
    zero: str = msgspec.field(name="0")
    one: str = msgspec.field(name="1")
    two: str = msgspec.field(name="2")
    three: str = msgspec.field(name="3")
    four: str = msgspec.field(name="4")
    five: str = msgspec.field(name="5")
    six: str = msgspec.field(name="6")
    seven: str = msgspec.field(name="7")
    eight: str = msgspec.field(name="8")
    nine: str = msgspec.field(name="9")
    point: str
    minus: str
    value: str
    journal_done: str
    below: str
    check_passed: str
    check_failed: str
    in_doubt: str
    in_doubt_press: str
    not_counted: str
    look: str
    not_done: str
    gauge_lost: str
    gauge_back: str
    take_again: str
    strip: str
    place: str
    same_journal: str
    same_station: str
    repeat: str
    stack: str
    stack_again: str
    accepted: str
    rejected: str
    abandoned: str
    stays_open: str

    @property
    def characters(self) -> dict[str, str]:
        """The word for each character of a value."""
        digits = (self.zero, self.one, self.two, self.three, self.four)
        more = (self.five, self.six, self.seven, self.eight, self.nine)
        return {**dict(zip("0123456789", digits + more, strict=True)), ".": self.point} | {
            "-": self.minus
        }


FILLED_IN = {
    "value": {"value"},
    "journal_done": {"journal"},
    "below": {"journal"},
    "in_doubt": {"value"},
    "in_doubt_press": {"value"},
    "take_again": {"count"},
    "place": {"journal", "station", "angle"},
    "same_journal": {"station", "angle"},
    "same_station": {"angle"},
    "repeat": {"repeat"},
    "stack": {"size"},
}
"""What may be filled in, by key; nothing in the others."""


def texts_in(text: str) -> SpokenTexts:
    """The texts of one language's file. Raises WrongKey with the key and the reason."""
    texts = converted(table_in(text, SCHEMA), SpokenTexts)
    for key, value in msgspec.to_builtins(texts).items():
        if key == "schema":
            continue
        try:
            named = {name for _, name, _, _ in Formatter().parse(value) if name is not None}
        except ValueError as error:
            raise WrongKey(key, f"its braces do not fit: {error}") from error
        unknown = named - FILLED_IN.get(key, set())
        if unknown:
            raise WrongKey(key, f"nothing is filled in for {{{min(unknown)}}} here")
    return texts


def languages() -> tuple[str, ...]:
    """The languages that there are texts for, by their codes."""
    found = (files("daq.sounds") / "texts").iterdir()
    return tuple(sorted(f.name.removesuffix(".toml") for f in found if f.name.endswith(".toml")))


def language_for(wanted: str) -> tuple[str, str]:
    """The language to speak where `wanted` is asked for ("de", or "de_DE.UTF-8" as a system writes
    it), and words to say if it is another one; they are empty else.
    """
    code = re.split(r"[._@-]", wanted, maxsplit=1)[0].lower()
    if code in languages():
        return code, ""
    if code in _NO_LANGUAGE:
        return ENGLISH, ""
    return ENGLISH, f"Nothing can be spoken in {code[:20]!r} yet, so English is spoken."


@lru_cache
def _texts(language: str) -> SpokenTexts:
    return texts_in((files("daq.sounds") / "texts" / f"{language}.toml").read_text("utf-8"))


def spoken(before: Board | None, board: Board, language: str = ENGLISH) -> str:
    """What to speak once `board` stands; `before` is the one before, None at the beginning. Empty
    where nothing changed. `language` is one of `languages`.
    """
    if before is not None and before == board:
        return ""
    say = _texts(language)
    happened = _happened(before, board, say)
    said = [*happened, *_comes(before, board, say, is_told=bool(happened))]
    return " ".join(filter(None, said))


def not_done(language: str = ENGLISH) -> str:
    """What to speak where a word was refused."""
    return _texts(language).not_done


def _happened(before: Board | None, board: Board, say: SpokenTexts) -> list[str]:
    if before is None:
        return []
    said = _of_cue(before, board, say)
    if len(board.again) > len(before.again):
        said.append(say.take_again.format(count=len(board.again)))
    return said


def _of_cue(before: Board, board: Board, say: SpokenTexts) -> list[str]:
    if board.cue in _LED_ON:
        return [
            _value(board.last, say),
            *(_of(say.journal_done, name) for name in _done(before, board)),
            *(_of(say.below, name) for name in become_below(before, board)),
        ]
    checked = {CHECK_PASSED: say.check_passed, CHECK_FAILED: say.check_failed}
    if board.cue in checked:
        return [checked[board.cue]]
    if before.link.is_lost != board.link.is_lost:
        return [say.gauge_lost if board.link.is_lost else say.gauge_back]
    return [_look(before, board, say)] if board.cue == LOOK else []


def _done(before: Board, board: Board) -> tuple[str, ...]:
    """Where one is below, that it is done as well is no matter."""
    return () if board.cue == BELOW else become_done(before, board)


def _look(before: Board, board: Board, say: SpokenTexts) -> str:
    if _is_asking(board):
        text = say.in_doubt_press if board.press_answers else say.in_doubt
        return text.format(value=digits(board.last.value, say) if board.last is not None else "")
    return say.not_counted if _target(before) == _target(board) else say.look


def _value(last: LastValue | None, say: SpokenTexts) -> str:
    return "" if last is None else say.value.format(value=digits(last.value, say))


def _of(text: str, journal: str) -> str:
    return text.format(journal=name_spoken(journal))


def _comes(before: Board | None, board: Board, say: SpokenTexts, *, is_told: bool) -> list[str]:
    """What is asked for, where that is new or something was told before it."""
    if board.link.is_lost or _is_asking(board):
        return []
    if board.status in ("closed", "over"):
        return [] if before is not None and before.status == board.status else [_end(board, say)]
    if before is not None and not is_told and _target(before) == _target(board):
        return []
    if board.check is not None:
        return [_strip(before, board, say), _stack(before, board.check, say)]
    if board.place is not None:
        return [_strip(before, board, say), *_place(before, board, board.place, say)]
    return []


def _end(board: Board, say: SpokenTexts) -> str:
    if board.status == "over":
        return say.stays_open
    ends = {"accepted": say.accepted, "rejected": say.rejected, "abandoned": say.abandoned}
    return ends.get(board.verdict, "")


def _strip(before: Board | None, board: Board, say: SpokenTexts) -> str:
    is_new = board.is_strip_due and (before is None or not before.is_strip_due)
    return say.strip if is_new else ""


def _stack(before: Board | None, check: CheckAsked, say: SpokenTexts) -> str:
    was = None if before is None or before.link.is_lost else before.check
    if was is not None and (was.phase, was.stack) == (check.phase, check.stack):
        return say.stack_again
    return say.stack.format(size=digits(check.stack.partition(" ")[0], say))


def _place(before: Board | None, board: Board, place: PlaceAsked, say: SpokenTexts) -> list[str]:
    """Where a reading led on to it, from the first of journal, station and angle on that is another
    than before; else whole.
    """
    was = before.place if before is not None else None
    said = []
    if place.who and (was is None or was.who != place.who):
        said.append(f"{name_spoken(place.who)}.")
    text = say.place
    if was is not None and was.journal == place.journal and board.cue in _LED_ON:
        text = say.same_station if was.station == place.station else say.same_journal
    said.append(
        text.format(
            journal=name_spoken(place.journal),
            station=name_spoken(place.station),
            angle=place.angle_deg,
        )
    )
    if place.repeat > 1 and not place.who:
        said.append(say.repeat.format(repeat=place.repeat))
    return said


def _is_asking(board: Board) -> bool:
    return board.status == "asking"


def _target(board: Board) -> object:
    """What is asked for."""
    return board.status, board.place, board.check, board.link.is_lost


def digits(value: str, say: SpokenTexts) -> str:
    """A value digit by digit; what is no part of a number is left out."""
    words = say.characters
    return " ".join(words[char] for char in value[:MOST_SPOKEN] if char in words)


def name_spoken(name: str) -> str:
    """A name as it is spoken: letters and digits apart, and nothing else, so that no mark in it can
    be a command to what speaks.
    """
    kinds = [(_kind(char), char) for char in name[:MOST_SPOKEN]]
    said, last = "", ""
    for kind, char in kinds:
        if kind != last and said and not said.endswith(" "):
            said += " "
        said += char if kind else ""
        last = kind
    return said.strip()


def _kind(char: str) -> str:
    """L for a letter with its marks, N for a digit, empty for all else."""
    kind = unicodedata.category(char)[0]
    return {"L": "L", "M": "L", "N": "N"}.get(kind, "")
