"""The buttons of the page: which there are now, what each says, what must follow a word. Pure."""

import msgspec

from daq.board.asked import SEND
from daq.board.board import Board
from daq.lengths import Position
from drivers.printable import shown

MOST_TEXT = 300

LABELS = {
    "keep": "Keep",
    "drop": "Drop",
    "send": "Send",
    "back": "Back",
    "check": "Check now",
    "skip": "Skip",
    "retake": "Retake",
    "note": "Note",
    "later": "Later",
    "stop": "Stop",
    "zeroed": "Zeroed",
    "abandon": "Abandon",
}
"""In the order in which they are shown: the most wanted first."""

HINTS = {
    "keep": "the held reading counts",
    "drop": "it does not count",
    "send": "take a reading",
    "back": "take back the last reading",
    "check": "on the stack",
    "skip": "leave out this place",
    "retake": "measure a place again",
    "note": "keep a remark",
    "later": "closing check, stays open",
    "stop": "closing check, then the answer",
    "zeroed": "the gauge was set to zero",
    "abandon": "close without a check",
}

READY = {
    "skip": ("cannot be reached", "damaged here", "oil hole here"),
    "note": ("wiped and read again", "held by another hand", "warm from the washer"),
    "stop": ("a journal is below its limit", "the part goes back", "no time left today"),
    "abandon": ("wrong part", "wrong plan", "only a trial"),
}
"""Reasons that need no typing."""

LARGE = ("keep", "drop", "send", "back")


class Key(msgspec.Struct, frozen=True):
    """A button. `sure` says what a second press does, empty where one is enough; `opens`: something
    must follow the word, so it opens a form.
    """

    word: str
    label: str
    hint: str
    is_large: bool = False
    opens: bool = False
    sure: str = ""


class Sheet(msgspec.Struct, frozen=True):
    """What must follow a word: a text, for which `ready` are some, or one of `places`, each as it
    is sent and as it is read.
    """

    word: str
    label: str
    hint: str
    ready: tuple[str, ...] = ()
    places: tuple[tuple[str, str], ...] = ()
    sure: str = ""


def keys(board: Board) -> tuple[Key, ...]:
    """The buttons of what is allowed now."""
    allowed = {each.word for each in board.words} | ({SEND} if board.can_send else set())
    if "retake" in allowed and not _measured(board):
        allowed.remove("retake")
    return tuple(
        Key(
            word,
            label,
            HINTS[word] if board.session or word != "stop" else "end without a result",
            is_large=word in LARGE,
            opens=_needs_text(board, word),
            sure="" if _needs_text(board, word) else _sure(board, word),
        )
        for word, label in LABELS.items()
        if word in allowed
    )


def sheets(board: Board) -> dict[str, Sheet]:
    """By word, for those that something must follow."""
    found = {}
    for key in keys(board):
        if key.opens:
            places = _measured(board) if key.word == "retake" else ()
            found[key.word] = Sheet(
                key.word,
                key.label,
                key.hint,
                READY.get(key.word, ()),
                places,
                _sure(board, key.word),
            )
    return found


def _needs_text(board: Board, word: str) -> bool:
    return any(each.word == word and each.argument for each in board.words)


def _sure(board: Board, word: str) -> str:
    """What cannot be undone, so that it is pressed twice."""
    match word:
        case "stop" if board.stop_rejects:
            return f"rejects the session: {shown(board.stop_rejects, MOST_TEXT)}"
        case "stop" if not board.session:
            return "ends the check without a result"
        case "stop":
            return "closing check, then the answer with what there is"
        case "abandon" if board.abandon_loses:
            return f"closes without a check: {shown(board.abandon_loses, MOST_TEXT)}"
        case "abandon":
            return "closes the session without a check"
        case "later":
            return "closing check; the session stays open"
        case "zeroed":
            return "a new check begins"
        case _:
            return ""


def _measured(board: Board) -> tuple[tuple[str, str], ...]:
    """The places that can be measured again, as they are sent and as they are read."""
    found = []
    for row in board.rows:
        for place in row.places:
            at = Position(row.result.journal, place.station, place.angle_deg, place.repeat)
            if place.sent:
                read = f"{at.spoken}: {place.sent} {place.unit}"
                found.append((str(at), shown(read, MOST_TEXT)))
    return tuple(found)
