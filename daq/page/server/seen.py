"""What stands on the page, in words: from a moment to what its templates fill in. Pure."""

import re
from collections.abc import Sequence
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.board.asked import SEND, STRIP_NOW
from daq.board.board import Board, CheckShown, JournalRow, LastValue
from daq.board.row_words import BAD, places_in, word_of
from daq.board.shown_lengths import shown_difference
from daq.board.to_limit import to_limit
from daq.lengths import signed
from daq.page.server.as_pressed import as_pressed
from daq.page.server.fits import fit, widest_place
from daq.page.server.moment import Moment
from daq.page.server.sheets import Key, Sheet, keys, sheets
from daq.pictures.layout import CrankLayout
from daq.rules.plausibility import ANSWER
from drivers.printable import shown

NOT_BEGUN = "<h1>Not begun yet</h1>"
MOST_TEXT = 1000
"""Characters of any one text of people's making; the rest is cut."""

MEASURED = "Measured"
"""For a session that was accepted: so large, that word would be taken for one about the part."""

CAUTION = (
    "Evidence, not permission: the maker's manual, local codes and a licensed practice decide."
)


_STINT = re.compile(r"^stint [0-9]+: | of stint [0-9]+")


class ValueSeen(msgspec.Struct, frozen=True):
    """The last value: `text` with its `unit`, what it is of, whether it counts in words and as a
    class, and how far it lies from the limit.
    """

    text: str
    unit: str
    fit: int
    of: str
    counted: str
    tone: str
    why: tuple[str, ...] = ()
    distance: str = ""
    limit: str = ""
    is_out: bool = False


class RowSeen(msgspec.Struct, frozen=True):
    """A line of the table of journals."""

    name: str
    places: str
    smallest: str
    to_low: str
    word: str
    tone: str
    is_asked: bool


class PageSeen(msgspec.Struct, frozen=True, kw_only=True):
    """All that the templates show."""

    what: str
    head: tuple[str, ...]
    place: str
    place_fit: int
    is_question: bool
    headline: str
    action: str
    value: ValueSeen | None
    verdict: str
    is_over: bool
    reasons: tuple[str, ...]
    said: tuple[str, ...]
    caution: str
    warnings: tuple[str, ...]
    news: tuple[str, ...]
    keys: tuple[Key, ...]
    sheets: dict[str, Sheet]
    done: int
    total: int
    progress: str
    rows: tuple[RowSeen, ...]
    check: str
    check_tone: str
    check_due: str
    gauge: str
    is_lost: bool


def seen(moment: Moment, layout: CrankLayout | None) -> PageSeen:
    """A moment as it is shown; there must be a board."""
    board = moment.board
    assert board is not None
    asked = board.asked
    place = MEASURED if board.verdict == "accepted" else clean(asked.short or asked.headline)
    is_open = not (board.verdict or moment.is_over)
    is_cautioned = any(CAUTION in each for each in moment.said)
    can_be_pressed = is_open and not moment.is_over
    return PageSeen(
        what="Session" if board.session else "Check",
        head=tuple(clean(each) for each in _head(board) if each),
        place=place,
        place_fit=fit(place, widest_place(layout)),
        is_question=board.status == "asking",
        headline=_headline(board),
        action=clean(_action(board)),
        value=_value(board, layout),
        verdict=board.verdict,
        is_over=moment.is_over,
        reasons=_reasons(board),
        said=tuple(map(clean, moment.said)),
        caution=CAUTION if board.verdict and board.rows and not is_cautioned else "",
        warnings=tuple(map(clean, board.warnings)),
        news=tuple(clean(as_pressed(text)) for text in moment.news if text not in board.warnings),
        keys=keys(board) if can_be_pressed else (),
        sheets=sheets(board) if can_be_pressed else {},
        done=board.places_done,
        total=board.places_total,
        progress=_progress(board),
        rows=tuple(_row(row) for row in board.rows),
        check=_check(board, moment.passed_s),
        check_tone="" if not board.checks else "good" if board.checks[-1].passed else "bad",
        check_due=_check_due(board),
        gauge=clean(_gauge(board)),
        is_lost=board.link.is_lost,
    )


def clean(text: str) -> str:
    """A text of anybody's making: bounded, printable, in no direction of its own."""
    return shown(text, MOST_TEXT)


def _reasons(board: Board) -> tuple[str, ...]:
    """Why it ended so, but for the rule that decided: the guide has that."""
    told = (each for each in board.reasons if not each.startswith("decided by "))
    return tuple(dict.fromkeys(clean(plainly(each)) for each in told))


def plainly(reason: str) -> str:
    """A reason of the record without the number of the stretch of work that it is of."""
    return _STINT.sub("", reason)


def _head(board: Board) -> Sequence[str]:
    if not board.session:
        return (f"Check of {board.link.gauge}",)
    job = f"job {board.job}" if board.job else ""
    return board.part, job, board.operator


def _headline(board: Board) -> str:
    """What is asked for in words, where the large characters do not say it already."""
    headline = " ".join(clean(board.asked.headline).split())
    if headline == STRIP_NOW:
        return "Strip now, or press later"
    return "" if board.verdict or headline == clean(board.asked.short) else headline


def _action(board: Board) -> str:
    action = board.asked.action
    if board.status == "asking":  # there it is typed, here pressed
        action = action.removesuffix(" Type keep or drop").replace(ANSWER, "press Drop, ")
    return action[:1].upper() + action[1:]


def _value(board: Board, layout: CrankLayout | None) -> ValueSeen | None:
    last = board.last
    if last is None:
        return None
    text = clean(last.value)
    found = ValueSeen(
        text=text,
        unit=clean(last.unit),
        fit=fit(text),
        of=clean(_of(last)),
        counted=_counted(last),
        tone="held" if last.of == "held" else "good" if last.counts else "void",
        why=() if last.of == "held" else tuple(map(clean, last.why_not)),
    )
    name = last.place.partition("/")[0]
    journal = layout.journal(name) if layout is not None else None
    distance = to_limit(board, None if journal is None else journal.low)
    if distance is None:
        return found
    size = f"; the value corrected to {distance.size}" if distance.is_corrected else ""
    where = "below" if distance.over < 0 else "above"
    if distance.over == 0:
        words = "on the low limit"
    else:
        words = f"{distance.over.copy_abs():f} {distance.unit} {where} the low limit"
    is_else = bool(last.against_limits) and distance.over >= 0  # over the other limit
    is_out = distance.over < 0 or is_else
    return msgspec.structs.replace(
        found,
        tone="out" if is_out and last.counts else found.tone,
        distance=words,
        limit=f"({distance.limit} {distance.unit}{size})",
        is_out=is_out,
        why=(*found.why, clean(last.against_limits)) if is_else else found.why,
    )


def _of(last: LastValue) -> str:
    place = last.place.replace("/", " ", 1).replace("/", " ", 1)
    if last.place.count("/") >= 2:
        journal, station, angle, *repeat = last.place.split("/")
        place = f"{journal} {station} {angle}°" + (f" ({repeat[0]})" if repeat else "")
    if last.of == "held":
        return f"would be {place}" if place else "held"
    return "of the stack" if last.of == "stack" else place


def _counted(last: LastValue) -> str:
    if last.of == "held":
        return "Held"
    return "Counts" if last.counts else "Does not count"


def _progress(board: Board) -> str:
    if not board.places_total:
        return ""
    done, total, proven = board.places_done, board.places_total, board.places_proven
    return f"{done} of {total} places, {proven} proven"


def _row(row: JournalRow) -> RowSeen:
    result = row.result
    is_empty = result.positions_measured == row.tainted
    word = word_of(row)
    return RowSeen(
        name=clean(result.journal),
        places=f"{places_in(row)}/{result.positions_planned}",
        smallest="" if is_empty else _length(result.smallest_mm, row.unit),
        to_low="" if is_empty else _length(result.margin_to_low_mm, row.unit, is_signed=True),
        word=word,
        tone=_tone(row),
        is_asked=row.is_asked,
    )


def _length(mm: str, unit: str, *, is_signed: bool = False) -> str:
    if not mm:
        return ""
    value = shown_difference(Fraction(Decimal(mm)), unit)
    return signed(value) if is_signed else f"{value:f}"


def _tone(row: JournalRow) -> str:
    if row.tainted or row.result.verdict in BAD:
        return "bad"
    if row.result.verdict == "within" and not row.not_yet_proven:
        return "good"
    return ""


def _check(board: Board, passed_s: int) -> str:
    if board.check is not None and board.check.readings:
        return f"Check running: {board.check.readings} of {board.check.wanted}"
    if not board.checks:
        return "No check yet" if board.session else ""
    last = board.checks[-1]
    how = "passed" if last.passed else "FAILED"
    return f"Check {how} {_age(last, passed_s)}" + (
        f": {clean(last.reason)}" if last.reason else ""
    )


def _age(check: CheckShown, passed_s: int) -> str:
    minutes = (check.age_s + passed_s) // 60
    if minutes < 1:
        return "just now"
    hours = minutes // 60
    return f"{hours} h {minutes % 60} min ago" if hours else f"{minutes} min ago"


def _check_due(board: Board) -> str:
    """When the next check is due, by this machine's own time of day."""
    if not board.next_check_by or board.verdict:
        return ""
    at = datetime.fromisoformat(board.next_check_by.replace("Z", "+00:00")).astimezone(UTC)
    return f"next by {at.astimezone():%H:%M}"


def _gauge(board: Board) -> str:
    link = board.link
    if link.is_lost:
        return f"{link.gauge} LOST"
    return link.gauge if link.gauge == link.port else f"{link.gauge} on {link.port}"


__all__ = ["CAUTION", "NOT_BEGUN", "SEND", "PageSeen", "clean", "seen"]
