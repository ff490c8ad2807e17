"""All frames laid over each other along one place of the size: what stands left and right. Pure."""

import re
from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from drivers.inference.places import Shape, Span, spans
from drivers.inference.said import UNIT_WORDS, Shown

SignPlace = Literal["left", "right", "none"]

_PART = re.compile(r"((?:(?<![0-9A-Za-z])[+-](?=[0-9]))?[0-9A-Za-z]+)|( +)|(.)", re.DOTALL)
_LEFT_SIGN = re.compile(r"([+-])( *)$")


class Part(msgspec.Struct, frozen=True):
    """A word of letters and digits, or one other character, with the spaces before it."""

    text: str
    gap: int

    @property
    def is_word(self) -> bool:
        """Letters and digits, not a single other character."""
        return self.text[-1].isalnum()


class FrameRow(msgspec.Struct, frozen=True):
    """One frame taken apart. `pad` spaces stand before sign and number, `gap` between the two;
    `after` is the sign behind the number ("" none); `unit` the unit word to its right, `unit_at`
    so many parts behind the number; `rest` spaces end the frame.
    """

    span: Span
    digits: str
    left: tuple[Part, ...]
    pad: int
    sign: str
    gap: int
    after: str
    right: tuple[Part, ...]
    unit: Part | None
    unit_at: int
    rest: int

    @property
    def form(self) -> tuple[str, ...]:
        """What must be the same in every frame."""
        left = tuple("a" if part.is_word else part.text for part in self.left)
        right = tuple("a" if part.is_word else part.text for part in self.right)
        return (*left, "<size>", *right)

    def is_negative(self) -> bool:
        """By its own sign."""
        return "-" in (self.sign, self.after)


def align(
    texts: Sequence[str], shape: Shape, anchor: int, place: Span, sign: SignPlace
) -> list[FrameRow] | int:
    """A row for each text like that of text `anchor`, or the number of the first that fits none."""
    model = _row(texts[anchor], place, sign)
    rows: list[FrameRow] = []
    for number, text in enumerate(texts):
        if number == anchor:
            rows.append(model)
            continue
        like = [
            row for span in spans(text, shape) if (row := _row(text, span, sign)).form == model.form
        ]
        like = [
            row
            for row in like
            if row.unit is None or model.unit is None or row.unit_at == model.unit_at
        ]
        if len(like) != 1:
            return number
        rows.append(like[0])
    return rows


def sign_places(rows_left: Sequence[FrameRow] | int) -> tuple[SignPlace, ...]:
    """In which order to look for a sign, given the rows that a sign before the number makes."""
    has_left = not isinstance(rows_left, int) and any(row.sign for row in rows_left)
    return ("left", "right", "none") if has_left else ("right", "left", "none")


def signs_fit(rows: Sequence[FrameRow], shown: Mapping[int, Shown], sign: SignPlace) -> bool:
    """The signs are those of the displays that were typed; a zero may have either."""
    if sign == "right" and not any(row.after in ("+", "-") for row in rows):
        return False
    return all(
        not size.value or rows[press].is_negative() == (size.value < 0)
        for press, size in shown.items()
    )


def _row(text: str, span: Span, sign: SignPlace) -> FrameRow:
    before, behind = text[: span.begin], text[span.end :]
    sent, gap, after = "", 0, ""
    if sign == "left":
        found = _LEFT_SIGN.search(before)
        if found is not None:
            sent, gap = found[1], len(found[2])
            before = before[: found.start()]
    elif sign == "right" and behind[:1] in ("+", "-", " "):
        after, behind = behind[:1], behind[1:]
    left, pad = _parts(before)
    right, rest = _parts(behind)
    at = next((i for i, part in enumerate(right) if part.text.lower() in UNIT_WORDS), None)
    unit = None
    if at is not None:
        unit = right[at]
        right = (*right[:at], *right[at + 1 :])
    return FrameRow(
        span=span,
        digits=text[span.begin : span.end],
        left=left,
        pad=pad,
        sign=sent,
        gap=gap,
        after=after,
        right=right,
        unit=unit,
        unit_at=0 if at is None else at,
        rest=rest,
    )


def _parts(text: str) -> tuple[tuple[Part, ...], int]:
    parts: list[Part] = []
    gap = 0
    for found in _PART.finditer(text):
        if found[2]:
            gap = len(found[2])
        else:
            parts.append(Part(found.group(), gap))
            gap = 0
    return tuple(parts), gap
