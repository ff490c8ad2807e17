"""Marks that are told apart by their shape, in black. Pure."""

from daq.pictures.svg import circle, line, polygon, rect

MOST_SHAPES = 8
_R = 5.0


def mark(shape: int, x: float, y: float, *, is_hollow: bool = False) -> str:
    """The mark of a number from 0 to MOST_SHAPES - 1; `is_hollow`: light, and smaller."""
    r = _R - 1.2 if is_hollow else _R
    fill, stroke, wide = ("paper", "quiet", 1.0) if is_hollow else ("ink", "ink", 1.0)
    match shape:
        case 0:
            return circle(x, y, r, fill=fill, stroke=stroke, wide=wide)
        case 1:
            return rect(x - r, y - r, 2 * r, 2 * r, fill=fill, stroke=stroke, wide=wide)
        case 2 | 3:
            down = -1 if shape == 2 else 1
            tip, base = y + down * 1.25 * r, y - down * 0.85 * r
            points = [(x, tip), (x - 1.2 * r, base), (x + 1.2 * r, base)]
        case 4:
            points = [(x, y - 1.4 * r), (x + 1.4 * r, y), (x, y + 1.4 * r), (x - 1.4 * r, y)]
        case 5:
            points = [(x - 1.6 * r, y - 0.6 * r), (x + 1.6 * r, y - 0.6 * r)]
            points += [(x + 1.6 * r, y + 0.6 * r), (x - 1.6 * r, y + 0.6 * r)]
        case 6:
            points = [(x - 0.6 * r, y - 1.6 * r), (x + 0.6 * r, y - 1.6 * r)]
            points += [(x + 0.6 * r, y + 1.6 * r), (x - 0.6 * r, y + 1.6 * r)]
        case _:
            paint = "quiet" if is_hollow else "ink"
            one = line(x - r, y - r, x + r, y + r, stroke=paint, wide=2)
            return one + line(x - r, y + r, x + r, y - r, stroke=paint, wide=2)
    return polygon(points, fill=fill, stroke=stroke, wide=wide)
