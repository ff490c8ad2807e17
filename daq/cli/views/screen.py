"""The live screen of a run: what to measure in large characters, then the last value, what must be
known, the journals, what can be typed. A board to lines; no terminal touched here.
"""

from collections.abc import Sequence

import msgspec

from daq.board.board import Board, LastValue
from daq.board.shown_lengths import ShownIn
from daq.cli.views.large import is_drawable, large, large_lines, width_of
from daq.cli.views.page_links import PageLinks, link_lines
from daq.cli.views.pieces import (
    Drawn,
    Line,
    Piece,
    fitted,
    line,
    padded,
    short_name,
    width,
    wrapped,
)
from daq.cli.views.screen_rows import has_two, journal_lines, journals_high
from drivers.printable import printable

LEAST_COLUMNS = {3: 180, 2: 120, 1: 0}
"""How wide a screen is for characters of each scale: so that the places of a run, like "M5 middle
135°", all have the same. Chosen by us."""

FORMS = ((3, 2), (3, 1), (2, 1), (1, 1), (1, 0))
"""The scales of place and value that are tried, one after the other; 0 is an ordinary line."""

GAP = 3
MOST_NEWS = 4
MOST_OF_ONE = 3
"""Lines of one warning."""

LEAST_TABLE, ENOUGH_ROWS = 3, 8
"""Lines of journals where not all fit: a heading, a journal and how many more there are; and so
many that the value may be large. Chosen by us."""

LEAST_HEIGHT = 12
"""Lower screens show the place, the value, what is said and the input line, and no more."""

BAR = 40

WORD_ORDER = (
    *("keep", "drop", "back", "skip", "retake", "check", "note"),
    *("later", "stop", "zeroed", "abandon"),
)
"""The words by how often they are wanted: where a line is too short, the last are left out."""

_SHORT_ARGUMENT = {"JOURNAL/STATION/ANGLE[/REPEAT]": "PLACE", "REASON": "WHY"}


class Beside(msgspec.Struct, frozen=True):
    """What is shown beside the board: its news and what was said since, what stands on the input
    line, what a gauge that sends without end says now (stored nowhere), a question about the word
    typed last, what was told before the run began, the units that lengths are read in (None: as
    the plan prints its limits), and the page's two addresses while they are to be seen.
    """

    news: Sequence[str] = ()
    typed: str = ""
    streamed: str = ""
    question: str = ""
    notes: Sequence[str] = ()
    show: ShownIn | None = None
    links: PageLinks | None = None


def screen(board: Board, said: Beside, columns: int, rows: int) -> Drawn:
    """The screen for a terminal of that size."""
    return Drawn(screen_lines(board, said, columns, rows))


def screen_lines(board: Board, said: Beside, columns: int, rows: int) -> list[Line]:
    """The screen in at most so many lines. No number is ever cut: it is shown whole or not at
    all.
    """
    foot = _foot(board, said, columns)
    if rows < LEAST_HEIGHT:
        return _low(board, said, columns, rows, foot)
    head, ask, bar = _head(board, columns), _ask(board, columns), _bar(board, columns)
    if said.links is not None:
        above = [*head, *ask]
        drawn = link_lines(said.links, columns, rows - len(above) - len(foot))
        return _upon_foot([*above, *drawn], foot, columns, rows)
    alerts = _alerts(board, said, columns, rows)
    room = rows - sum(map(len, (head, ask, bar, alerts, foot))) - 1  # one line of news at least
    is_two = has_two(board, columns)
    place, value, high = _sizes(board, columns, room, is_two=is_two)
    table = journal_lines(board, columns, high, is_two=is_two, show=said.show)
    left = room - len(place) - len(value) - len(table)
    # What is left goes to what was told, to blank lines between the parts, then to the rest.
    news = _news(board, said, columns, min(1 + max(0, left), MOST_NEWS))
    left -= len(news) - 1
    gaps: list[list[Line]] = [[line("")] if left > number else [] for number in range(4)]
    left -= sum(map(len, gaps))
    body = [
        *(*head, *gaps[0], *place, *ask, *gaps[1], *value, *gaps[2], *bar, *alerts, *news),
        *(*gaps[3], *table, *_more(board, said, columns, left)),
    ]
    return _upon_foot(body, foot, columns, rows)


def _sizes(
    board: Board, columns: int, room: int, *, is_two: bool
) -> tuple[list[Line], list[Line], int]:
    """Place and value as large as they go in so many lines beside all journals, and how many lines
    these get, in two columns where `is_two`; where not all fit the place comes first.
    """
    usual = next(scale for scale, least in LEAST_COLUMNS.items() if columns >= least)
    for scale, of_value in FORMS:
        place, value = _place(board, columns, scale), _value(board, columns, of_value)
        high = journals_high(len(board.rows), room - len(place) - len(value), is_two=is_two)
        if scale <= usual and place and (value or not board.last) and high is not None:
            return place, value, high
    for scale, of_value in (*FORMS, (0, 0)):
        place, value = _place(board, columns, scale), _value(board, columns, of_value)
        left = room - len(place) - len(value)
        least = ENOUGH_ROWS if of_value else LEAST_TABLE if scale else 0
        if scale <= usual and place and (value or not board.last) and left >= least:
            return place, value, left
    place, value = _place(board, columns, 0), _value(board, columns, 0)
    return place, value, max(0, room - len(place) - len(value))


def _upon_foot(body: list[Line], foot: list[Line], columns: int, rows: int) -> list[Line]:
    """The input line stands at the bottom, whatever is above it."""
    kept = body[: max(0, rows - len(foot))]
    blank = [line("")] * (rows - len(foot) - len(kept))
    return [fitted(each, columns) for each in [*kept, *blank, *foot][:rows]]


def _low(board: Board, said: Beside, columns: int, rows: int, foot: list[Line]) -> list[Line]:
    """A screen of a few lines, the most wanted first."""
    place = _place(board, columns, 0)
    value = _value(board, columns, 0)
    alerts = _alerts(board, said, columns, rows)
    news = _news(board, said, columns, 1)
    body = [*place, *value, *_ask(board, columns), *alerts, *news]
    return _upon_foot(body, foot[: max(0, rows - 1)], columns, rows)


# The parts ----------------------------------------------------------------------------------------


def _head(board: Board, columns: int) -> list[Line]:
    """Part, job and gauge; what does not fit is left out whole."""
    left = [board.part, f"job {board.job}" if board.job else "", board.operator]
    right = printable(board.link.gauge)
    shown = short_name(printable(board.part), columns)
    for each in left[1:]:
        longer = f"{shown} · {printable(each)}" if each else shown
        if width(longer) <= columns:
            shown = longer
    blank = columns - width(shown) - width(right)
    if blank > 1:
        shown += " " * blank + right
    return [line(padded(shown, columns), "reverse")]


def _place(board: Board, columns: int, scale: int) -> list[Line]:
    """What to measure; of scale 0 in one line of ordinary height."""
    short = printable(board.asked.short)
    if scale:
        return [
            line(each, "bold")
            for each in large_lines(short, columns, scale, most=2 if scale == 1 else 1)
        ]
    text = f">> {short} <<" if width(short) + 6 <= columns else short
    return [line(each, "bold") for each in wrapped(text, columns)]


def _ask(board: Board, columns: int) -> list[Line]:
    """The prompt in words; a question stands out without any colour."""
    asked = board.asked
    headline = " ".join(printable(asked.headline).split())
    if board.status == "asking":
        said = [f"QUESTION  {headline}", printable(asked.action)]
        return [line(each, "bold") for text in said for each in wrapped(text, columns, 4)]
    action = printable(asked.action)
    text = f"{headline}, {action}" if action else headline
    if board.is_strip_due and action:
        text = f"{headline}. {action[0].upper()}{action[1:]}"
    return [line(each) for each in wrapped(text, columns, 3)]


def _value(board: Board, columns: int, scale: int) -> list[Line]:
    """The last value with what it is of; empty where there is none, or not at this scale."""
    last = board.last
    if last is None:
        return []
    value, unit = printable(last.value), printable(last.unit)
    what = _what(last, is_study=board.place is not None and bool(board.place.who))
    text = f"{value} {unit}".rstrip()
    if not scale:
        if width(text) > columns:
            return []  # half a number is another number
        if width(what) + GAP + width(text) <= columns:
            return [(Piece(f"{what}   "), Piece(text, "bold"))]
        return [*(line(each) for each in wrapped(what, columns, 1)), line(text, "bold")]
    if not is_drawable(value):
        return []
    drawn, beside = large(value, scale), width_of(value, scale) + GAP
    words = wrapped(what, columns - beside, len(drawn) - 1) if columns > beside else []
    if columns < beside + width(text) or " ".join(words) != what:
        return []
    right = [*words, *[""] * (len(drawn) - 1 - len(words)), text]
    blank = " " * GAP
    return [(Piece(row), Piece(f"{blank}{side}")) for row, side in zip(drawn, right, strict=True)]


def _what(last: LastValue, *, is_study: bool) -> str:
    """What a value is of, and whether it counts."""
    place = printable(_spoken(last.place, is_study=is_study))
    if last.of == "held":
        return f"held, would be {place}" if place else "held"
    if last.of == "stack":
        return "last, of the stack" if last.counts else "last, of the stack: does not count"
    return f"last, {place}" if last.counts else f"last, {place}: take it again"


def _spoken(place: str, *, is_study: bool) -> str:
    """JOURNAL/STATION/ANGLE[/REPEAT] as it is said; in a study the repeat means somebody's turn."""
    if place.count("/") < 2:
        return place
    journal, station, angle, *repeat = place.split("/")
    of = f" repeat {repeat[0]}" if repeat and not is_study else ""
    return f"{journal} {station} {angle}°{of}"


def _bar(board: Board, columns: int) -> list[Line]:
    """How far the route is done; what a check has proven is told apart."""
    if not board.places_total:
        return []
    done, proven, total = board.places_done, board.places_proven, board.places_total
    text = f"{done} of {total} places"
    proof = f", {proven} proven" if proven < done or proven else ""
    wide = min(BAR, columns - width(text + proof) - 1)
    if wide < 10:
        return [line(each) for each in wrapped(text + proof, columns, 1)]
    full, some = wide * proven // total, wide * done // total
    drawn = "█" * full + "▒" * (some - full) + "·" * (wide - some)
    return [(Piece(drawn), Piece(f" {text}{proof}"))]


def _alerts(board: Board, said: Beside, columns: int, rows: int) -> list[Line]:
    """What must be answered or dealt with: the question whole, then as many of the warnings as may
    take a quarter of the screen, and how many more there are.
    """
    found: list[Line] = []
    if said.question:
        found += [line(each, "bold reverse") for each in wrapped(f"? {said.question}", columns)]
    most = max(MOST_OF_ONE, rows // 4)
    taken = 0
    for number, text in enumerate(board.warnings):
        lines = wrapped(f"! {printable(text)}", columns, MOST_OF_ONE)
        taken += len(lines)
        if taken > most:
            left = len(board.warnings) - number
            found.append(line(f"! and {left} more warning{'s' if left > 1 else ''}", "bold red"))
            break
        found += [line(each, "bold red") for each in lines]
    return found


def _news(board: Board, said: Beside, columns: int, most: int) -> list[Line]:
    """What was told last in at most so many lines, but for what stands elsewhere on the screen; the
    newest last.
    """
    found: list[Line] = []
    if said.streamed and most:
        found.append(line(f"the gauge shows {printable(said.streamed)}", "dim"))
    for text in reversed([text for text in said.news if not _is_elsewhere(board, text)]):
        left = most - len(found)
        found = [*(line(each) for each in wrapped(text, columns, min(left, 3))), *found]
    return found


def _is_elsewhere(board: Board, text: str) -> bool:
    """The news of a reading whose value is shown, of the question, or of a warning that stays."""
    last = board.last
    if text in board.warnings:
        return True
    if board.status == "asking":
        return text.startswith(f"{board.asked.headline}: ")
    if last is None:
        return False
    of = "Stack" if last.of == "stack" else _spoken(last.place, is_study=False)
    return text == f"{of}: {last.value} {last.unit}".rstrip()


def _foot(board: Board, said: Beside, columns: int) -> list[Line]:
    """The line that is typed, and the words that may stand on it."""
    typed = said.typed
    while typed and width(typed) > columns - GAP:
        typed = typed[1:]
    input_line = (Piece("> ", "bold"), Piece(typed), Piece("▏", "dim"))
    return [input_line, line(words_line(board, columns), "dim")]


def words_line(board: Board, columns: int) -> str:
    """The words that can be typed now in one line, as many as fit, the most wanted first."""
    there = {each.word: each.argument for each in board.words}
    found = "type:"
    names = [word for word in WORD_ORDER if word in there]
    for number, word in enumerate(names):
        argument = there[word]
        shown = f"{word} {_SHORT_ARGUMENT.get(argument, argument)}".strip()
        longer = f"{found}  {shown}"
        rest = 0 if number == len(names) - 1 else 2
        if len(longer) + rest > columns:
            return f"{found} …" if len(found) + 2 <= columns else found[:columns]
        found = longer
    return found if names else ""


def _more(board: Board, said: Beside, columns: int, left: int) -> list[Line]:
    """Where there is room: what each word does, then what was told before the run began."""
    found: list[Line] = []
    words = {each.word: each for each in board.words}
    meanings = [words[word] for word in WORD_ORDER if word in words and words[word].meaning]
    if left > len(meanings) + 1:
        found.append(line(""))
        for each in meanings:
            argument = _SHORT_ARGUMENT.get(each.argument, each.argument)
            shown = f"{f'{each.word} {argument}':<14} {each.meaning}"
            found += [line(short, "dim") for short in wrapped_once(shown, columns)]
    notes = [each for text in said.notes for each in wrapped(printable(text), columns)]
    if notes and left > len(found) + len(notes) + 1:
        found += [line(""), *(line(each, "dim") for each in notes)]
    return found


def wrapped_once(text: str, columns: int) -> list[str]:
    """A line that keeps its blanks, if it fits."""
    return [text] if width(text) <= columns else []
