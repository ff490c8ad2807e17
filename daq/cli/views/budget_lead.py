"""What a machinist needs of an uncertainty budget, before its table. Pure."""

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal

from daq.board.shown_lengths import SHOWN_STEPS
from daq.lengths import shortest
from daq.metrology.uncertainty.budget import Budget
from daq.metrology.uncertainty.components import Component

MOST_SOURCES = 3
"""Of the sources those that make up most of it. Chosen by us."""

ENOUGH_SHARE = 0.8
LEAST_SHARE = 0.05

_WORDS = (
    ("repeatability, part and stack", "scatter of the readings"),
    ("check repeatability", "readings on the stack"),
    ("reading repeatability", "readings on the part"),
    ("places", "readings on the part"),
    ("drift", "the gauge moving"),
    ("screw", "the gauge's screw"),
    ("wringing", "wringing"),
    ("temperature", "temperatures"),
    ("coefficient", "temperatures"),
    ("stack", "the stack"),
)


def place_words(at: str) -> str:
    """`front/45` as a person says it: front 45°."""
    station, slash, angle = at.rpartition("/")
    return f"{station} {angle}°" if slash else at


def lead_lines(
    what: str, guard_mm: Decimal, budget: Budget, *, is_provisional: bool = False
) -> tuple[str, ...]:
    """What it comes to (a sentence), how far off it could be, and what that comes from."""
    off = shortest(guard_mm.quantize(SHOWN_STEPS["mm"], ROUND_CEILING))
    until_then = " until the check after measuring" if is_provisional else ""
    return (what, f"It could be off by {off} mm either way{until_then}.", _sources(budget))


def _sources(budget: Budget) -> str:
    shares: dict[str, float] = {}
    for part in budget.components:
        word = _word(part)
        shares[word] = shares.get(word, 0.0) + budget.share(part)
    in_order = sorted(shares.items(), key=lambda pair: -pair[1])
    told = [
        f"{word} ({round(100 * share)} %)"
        for number, (word, share) in enumerate(in_order[:MOST_SOURCES])
        if number == 0 or (share >= LEAST_SHARE and _sum(in_order[:number]) < ENOUGH_SHARE)
    ]
    return f"Mostly from {', '.join(told)}."


def _sum(pairs: Sequence[tuple[str, float]]) -> float:
    return sum(share for _, share in pairs)


def _word(part: Component) -> str:
    return next((word for name, word in _WORDS if name in part.name), part.name)


__all__ = ["lead_lines", "place_words"]
