"""One box a place, by how it stands: told apart by what is drawn in it and round it. Pure.

As with journals, a broken outline means that no check has proven it yet, and slanting lines that it
must be measured again.
"""

from collections.abc import Sequence

from daq.pictures.svg import hatch, line, number, path, polygon, rect

STATES = ("to-come", "here", "measured", "proven", "again", "skipped")
WORDS = {
    "to-come": "to come",
    "here": "measure here",
    "measured": "measured, not proven yet",
    "proven": "proven",
    "again": "measure again",
    "skipped": "left out",
}
"""How a place stands, in words; `here` is the one that is asked for."""

NOT_IN_RUN = "not-in-run"


def box(x: float, y: float, width: float, height: float, state: str) -> str:
    """The box of a place that stands so."""
    where = (x, y, width, height)
    kind = f"pic-place is-{state}"
    middle, centre = x + width / 2, y + height / 2
    r = min(width, height) / 2 - 3
    match state:
        case "here":
            frame = rect(*where, fill="paper", stroke="here", wide=3, kind=kind)
            points = [(middle, centre + r), (middle - r, centre - r), (middle + r, centre - r)]
            return frame + polygon(points, fill="here")
        case "measured":
            return rect(*where, fill="tone", stroke="ink", dash="3 2", kind=kind)
        case "proven":
            frame = rect(*where, fill="tone", stroke="ink", wide=1.2, kind=kind)
            tick = (
                f"M{number(middle - r)} {number(centre)}l{number(r * 0.7)} {number(r * 0.8)}"
                f"L{number(middle + r)} {number(centre - r)}"
            )
            return frame + path(tick, stroke="ink", wide=2)
        case "again":
            frame = rect(*where, fill="paper", stroke="ink", wide=2, dash="3 2", kind=kind)
            return frame + path(hatch(*where, 6), stroke="ink", wide=1.2)
        case "skipped":
            frame = rect(*where, fill="paper", stroke="quiet", wide=0.8, kind=kind)
            return frame + line(middle - r, centre, middle + r, centre, stroke="ink", wide=2.4)
        case "not-in-run":
            return rect(*where, fill="paper", stroke="faint", wide=0.8, dash="1 3", kind=kind)
    return rect(*where, fill="paper", stroke="quiet", wide=0.9, kind=kind)


def together(states: Sequence[str]) -> str:
    """How several readings of one place stand as one: what needs work first."""
    for state in ("here", "again"):
        if state in states:
            return state
    taken = [state for state in states if state in ("measured", "proven")]
    if not taken:
        return "skipped" if states and all(one == "skipped" for one in states) else "to-come"
    is_whole = all(state in ("proven", "skipped") for state in states)
    return "proven" if is_whole else "measured"
