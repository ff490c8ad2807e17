"""The kinds of fault there are, and what each does to a piece of bytes that it strikes. Pure."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

BYTE_S = 10 / 9600
"""How long one byte takes at 9600 baud: a start bit, eight bits and a stop bit."""

PACKET_S = 0.016
PACKET_BYTES = 62
"""USB adapters hold what comes back so long, or until a packet is full. Source: common practice."""

STALL_S = 1.0
"""Longer than any gauge pauses within a frame. Chosen by us."""

AWAY_S = 1.0
MOST_NULS = 200


@dataclass(frozen=True, slots=True)
class Piece:
    """These bytes arrive together at this many seconds."""

    at_s: float
    data: bytes


@dataclass(frozen=True, slots=True)
class Gone:
    """The cable is pulled at this many seconds."""

    at_s: float


@dataclass(frozen=True, slots=True)
class Back:
    """It is plugged in again at this many seconds; elsewhere means under another name."""

    at_s: float
    is_elsewhere: bool = False


Event = Piece | Gone | Back
Happens = Callable[[Piece, random.Random], list[Event]]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of fault: what it does to a piece that it strikes, and how often it strikes.

    rate is the chance, 0 to 1, that a piece is struck, if nothing else is said.
    """

    title: str
    happens: Happens
    rate: float


# Each of these takes a piece of one byte or more that is struck, and gives what comes of it.


def _split(piece: Piece, dice: random.Random) -> list[Event]:
    """Byte by byte, each when it would come on a slow line."""
    return [
        Piece(piece.at_s + place * BYTE_S, piece.data[place : place + 1])
        for place in range(len(piece.data))
    ]


def _cut(piece: Piece, dice: random.Random) -> list[Event]:
    """In two, somewhere."""
    place = dice.randint(0, len(piece.data))
    return [
        Piece(piece.at_s, piece.data[:place]),
        Piece(piece.at_s + place * BYTE_S, piece.data[place:]),
    ]


def join(piece: Piece, dice: random.Random) -> list[Event]:
    """Held back until the next piece comes, and sent with it."""
    return [piece]


def _packets(piece: Piece, dice: random.Random) -> list[Event]:
    """As an adapter hands it over: what came in the last 16 ms, or a full packet."""
    ends: dict[float, bytes] = {}
    for place, byte in enumerate(piece.data):
        came_s = piece.at_s + place * BYTE_S
        tick_s = (math.floor(came_s / PACKET_S) + 1) * PACKET_S
        ends[tick_s] = ends.get(tick_s, b"") + bytes([byte])
    return [
        Piece(tick_s, data[at : at + PACKET_BYTES])
        for tick_s, data in ends.items()
        for at in range(0, len(data), PACKET_BYTES)
    ]


def _drop(piece: Piece, dice: random.Random) -> list[Event]:
    """One byte is lost."""
    place = dice.randrange(len(piece.data))
    return [Piece(piece.at_s, piece.data[:place] + piece.data[place + 1 :])]


def _double(piece: Piece, dice: random.Random) -> list[Event]:
    """One byte comes twice."""
    place = dice.randrange(len(piece.data))
    return [Piece(piece.at_s, piece.data[: place + 1] + piece.data[place:])]


def _flip(piece: Piece, dice: random.Random) -> list[Event]:
    """One bit is turned round."""
    place, bit = dice.randrange(len(piece.data)), dice.randrange(8)
    turned = bytearray(piece.data)
    turned[place] ^= 1 << bit
    return [Piece(piece.at_s, bytes(turned))]


def _stall(piece: Piece, dice: random.Random) -> list[Event]:
    """A pause somewhere within."""
    place = dice.randint(0, len(piece.data) - 1)
    return [
        Piece(piece.at_s, piece.data[:place]),
        Piece(piece.at_s + STALL_S, piece.data[place:]),
    ]


def _nuls(piece: Piece, dice: random.Random) -> list[Event]:
    """A storm of NUL bytes in front of it, as from a line held low."""
    count = dice.randint(1, MOST_NULS)
    return [Piece(piece.at_s, bytes(count)), Piece(piece.at_s + count * BYTE_S, piece.data)]


def _unplug(piece: Piece, dice: random.Random) -> list[Event]:
    """The cable is pulled within it, and stays out."""
    place = dice.randint(0, len(piece.data) - 1)
    return [Piece(piece.at_s, piece.data[:place]), Gone(piece.at_s + place * BYTE_S)]


def _return(piece: Piece, dice: random.Random) -> list[Event]:
    """The cable is pulled within it, and is back a second later."""
    begun = _unplug(piece, dice)
    return [*begun, Back(begun[-1].at_s + AWAY_S)]


def _elsewhere(piece: Piece, dice: random.Random) -> list[Event]:
    """The cable is pulled within it, and a second later it is back under another name."""
    begun = _unplug(piece, dice)
    return [*begun, Back(begun[-1].at_s + AWAY_S, is_elsewhere=True)]


FAULTS: dict[str, Kind] = {
    "split": Kind("byte by byte, as on a slow line", _split, 1.0),
    "cut": Kind("in two pieces", _cut, 1.0),
    "join": Kind("together with the next frame", join, 0.5),
    "packets": Kind("in packets every 16 ms, as from a USB adapter", _packets, 1.0),
    "drop": Kind("a byte is lost", _drop, 0.1),
    "double": Kind("a byte comes twice", _double, 0.1),
    "flip": Kind("a bit is turned round", _flip, 0.1),
    "stall": Kind("a pause of a second within the frame", _stall, 0.1),
    "nuls": Kind("up to 200 NUL bytes before the frame", _nuls, 0.1),
    "unplug": Kind("the cable is pulled within the frame", _unplug, 0.02),
    "return": Kind("as unplug, and back after a second", _return, 0.02),
    "elsewhere": Kind(
        "as return, under another name (--link PATH-2, -3 and so on)", _elsewhere, 0.02
    ),
}
"""Every kind of fault by name."""
