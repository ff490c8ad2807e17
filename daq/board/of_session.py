"""The board of a session: made by the owner of its state after each step. Pure."""

from collections.abc import Mapping, Sequence

import msgspec

from daq.board.board import (
    Board,
    CheckAsked,
    CheckShown,
    JournalRow,
    LastValue,
    LinkShown,
    PlaceAsked,
    Word,
)
from daq.board.messages import against_limits, estimate_of, news, progress, prompt
from daq.evaluation.inputs import SessionFacts
from daq.evaluation.live import LiveResults, judged_live
from daq.evaluation.verdict import confirmed_below
from daq.lengths import Position
from daq.plan.turns import turn_words
from daq.record.events import Entry
from daq.record.standing import PartReading
from daq.record.state import (
    JudgedCheck,
    StackReading,
    State,
    Status,
    fate,
    fates,
    next_position,
    phase,
    status,
)
from daq.rules.commands import WORDS
from daq.rules.decide import allowed_words
from daq.rules.steps import fives_words
from drivers.reading import utc_text


class SessionShown(msgspec.Struct, frozen=True):
    """The board that is shown, and what the next one is made from besides the state: the results,
    the fates of each journal's readings, and the words for journals below their limit, by name;
    `fives`: what was said of the gauge's step.
    """

    board: Board
    state: State
    live: LiveResults
    fates: Mapping[str, Mapping[int, str]]
    below: Mapping[str, str]
    fives: str = ""


def first_shown(state: State, at_us: int, entries: Sequence[Entry] = ()) -> SessionShown:
    """The board as a run begins; `entries` are the lines that its beginning stored."""
    return _shown(None, entries, state, at_us)


def next_shown(
    last: SessionShown, entries: Sequence[Entry], state: State, at_us: int
) -> SessionShown:
    """The board once `entries` are stored and led to `state`, at `at_us` (microseconds UTC)."""
    return _shown(last, entries, state, at_us)


def _shown(
    last: SessionShown | None, entries: Sequence[Entry], state: State, at_us: int
) -> SessionShown:
    live = judged_live(state, last.live if last else None)
    found = _fates(state, last)
    below = {
        journal.name: words
        for journal in state.scope.journals.values()
        if (words := confirmed_below(state, journal, live.found[journal.name][1], live.about))
    }
    fresh = {name: words for name, words in below.items() if last and name not in last.below}
    said = news(last.state if last else state, entries, state, fresh, live.about)
    fives = (last.fives if last else "") or fives_words(state)
    if fives and not (last and last.fives):
        said = [*said, fives]
    board = _board(state, live, found, tuple(below.values()), tuple(said), at_us)
    if last is not None:
        is_new = _standing(last.state, last.board) != _standing(state, board)
        board = msgspec.structs.replace(board, step=last.board.step + is_new)
    return SessionShown(board, state, live, found, below, fives)


def _standing(state: State, board: Board) -> object:
    """What a press or a word rests on: while it is the same, it means what it did."""
    return (
        board.status,
        board.place,
        board.check,
        state.held,
        len(state.readings),
        len(state.checks),
        len(state.voided),
        len(state.skips),
        len(state.judged),
        len(state.over_stints),
        board.words,
    )


def _fates(state: State, last: SessionShown | None) -> Mapping[str, Mapping[int, str]]:
    """The fates of each journal's readings; those of before where nothing could change them."""
    old = last.state if last else None
    is_same = (
        last is not None
        and old is not None
        and old.judged is state.judged
        and old.over_stints is state.over_stints
    )
    found = {}
    for name in state.scope.journals:
        readings = state.by_journal.get(name)
        if readings is None:
            continue
        if (
            is_same
            and last is not None
            and old is not None
            and old.by_journal.get(name) is readings
        ):
            found[name] = last.fates[name]
        else:
            found[name] = fates(state, readings.taken)
    return found


def _board(
    state: State,
    live: LiveResults,
    found: Mapping[str, Mapping[int, str]],
    below: Sequence[str],
    said: Sequence[str],
    at_us: int,
) -> Board:
    opened, closed, source = state.opened, state.closed, state.setup.source
    done, total = progress(state)
    asked = next_position(state) if status(state) is Status.MEASURING else None
    stint = state.stint
    passed_us = None if stint is None or stint.is_over else stint.last_passed_us
    return Board(
        step=1,
        made_at=utc_text(at_us),
        session=opened.session,
        job=opened.job,
        part=opened.part or state.plan.part,
        operator=opened.operator,
        status=status(state).value,
        asked=prompt(state),
        place=None if asked is None else _place(state, asked),
        check=_check(state),
        last=_last_value(state, live.about),
        rows=_rows(live, found, asked),
        places_done=done,
        places_total=total,
        again=_again(state, found),
        checks=tuple(_judged(judged, at_us) for judged in state.judged),
        next_check_by=""
        if passed_us is None
        else utc_text(passed_us + state.plan.check.max_age_us),
        link=LinkShown(source.gauge, source.device, source.port, state.link_lost),
        news=tuple(said),
        warnings=tuple(f"{words}." for words in below),
        words=tuple(Word(word, WORDS[word][0]) for word in allowed_words(state)),
        verdict=closed.verdict if closed else "",
        reasons=closed.reasons if closed else (),
    )


def _place(state: State, asked: Position) -> PlaceAsked:
    study = state.plan.study
    return PlaceAsked(
        asked.journal,
        asked.station,
        asked.angle_deg,
        asked.repeat,
        state.scope.route.index(asked) + 1,
        len(state.scope.route),
        turn_words(study, asked.repeat) if study else "",
    )


def _check(state: State) -> CheckAsked | None:
    what, stint = phase(state), state.stint
    if what is None or stint is None:
        return None
    done = len(state.check.readings) if state.check else 0
    return CheckAsked(what, str(stint.size), done, state.plan.check.readings)


def _rows(
    live: LiveResults, found: Mapping[str, Mapping[int, str]], asked: Position | None
) -> tuple[JournalRow, ...]:
    rows = []
    for name, (_, judged) in live.found.items():
        counted = list(found.get(name, {}).values())
        rows.append(
            JournalRow(
                judged.result,
                counted.count("proven"),
                counted.count("open"),
                counted.count("tainted"),
                is_asked=asked is not None and asked.journal == name,
            )
        )
    return tuple(rows)


def _again(state: State, found: Mapping[str, Mapping[int, str]]) -> tuple[str, ...]:
    """The places whose reading no check can prove any more, in route order."""
    lines = {line for each in found.values() for line, fated in each.items() if fated == "tainted"}
    if not lines:
        return ()
    standing = state.standing
    return tuple(
        str(place)
        for place in state.scope.route
        if place in standing and standing[place].seq in lines
    )


def _judged(judged: JudgedCheck, at_us: int) -> CheckShown:
    event = judged.event
    return CheckShown(
        event.check_no,
        event.stint,
        event.phase,
        event.passed,
        event.mean_error_mm,
        event.spread_mm,
        event.drift_mm,
        event.reason,
        utc_text(judged.at_us),
        max(0, (at_us - judged.at_us) // 1_000_000),
    )


def _last_value(state: State, about: SessionFacts) -> LastValue | None:
    """The latest thing the gauge said that was kept: of the part, of the stack, or held."""
    if state.held is not None:
        event = state.held.event
        return LastValue(
            event.sent.value, event.sent.unit, "held", "", counts=False, why_not=event.reasons
        )
    kept: list[PartReading | StackReading] = [*state.readings[-1:], *state.checks[-1:]]
    last = max(kept, key=lambda taken: taken.seq, default=None)
    if last is None:
        return None
    if isinstance(last, StackReading):
        return _value(last, "stack", "", "taken back" if last.seq in state.voided else "")
    why = _why_not(state, last)
    journal = state.scope.journals.get(last.position.journal)
    words = ""
    if journal is not None and not why:
        words = against_limits(journal, last.sent, estimate_of(state, journal, last, about))
    return msgspec.structs.replace(
        _value(last, "part", str(last.position), why), against_limits=words
    )


def _why_not(state: State, taken: PartReading) -> str:
    if taken.seq in state.voided:
        return "taken back"
    return "no check can prove it any more" if fate(state, taken) == "tainted" else ""


def _value(taken: PartReading | StackReading, of: str, place: str, why: str) -> LastValue:
    sent = taken.sent
    return LastValue(
        sent.value, sent.unit, of, place, counts=not why, why_not=(why,) if why else ()
    )
