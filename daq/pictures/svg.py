"""The words that the drawings of a part are made of: SVG elements as text. Pure.

A drawing has presentation attributes and class names and nothing else: no style sheet, no script,
no id, nothing fetched. So it looks right by itself, in black and white too, a page with a strict
content policy may hold it, and several may stand in one page. Such a page may recolour it by class:
`pic-f-…` fills and `pic-s-…` strokes, each with the name of a paint of `PAINTS`.

Text of people's making is bounded, free of what XML has no form for, and stands in an element of
its own whose direction of writing is its own.
"""

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from daq.pictures.lettering import MOST_TEXT, clean

PAINTS = {
    "paper": "#ffffff",
    "ink": "#1a1a1a",
    "quiet": "#555555",
    "faint": "#bdbdbd",
    "metal": "#e9ebed",
    "tone": "#c9ced3",
    "bad": "#8f1d1d",
    "here": "#0b4a6f",
}
"""Every paint by name. On paper and metal the text paints (ink, quiet, bad, here) have a contrast
of 6 to 1 at least, which is more than the 4.5 to 1 of WCAG 2.2, 1.4.3; no meaning rests on a hue.
"""


def number(value: float) -> str:
    """A coordinate: to a tenth, no zeros behind it."""
    text = f"{value:.1f}"
    return "0" if text == "-0.0" else text.removesuffix(".0")


def picture(
    width: float, height: float, title: str, about: str, body: Iterable[str], kind: str
) -> str:
    """A whole drawing, `kind` its class. `title` and `about` are what is read aloud instead."""
    size = f"{number(width)} {number(height)}"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" '
            f'width="{number(width)}" height="{number(height)}" role="img" class="pic {kind}" '
            'font-family="sans-serif">',
            f"<title>{safe(title)}</title>",
            f"<desc>{safe(about, 4000)}</desc>",
            rect(0, 0, width, height, fill="paper", kind="pic-ground"),
            *body,
            "</svg>",
        ]
    )


def size_of(drawing: str) -> tuple[float, float]:
    """Width and height of a drawing that `picture` made."""
    _, _, wide, high = drawing.split('viewBox="', 1)[1].split('"', 1)[0].split(" ")
    return float(wide), float(high)


def placed(drawing: str, x: float, y: float, wide: float, high: float) -> str:
    """A drawing that `picture` made, inside another one: at a place, in a size."""
    before, rest = drawing.split(" width=", 1)
    where = f'x="{number(x)}" y="{number(y)}" width="{number(wide)}" height="{number(high)}"'
    return f"{before} {where} role={rest.split(' role=', 1)[1]}"


def safe(words: str, most: int = MOST_TEXT) -> str:
    """Text for XML: bounded, printable, escaped."""
    return escape(clean(words, most), {'"': "&quot;"})


# Shapes -------------------------------------------------------------------------------------------


def rect(
    x: float,
    y: float,
    width: float,
    height: float,
    *,
    fill: str = "",
    stroke: str = "",
    wide: float = 1,
    dash: str = "",
    round_by: float = 0,
    kind: str = "",
) -> str:
    """A rectangle."""
    rounded = f' rx="{number(round_by)}"' if round_by else ""
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}"'
        f"{rounded}{_painted(fill, stroke, wide, dash, kind)}/>"
    )


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    stroke: str = "ink",
    wide: float = 1,
    dash: str = "",
    kind: str = "",
) -> str:
    """A straight line."""
    return (
        f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"'
        f"{_painted('', stroke, wide, dash, kind)}/>"
    )


def circle(
    x: float,
    y: float,
    radius: float,
    *,
    fill: str = "",
    stroke: str = "",
    wide: float = 1,
    dash: str = "",
    kind: str = "",
) -> str:
    """A circle."""
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"'
        f"{_painted(fill, stroke, wide, dash, kind)}/>"
    )


def polygon(
    points: Sequence[tuple[float, float]],
    *,
    fill: str = "",
    stroke: str = "",
    wide: float = 1,
    dash: str = "",
    is_open: bool = False,
    kind: str = "",
) -> str:
    """Straight lines from point to point, closed unless `is_open`."""
    where = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    tag = "polyline" if is_open else "polygon"
    return f'<{tag} points="{where}"{_painted(fill, stroke, wide, dash, kind)}/>'


def path(
    steps: str,
    *,
    fill: str = "",
    stroke: str = "",
    wide: float = 1,
    dash: str = "",
    kind: str = "",
) -> str:
    """A path by its own commands."""
    return f'<path d="{steps}"{_painted(fill, stroke, wide, dash, kind)}/>'


def group(parts: Iterable[str], kind: str, about: str = "") -> str:
    """Parts that belong together; `about` is shown by a browser where a pointer rests."""
    title = f"<title>{safe(about)}</title>" if about else ""
    return f'<g class="{kind}">{title}{"".join(parts)}</g>'


def _painted(fill: str, stroke: str, wide: float, dash: str, kind: str) -> str:
    names = [kind] if kind else []
    said = ""
    if fill:
        names.append(f"pic-f-{fill}")
        said += f' fill="{PAINTS[fill]}"'
    else:
        said += ' fill="none"'
    if stroke:
        names.append(f"pic-s-{stroke}")
        said += f' stroke="{PAINTS[stroke]}"'
        said += f' stroke-width="{number(wide)}"' if wide != 1 else ""
        said += f' stroke-dasharray="{dash}"' if dash else ""
    return f' class="{" ".join(names)}"{said}'


def hatch(
    x: float, y: float, width: float, height: float, step: float, *, is_rising: bool = True
) -> str:
    """The commands of slanting lines at 45 degrees that fill a rectangle, `step` apart along it."""
    found = []
    at = step / 2 - height
    while at < width:
        left, right = max(0.0, at), min(width, at + height)
        if left < right:
            low, high = left - at, right - at  # how far down the line has come there
            ends = (height - low, height - high) if is_rising else (low, high)
            found.append(
                f"M{number(x + left)} {number(y + ends[0])}L{number(x + right)} "
                f"{number(y + ends[1])}"
            )
        at += step
    return "".join(found)


# Text ---------------------------------------------------------------------------------------------


class Own(str):
    """Text of people's making: it stands in its own direction of writing."""

    __slots__ = ()


def text(
    x: float,
    y: float,
    *words: str,
    size: float = 12,
    anchor: str = "start",
    paint: str = "ink",
    is_bold: bool = False,
    kind: str = "",
) -> str:
    """One line of text, `y` its base line; `words` follow one another, those that are Own each in
    its own direction.
    """
    names = f"{kind} pic-f-{paint}".strip()
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}"'
        + ("" if anchor == "start" else f' text-anchor="{anchor}"')
        + (' font-weight="bold"' if is_bold else "")
        + f' class="{names}" fill="{PAINTS[paint]}">{"".join(map(_directed, words))}</text>'
    )


def _directed(words: str) -> str:
    if not isinstance(words, Own):
        return safe(words)
    return f'<tspan unicode-bidi="plaintext">{safe(words)}</tspan>'


__all__ = [
    "PAINTS",
    "Own",
    "circle",
    "group",
    "hatch",
    "line",
    "number",
    "path",
    "picture",
    "placed",
    "polygon",
    "rect",
    "safe",
    "size_of",
    "text",
]
