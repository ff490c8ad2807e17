"""What a session can be asked to take in: a gauge's outcome, or a word of the operator."""

from collections.abc import Callable
from typing import Literal, TypeAlias

import msgspec

from daq.errors import Refused
from daq.record.events import GaugeSource
from drivers.reading import Reading, Reject

Why: TypeAlias = Literal["sent", "pressed", "rested", "typed", "unasked"]
"""Why a reading came. sent: by the gauge's own button, as far as anybody knows. pressed: a press
here triggered it. rested: it came to rest. typed: a gauge, or a person, types it into
this program's own window. unasked: a gauge that is asked, by somebody who can press, sent it
without being asked.
"""


class TakeReading(msgspec.Struct, frozen=True):
    """A reading came, and why."""

    reading: Reading
    why: Why = "sent"


class SetAside(msgspec.Struct, frozen=True):
    """A reading that cannot count whatever it says, and in words why: `count` in a row, from
    `reading` to `last`, where several are told as one.
    """

    reading: Reading
    why: str
    count: int = 1
    last: Reading | None = None


class TakeReject(msgspec.Struct, frozen=True):
    """Bytes came that are no reading; `count` and `last_raw` where several are told as one."""

    reject: Reject
    count: int = 1
    last_raw: bytes = b""


class Back(msgspec.Struct, frozen=True):
    """Take back the last reading."""


class Retake(msgspec.Struct, frozen=True):
    """Take back what stands at a place and measure it again; `text` as the operator wrote it."""

    text: str


class Skip(msgspec.Struct, frozen=True):
    """Leave out the position that is asked for."""

    reason: str


class Note(msgspec.Struct, frozen=True):
    """Keep a remark."""

    text: str


class Keep(msgspec.Struct, frozen=True):
    """The held reading counts."""


class Drop(msgspec.Struct, frozen=True):
    """The held reading does not count."""

    why: str = "operator"


class CheckNow(msgspec.Struct, frozen=True):
    """Check the gauge on the stack before going on."""


class GaugeZeroed(msgspec.Struct, frozen=True):
    """The gauge was re-zeroed."""


class StopHere(msgspec.Struct, frozen=True):
    """Closing check, then the verdict with what there is."""

    reason: str


class Later(msgspec.Struct, frozen=True):
    """Closing check; the session stays open."""


class Abandon(msgspec.Struct, frozen=True):
    """Close without a closing check."""

    reason: str


class GiveUp(msgspec.Struct, frozen=True):
    """Close as rejected: nobody is at the keyboard to mend what failed."""

    reason: str


class TimePassed(msgspec.Struct, frozen=True):
    """Nothing happened, but a check may have grown too old."""


class LoseLink(msgspec.Struct, frozen=True):
    """The port is gone."""

    reason: str


class FindLink(msgspec.Struct, frozen=True):
    """A port is open again; `source` says what is on it now."""

    source: GaugeSource


class LinkNote(msgspec.Struct, frozen=True):
    """The link met something that is no reading and no bytes."""

    text: str


class HistoryNote(msgspec.Struct, frozen=True):
    """Why a gauge is used though its history says that it is out of control."""

    text: str


Command: TypeAlias = (
    TakeReading
    | SetAside
    | TakeReject
    | Back
    | Retake
    | Skip
    | Note
    | Keep
    | Drop
    | CheckNow
    | GaugeZeroed
    | StopHere
    | Later
    | Abandon
    | GiveUp
    | TimePassed
    | LoseLink
    | FindLink
    | LinkNote
    | HistoryNote
)

MOST_TEXT = 1000

WORDS: dict[str, tuple[str, str]] = {
    "back": ("", "take back the last reading"),
    "retake": ("JOURNAL/STATION/ANGLE[/REPEAT]", "measure a place again"),
    "skip": ("REASON", "leave out the place that is asked for"),
    "note": ("TEXT", "keep a remark"),
    "keep": ("", "the held reading counts"),
    "drop": ("", "the held reading does not count"),
    "check": ("", "check the gauge on the stack now"),
    "zeroed": ("", "the gauge was re-zeroed: begin with a new check"),
    "stop": ("REASON", "closing check, then the verdict with what there is"),
    "later": ("", "closing check; the session stays open"),
    "abandon": ("REASON", "close without a closing check"),
}
"""The operator's words: what follows each, and what it does."""

_WHAT = {"REASON": "a reason", "TEXT": "a text", "JOURNAL/STATION/ANGLE[/REPEAT]": "a place"}
_LIKE = {
    "REASON": "M3 is below",
    "TEXT": "wiped and read again",
    "JOURNAL/STATION/ANGLE[/REPEAT]": "M2 front 45",
}

BY_WORD: dict[str, type[Command]] = {
    "back": Back,
    "retake": Retake,
    "skip": Skip,
    "note": Note,
    "keep": Keep,
    "drop": Drop,
    "check": CheckNow,
    "zeroed": GaugeZeroed,
    "stop": StopHere,
    "later": Later,
    "abandon": Abandon,
}
"""The command of each word; those with an argument take it as their only field."""


def parse_line(line: str) -> Command | None:
    """The command in a line of text; None for an empty line. Raises Refused with the reason."""
    text = line.strip()
    if not text:
        return None
    word, _, rest = text.partition(" ")
    word, rest = word.lower(), rest.strip()
    if word not in WORDS:
        raise Refused(
            "unknown-command", f"unknown word {word[:40]!r}. There are: {', '.join(WORDS)}"
        )
    argument, meaning = WORDS[word]
    if argument and not rest:
        raise Refused(
            "argument-missing",
            f"{word} needs {_WHAT[argument]} behind it, like: {word} {_LIKE[argument]}",
        )
    if rest and not argument:
        raise Refused("argument-not-wanted", f"{word} stands alone: {meaning}")
    if len(rest) > MOST_TEXT:
        raise Refused("too-long", f"at most {MOST_TEXT} characters")
    make: Callable[..., Command] = BY_WORD[word]
    return make(rest) if argument else make()
