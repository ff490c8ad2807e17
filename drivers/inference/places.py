"""Where in a frame's text the size may stand, given what the display showed. Pure."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Literal

import msgspec

from drivers.inference.said import Shown

PlaceKind = Literal["decimal", "int", "fraction", "dms", "columns"]
Style = Literal["fixed", "exp", "loose", "int", "fraction", "dms"]

MOST_POWER = 40


class Shape(msgspec.Struct, frozen=True):
    """One reading of where the size stands and how it is written.

    `sep` is the decimal separator, or what parts degrees, minutes and seconds. kind `columns`: the
    size is text[begin:end] in frames that are all equally long, glued to other digits.
    """

    kind: PlaceKind
    sep: str = ""
    begin: int = 0
    end: int = 0


class Span(msgspec.Struct, frozen=True):
    """A number in a text, without its sign: `value` as written, an integer before any point is
    implied; `decimals` behind the written point.
    """

    begin: int
    end: int
    value: Decimal
    decimals: int
    style: Style


class NumberPlace(msgspec.Struct, frozen=True):
    """A shape, the span that it has in the typed frame, and the decimals it implies (kind int)."""

    shape: Shape
    span: Span
    implied: int = 0


def spans(text: str, shape: Shape) -> Iterator[Span]:
    """Every number of this shape in `text`."""
    match shape.kind:
        case "decimal":
            yield from _decimals(text, shape.sep)
        case "int":
            for found in re.finditer(r"[0-9]+", text):
                yield _int(found.start(), found.end(), found.group())
        case "fraction":
            for found in re.finditer(
                r"(?<![0-9/])(?:(?:([0-9]+) )?([0-9]+)/([0-9]+)|[0-9]+)(?![0-9/])", text
            ):
                span = _fraction(found)
                if span is not None:
                    yield span
        case "dms":
            sep = re.escape(shape.sep)
            for found in re.finditer(
                rf"(?<![0-9])([0-9]+){sep}([0-9]+){sep}([0-9]+)(?![0-9])", text
            ):
                degrees, minutes, seconds = map(int, found.groups())
                total = Decimal((degrees * 60 + minutes) * 60 + seconds)
                yield Span(found.start(), found.end(), total, 0, "dms")
        case "columns":
            yield from _columns(text, shape)


def _columns(text: str, shape: Shape) -> Iterator[Span]:
    cell = text[shape.begin : shape.end]
    if re.fullmatch(r"[0-9]+", cell):
        yield _int(shape.begin, shape.end, cell)
    elif shape.sep and re.fullmatch(rf"[0-9]+{re.escape(shape.sep)}[0-9]+", cell):
        whole, _, part = cell.partition(shape.sep)
        value = Decimal(int(whole + part)).scaleb(-len(part))
        yield Span(shape.begin, shape.end, value, len(part), "fixed")


def _int(begin: int, end: int, digits: str) -> Span:
    return Span(begin, end, Decimal(digits), 0, "int")


def _decimals(text: str, sep: str) -> Iterator[Span]:
    s = re.escape(sep)
    body = rf"(?:([0-9]+)(?:{s}([0-9]*))?|{s}([0-9]+))"
    for pattern in (
        rf"(?<![0-9])(?=({body}(?![0-9])))",
        rf"(?<![0-9])(?=({body}[eE]([+-]?[0-9]{{1,2}})(?![0-9])))",
    ):
        for found in re.finditer(pattern, text):
            groups = found.groups()
            whole, part = groups[1] or "", groups[2] if groups[2] is not None else groups[3]
            power = int(groups[4]) if len(groups) > 4 else 0
            decimals = len(part or "") - power
            value = Decimal(int(whole + (part or ""))).scaleb(-decimals)
            style: Style = "loose"
            if len(groups) > 4:
                if whole and part and groups[4][0] in "+-":
                    style = "exp"
            elif whole and part:
                style = "fixed"
            elif part is None:
                style = "int"
            yield Span(found.start(), found.start() + len(groups[0]), value, decimals, style)


def _fraction(found: re.Match[str]) -> Span | None:
    if found[3] is None:
        return Span(found.start(), found.end(), Decimal(found.group()), 0, "int")
    whole, above, below = int(found[1] or 0), int(found[2]), int(found[3])
    if below < 1 or below & (below - 1) or above >= below:
        return None
    places = below.bit_length() - 1
    value = Decimal((whole * below + above) * 5**places).scaleb(-places)
    return Span(found.start(), found.end(), value, places, "fraction")


def places(text: str, shown: Shown, is_even: bool, has_fractions: bool) -> list[NumberPlace]:
    """Every place where `text` may say the size that was shown, most explicit first.

    `is_even`: all frames are equally long, so that digits may be glued to other digits.
    `has_fractions`: some frame has one, so that a whole number may be one too.
    """
    size = shown.value.copy_abs()
    found: list[NumberPlace] = []
    if shown.form == "angle":
        for sep in sorted(set(re.findall(r"[0-9]([^0-9A-Za-z])(?=[0-9])", text))):
            found += _equal(text, Shape("dms", sep), size)
        return found
    if shown.form == "fraction" or has_fractions:
        fractions = _equal(text, Shape("fraction"), size)
        if fractions:
            return fractions
    for sep in (".", ","):
        found += [
            place
            for place in _equal(text, Shape("decimal", sep), size)
            if place.span.style != "int"
        ]
    found += _implied(text, shown)
    found += [  # a whole number from a gauge that may send a point another time
        NumberPlace(Shape("decimal", sep), place.span)
        for place in found
        if place.shape.kind == "int" and not place.implied
        for sep in (".", ",")
    ]
    glued = list(_glued(text, shown)) if is_even else []
    found = (
        _exact_first(found, shown)
        if not glued
        else [
            place
            for place in found
            if place.shape.kind == "decimal" or place.implied == shown.decimals
        ]
    )
    if not any(place.shape.kind == "int" for place in found):
        found += glued
    return [
        place for place in found if not any(_is_inside(place.span, other.span) for other in found)
    ]


def _equal(text: str, shape: Shape, size: Decimal) -> list[NumberPlace]:
    return [NumberPlace(shape, span) for span in spans(text, shape) if span.value == size]


def _implied(text: str, shown: Shown) -> Iterator[NumberPlace]:
    """Digits without a point that are the size once some decimals are implied."""
    size = shown.value.copy_abs()
    for span in spans(text, Shape("int")):
        for decimals in range(-6, 13):
            if span.value and span.value.scaleb(-decimals) == size:
                yield NumberPlace(Shape("int"), span, decimals)


def _exact_first(found: list[NumberPlace], shown: Shown) -> list[NumberPlace]:
    return sorted(found, key=lambda place: place.implied != shown.decimals)


def _glued(text: str, shown: Shown) -> Iterator[NumberPlace]:
    """The digits shown, as part of a longer row of digits."""
    size = shown.value.copy_abs()
    if not size or shown.form != "decimal":
        return
    for run in re.finditer(r"[0-9]+", text):
        row = run.group()
        digits = str(int(size.scaleb(shown.decimals)))
        for pos in [i for i in range(len(row)) if row.startswith(digits, i)]:
            begin = run.start() + len(row[:pos].rstrip("0"))
            end = run.start() + pos + len(digits)
            if (begin, end) != (run.start(), run.end()):
                cell = text[begin:end]
                yield NumberPlace(
                    Shape("columns", "", begin, end), _int(begin, end, cell), shown.decimals
                )
    for sep in (".", ","):
        for found in re.finditer(rf"([0-9]+){re.escape(sep)}([0-9]+)", text):
            if len(found[2]) != shown.decimals:
                continue
            digits = str(int(size))
            if found[1].endswith(digits) and int(found[2] or "0") == int(
                (size - int(size)).scaleb(shown.decimals)
            ):
                begin = found.start() + len(found[1][: -len(digits)].rstrip("0"))
                if begin != found.start():
                    shape = Shape("columns", sep, begin, found.end())
                    yield from (NumberPlace(shape, span) for span in spans(text, shape))


def _is_inside(inner: Span, outer: Span) -> bool:
    is_within = outer.begin <= inner.begin and inner.end <= outer.end
    return is_within and (inner.begin, inner.end) != (outer.begin, outer.end)
