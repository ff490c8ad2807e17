"""How the state of a journal looks: by a pattern and an outline, so that no meaning rests on a
colour. Pure.

Plain paper: nothing measured. Filled from the left: so far measured. Toned: within its limits.
Dotted: undecided. Crossed by lines, thick outline: not within them. Slanting lines: to be measured
again. A broken outline: no check has proven it yet.
"""

from daq.board.board import JournalRow
from daq.board.row_words import BAD, places_in
from daq.pictures.svg import hatch, number, path, rect

_STEP = 9
"""Between two lines of a pattern."""


def body(x: float, y: float, width: float, height: float, row: JournalRow | None) -> list[str]:
    """The body of a journal, a rectangle, by how its journal stands; None: by the plan alone."""
    box = (x, y, width, height)
    if row is None:
        return [rect(*box, fill="paper", stroke="ink", wide=1.4, kind="pic-body")]
    verdict = row.result.verdict
    dash = "5 3" if row.not_yet_proven or row.tainted else ""
    wide, stroke, parts = 1.6, "ink", [rect(*box, fill="paper", kind="pic-body")]
    if row.tainted:
        parts.append(path(hatch(*box, _STEP), stroke="quiet", wide=1.4))
        wide = 2.4
    elif verdict in BAD:
        lines = hatch(*box, _STEP) + hatch(*box, _STEP, is_rising=False)
        parts.append(path(lines, stroke="bad", wide=1.3))
        wide, stroke = 3.2, "bad"
    elif verdict == "undecided":
        parts.append(path(_dots(*box), stroke="quiet", wide=3))
    elif verdict == "within":
        parts.append(rect(*box, fill="tone"))
    elif done := places_in(row):
        share = min(1.0, done / max(1, row.result.positions_planned))
        parts.append(rect(x, y, width * share, height, fill="tone"))
    return [*parts, rect(*box, stroke=stroke, wide=wide, dash=dash)]


def _dots(x: float, y: float, width: float, height: float) -> str:
    """Dots as short strokes, in rows."""
    across, down = int(width // _STEP), int(height // _STEP)
    return "".join(
        f"M{number(x + (column + 0.5) * width / across - 1.5)} "
        f"{number(y + (row + 0.5) * height / down)}h3"
        for row in range(down)
        for column in range(across)
    )
