"""Is there a check character, and of which kind? Pure."""

from collections.abc import Callable, Sequence
from itertools import product

from drivers.dialects.checksums import CHECKSUMS
from drivers.inference.marks import PressedFrame
from drivers.profile.profile import CheckCharacter

_HEX = frozenset("0123456789abcdefABCDEF")

Sum = Callable[[bytes], int]


def raw_check(pieces: Sequence[PressedFrame], *, is_masked: bool) -> CheckCharacter | None:
    """The check whose byte stands behind the end mark in every frame; None if none fits.

    Two different bytes at least must fit, so that chance fits once in some 16 000 captures.
    """
    if len({piece.tail for piece in pieces}) < 2:
        return None
    for kind, over in product(CHECKSUMS, ("payload", "payload+end")):
        fits = all(
            (CHECKSUMS[kind](piece.text + (piece.end if over == "payload+end" else b"")))
            & (0x7F if is_masked else 0xFF)
            == piece.tail[0]
            for piece in pieces
        )
        if fits:
            return CheckCharacter(kind=kind, form="raw", over=over)  # type: ignore[arg-type] # words of the table
    return None


def hex_check(texts: Sequence[str]) -> CheckCharacter | None:
    """The check written as two hex digits at the end of every text; None if none fits.

    Three different texts with two different checks at least must fit.
    """
    if len(set(texts)) < 3 or any(len(text) < 4 or not set(text[-2:]) <= _HEX for text in texts):
        return None
    if len({text[-2:].upper() for text in texts}) < 2:
        return None
    before = {text[-3] for text in texts}
    mark = before.pop() if len(before) == 1 else ""
    seps = ("",) if not mark or mark.isalnum() else (mark, "")
    for kind, sep in product(CHECKSUMS, seps):
        if all(_sum(CHECKSUMS[kind], text, sep) == int(text[-2:], 16) for text in texts):
            return CheckCharacter(kind=kind, form="hex2", sep=sep)  # type: ignore[arg-type] # as above
    return None


def _sum(kind: Sum, text: str, sep: str) -> int:
    return kind(text[: len(text) - 2 - len(sep)].encode("ascii"))


def without_check(text: str, check: CheckCharacter | None) -> str:
    """The text before its hex check; all of it where there is none."""
    if check is None or check.form == "raw":
        return text
    return text[: len(text) - 2 - len(check.sep)]
