"""A text as a QR code (ISO/IEC 18004) in SVG. Pure."""

from functools import lru_cache

import segno

from daq.pictures.svg import number, path, picture

_QUIET = 4
"""Light squares around it, as the standard asks (from memory)."""


@lru_cache(maxsize=4)
def code_of(text: str) -> str:
    """The code, a square to a unit; the text itself is what is read aloud."""
    rows = [list(row) for row in segno.make_qr(text, error="m").matrix]
    side = len(rows) + 2 * _QUIET
    steps = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            wide = 0
            while x + wide < len(row) and row[x + wide]:
                wide += 1
            if wide:
                across, down = number(x + _QUIET), number(y + _QUIET)
                steps.append(f"M{across} {down}h{wide}v1h-{wide}z")
            x += max(wide, 1)
    body = [path("".join(steps), fill="ink")]
    return picture(side, side, "Code of the record", text, body, "pic-code")
