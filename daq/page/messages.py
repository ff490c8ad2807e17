"""What the measuring process and the page's server say to each other: a line of JSON each."""

from typing import TypeAlias

import msgspec

from daq.acquisition.inputs import PressOutcome
from daq.board.board import Board
from daq.pictures.layout import CrankLayout

LONGEST_LINE = 65_536
"""Of what the server says: it is the one that strangers talk to."""


class Hello(msgspec.Struct, frozen=True, tag="hello"):
    """The first line: the secrets of both links, the one Host that is answered, the listening
    socket as a descriptor or (Windows) as shared with this process, whether the page speaks from
    the start, and what is drawn (None for a check outside any session).
    """

    look: str
    press: str
    netloc: str
    descriptor: int = -1
    share: bytes = b""
    is_speaking: bool = False
    layout: CrankLayout | None = None


class PageShown(msgspec.Struct, frozen=True, tag="shown"):
    """The board, with the sounds and news of all since the last one that was sent."""

    board: Board
    cues: tuple[str, ...] = ()
    news: tuple[str, ...] = ()


class PageTold(msgspec.Struct, frozen=True, tag="told"):
    """One thing to say that is not of the board: why something was refused, a hint."""

    text: str


class PressAnswer(msgspec.Struct, frozen=True, tag="answer"):
    """What became of a press."""

    id: int
    outcome: PressOutcome
    words: str = ""


class PageOver(msgspec.Struct, frozen=True, tag="over"):
    """The session is over: the last board, if another one, and the answer in sentences."""

    board: Board | None = None
    said: tuple[str, ...] = ()


class PageReady(msgspec.Struct, frozen=True, tag="ready"):
    """Pages are answered from now on."""


class PagePress(msgspec.Struct, frozen=True, tag="press"):
    """A button, and the step that it was drawn for."""

    id: int
    word: str
    text: str
    step: int


class PageFailed(msgspec.Struct, frozen=True, tag="failed"):
    """The server cannot go on."""

    reason: str


ToServer: TypeAlias = Hello | PageShown | PageTold | PressAnswer | PageOver
FromServer: TypeAlias = PageReady | PagePress | PageFailed

_to_server: msgspec.json.Decoder[ToServer] = msgspec.json.Decoder(ToServer)
_from_server: msgspec.json.Decoder[FromServer] = msgspec.json.Decoder(FromServer)


def line_of(message: ToServer | FromServer) -> bytes:
    """A message as its line."""
    return msgspec.json.encode(message) + b"\n"


def to_server(line: bytes) -> ToServer:
    """Raises msgspec.MsgspecError for what is no such line."""
    found: ToServer = _to_server.decode(line)
    return found


def from_server(line: bytes) -> FromServer:
    """Raises msgspec.MsgspecError for what is no such line."""
    found: FromServer = _from_server.decode(line)
    return found
