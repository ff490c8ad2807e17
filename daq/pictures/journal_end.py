"""A journal from its end: the angle to set, and where 0 degrees is. Pure.

No plan says where 0 degrees is: it is a mark of an operator's own, drawn at the top; angles are
drawn clockwise from there, so that the picture and the one of the diameters agree.
"""

from collections.abc import Iterator
from math import cos, radians, sin

from daq.pictures.layout import JournalDrawn
from daq.pictures.lettering import fitted, text_width, wrapped
from daq.pictures.svg import Own, circle, group, line, number, path, picture, polygon, text

WIDTH, HEIGHT, LOW_HEIGHT = 420, 446, 366
"""Height with the foot and without it."""

_X, _Y, _RADIUS = 208, 216, 100
_LABEL = _RADIUS + 31
_ARC = 36
"""Radius of the arc that the angle is drawn by."""

MOST_LABELS, _FEW = 12, 6
WHERE_ZERO_IS = (
    "0° is a mark of your own on the crank. Angles go on as the arrow shows; 180 degrees on is the "
    "same diameter."
)


def journal_end(
    journal: JournalDrawn, angle_deg: int | None = None, *, has_foot: bool = True
) -> str:
    """The journal from its end, as SVG: a line across it at `angle_deg` with both anvils; with None
    the lines of all its angles. Without its foot the words WHERE_ZERO_IS belong beside it.
    """
    words = "" if angle_deg is None else f"set {angle_deg}°"
    drawn = _all_angles(journal) if angle_deg is None else _set(angle_deg)
    room = WIDTH - 24 - (text_width(words, 18) + 12 if words else 0)
    name = fitted(journal.name, room, 22, is_bold=True)
    foot = wrapped(WHERE_ZERO_IS, WIDTH - 24, 14, 3) if has_foot else []
    angles = ", ".join(f"{angle}°" for angle in journal.angles_deg)
    about = f"{journal.name} from its end, {words or f'angles {angles}'}. {WHERE_ZERO_IS}"
    body = [
        text(12, 26, Own(name), size=22, is_bold=True, kind="pic-name"),
        text(WIDTH - 12, 26, words, size=18, anchor="end"),
        circle(_X, _Y, _RADIUS, fill="metal", stroke="ink", wide=2),
        *_zero(),
        *drawn,
        *(
            text(12, HEIGHT - 44 + 18 * at, part, size=14, paint="quiet")
            for at, part in enumerate(foot)
        ),
    ]
    height = HEIGHT if has_foot else LOW_HEIGHT
    return picture(WIDTH, height, "The journal from its end", about, body, "pic-end")


def point(radius: float, angle_deg: float) -> tuple[float, float]:
    """A point of the drawing: 0 degrees at the top, clockwise."""
    turn = radians(angle_deg)
    return _X + radius * sin(turn), _Y - radius * cos(turn)


def _zero() -> Iterator[str]:
    """The mark at 0 degrees, its words, and the sense in which angles count."""
    top = _Y - _RADIUS
    yield polygon([(_X, top), (_X - 8, top + 15), (_X + 8, top + 15)], fill="ink", kind="pic-zero")
    yield line(_X, top, _X, top - 52, stroke="quiet", dash="3 3")
    yield text(_X, top - 57, "0° mark", size=17, anchor="middle", is_bold=True)
    reach = _RADIUS + 62
    (x1, y1), (x2, y2) = point(reach, 17), point(reach, 37)
    arc = f"M{number(x1)} {number(y1)}A{reach} {reach} 0 0 1 {number(x2)} {number(y2)}"
    yield path(arc, stroke="quiet", wide=2, kind="pic-sense")
    yield polygon([point(reach, 42), point(reach - 5, 37), point(reach + 5, 37)], fill="quiet")


def _set(angle: int) -> Iterator[str]:
    """The line across at an angle, an anvil at both ends, the arc from the mark to it."""
    parts = []
    one, other = point(_RADIUS + 26, angle), point(_RADIUS + 26, angle + 180)
    parts.append(line(*one, *other, stroke="here", wide=2.5))
    for at in (angle, angle + 180):
        corners = [
            _shifted(point(reach, at), at + 90, by)
            for reach, by in (
                (_RADIUS + 1, -14),
                (_RADIUS + 1, 14),
                (_RADIUS + 13, 14),
                (_RADIUS + 13, -14),
            )
        ]
        parts.append(polygon(corners, fill="here", kind="pic-anvil"))
    if angle % 360:
        x, y = point(_ARC, angle)
        large = 1 if angle % 360 > 180 else 0
        parts.append(
            path(
                f"M{_X} {_Y - _ARC}A{_ARC} {_ARC} 0 {large} 1 {number(x)} {number(y)}",
                stroke="here",
                wide=2,
            )
        )
        parts.append(line(_X, _Y, _X, _Y - _RADIUS + 15, stroke="quiet", dash="3 3"))
    yield group(parts, "pic-set")
    yield _label(angle, f"{angle}°", 28, is_bold=True)
    yield _label(angle + 180, f"{(angle + 180) % 360}°", 16, is_bold=False)


def _all_angles(journal: JournalDrawn) -> Iterator[str]:
    """A line across at every angle; of many angles not each is labelled."""
    angles = journal.angles_deg
    every = -(-len(angles) // MOST_LABELS)
    size = 20 if len(angles) <= _FEW else 15
    for at, angle in enumerate(angles):
        one, other = point(_RADIUS + 14, angle), point(_RADIUS + 14, angle + 180)
        yield line(*one, *other, stroke="here", wide=1.6)
        if at % every == 0:
            yield _label(angle, f"{angle}°", size, is_bold=True, reach=_RADIUS + 19)


def _label(angle: float, words: str, size: float, *, is_bold: bool, reach: float = _LABEL) -> str:
    """The words of an angle at its end, beside the line of the mark where they would lie on it."""
    x, y = point(reach, angle)
    beside, above = (x - _X) / reach, (_Y - y) / reach
    anchor = "start" if beside > 0.25 else "end" if beside < -0.25 else "middle"
    if above > 0.9:
        is_right = beside > -0.01
        anchor = "start" if is_right else "end"
        x = max(x, _X + 8) if is_right else min(x, _X - 8)
    return text(
        x,
        y + size * (0.36 - 0.3 * above),
        words,
        size=size,
        anchor=anchor,
        is_bold=is_bold,
        paint="here" if is_bold else "quiet",
    )


def _shifted(at: tuple[float, float], angle: float, by: float) -> tuple[float, float]:
    """A point further by `by` towards an angle."""
    turn = radians(angle)
    return at[0] + by * sin(turn), at[1] - by * cos(turn)
