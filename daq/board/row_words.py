"""How a journal stands, in words: the same wherever it is shown, on a terminal, a page or paper."""

from daq.board.board import JournalRow

VERDICTS = {
    "within": "within",
    "below": "BELOW",
    "above": "ABOVE",
    "out-of-form": "OUT OF FORM",
    "undecided": "undecided",
    "incomplete": "",
}
"""A verdict as it is shown."""

BAD = ("below", "above", "out-of-form")
"""Verdicts of a journal that is not within its limits."""


def word_of(row: JournalRow, *, is_short: bool = False) -> str:
    """How a journal stands, in a word or two: what must be taken again, its verdict so far, and
    whether a check has proven it.
    """
    verdict = VERDICTS[row.result.verdict]
    if row.tainted:
        return f"again: {row.tainted}"
    if not row.not_yet_proven:
        return verdict or ("proven so far" if row.proven else "")
    proof = "unproven" if is_short else "not proven yet"
    return f"{verdict}, {proof}" if verdict else proof


def places_in(row: JournalRow) -> int:
    """How many of its places are measured, but for those that must be again."""
    return row.result.positions_measured - row.tainted


def stands(row: JournalRow, *, is_short: bool = False) -> str:
    """How a journal stands where there is no column for the count of its places: that, if places
    are missing, and its word. `is_short` leaves out how many of those missing were left out.
    """
    done, planned = places_in(row), row.result.positions_planned
    word = word_of(row, is_short=is_short)
    skipped = sum(place.state == "skipped" for place in row.places)
    if not done and not row.tainted:
        return "left out" if skipped and skipped == len(row.places) else "not measured"
    if done >= planned:
        return word
    count = f"{done} of {planned}" + (f", {skipped} left out" if skipped and not is_short else "")
    return f"{count}; {word}" if word else count
