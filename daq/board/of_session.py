"""The board of a session: made by the owner of its state after each step. Pure."""

from collections.abc import Mapping, Sequence

import msgspec

from daq.board.again import again_places, again_words
from daq.board.asked import PRESS_SEND, is_strip_due, prompt
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
from daq.board.coarse_form import coarse_form_words
from daq.board.cue import LOOK, LOOK_EVERY_US, cue_of
from daq.board.messages import against_limits, estimate_of, news
from daq.board.placed import Placed, placed
from daq.board.shown_lengths import stated_unit
from daq.board.warnings import warnings
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
    target,
)
from daq.rules.commands import WORDS
from daq.rules.decide import allowed_words
from daq.rules.ending import abandon_loses, stop_rejects
from daq.rules.press_again import can_be_pressed
from daq.rules.steps import fives_words
from drivers.reading import utc_text


class SessionShown(msgspec.Struct, frozen=True):
    """The board that is shown, and what the next one is made from besides the state: the results,
    the fates of each journal's readings, the words for journals below their limit and the places of
    each, by name; `fives`, `coarse`: what was said of the gauge's step. `press`: how a reading is
    given, in words; `can_send`: a press here takes one. `looked_us`: when a step last sounded like
    `look`.
    """

    board: Board
    state: State
    live: LiveResults
    fates: Mapping[str, Mapping[int, str]]
    below: Mapping[str, str]
    places: Mapping[str, Placed] = {}
    fives: str = ""
    coarse: str = ""
    press: str = PRESS_SEND
    can_send: bool = False
    looked_us: int | None = None


SENDABLE = (Status.WAITING, Status.MEASURING, Status.CHECKING, Status.CLOSING)
"""Where a reading is asked for."""


def first_shown(
    state: State,
    at_us: int,
    entries: Sequence[Entry] = (),
    press: str = PRESS_SEND,
    *,
    can_send: bool = False,
) -> SessionShown:
    """The board as a run begins; `entries` are the lines that its beginning stored, `press` says
    how a reading is given, `can_send` that a press here takes one.
    """
    return _shown(None, entries, state, at_us, press, can_send)


def next_shown(
    last: SessionShown, entries: Sequence[Entry], state: State, at_us: int
) -> SessionShown:
    """The board once `entries` are stored and led to `state`, at `at_us` (microseconds UTC)."""
    return _shown(last, entries, state, at_us, last.press, last.can_send)


def _shown(
    last: SessionShown | None,
    entries: Sequence[Entry],
    state: State,
    at_us: int,
    press: str,
    can_send: bool,
) -> SessionShown:
    live = judged_live(state, last.live if last else None)
    found = _fates(state, last)
    places = _placed(state, live.about, found, last)
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
    coarse = (last.coarse if last else "") or coarse_form_words(state)
    if coarse and not (last and last.coarse):
        said = [*said, coarse]
    again = again_places(state, found)
    words = again_words(state, again)
    if words and (last is None or len(again) > len(last.board.again)):
        said = [*said, words]
    board = msgspec.structs.replace(
        _board(state, live, found, places, again, press, at_us),
        news=tuple(said),
        again_words=words,
        warnings=warnings(state, words, tuple(below.values()), coarse, at_us),
        can_send=can_send and (status(state) in SENDABLE or can_be_pressed(state, at_us)),
        press_answers=can_be_pressed(state, at_us),
    )
    looked_us = None
    if last is not None:
        is_new = _standing(last.state, last.board) != _standing(state, board)
        looked_us = last.looked_us
        is_soon = looked_us is not None and 0 <= at_us - looked_us < LOOK_EVERY_US
        cue = cue_of(last.board, entries, board, is_soon=is_soon)
        board = msgspec.structs.replace(board, step=last.board.step + is_new, cue=cue)
        looked_us = at_us if cue == LOOK else looked_us
    return SessionShown(
        board=board,
        state=state,
        live=live,
        fates=found,
        below=below,
        places=places,
        fives=fives,
        coarse=coarse,
        press=press,
        can_send=can_send,
        looked_us=looked_us,
    )


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
        board.can_send,
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
    for name, readings in state.by_journal.items():
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


def _placed(
    state: State,
    about: SessionFacts,
    found: Mapping[str, Mapping[int, str]],
    last: SessionShown | None,
) -> Mapping[str, Placed]:
    """The places of each journal of the run."""
    return {
        name: placed(
            state, journal, found.get(name, {}), about, last.places.get(name) if last else None
        )
        for name, journal in state.scope.journals.items()
    }


def _board(
    state: State,
    live: LiveResults,
    found: Mapping[str, Mapping[int, str]],
    places: Mapping[str, Placed],
    again: Sequence[Position],
    press: str,
    at_us: int,
) -> Board:
    opened, closed, source = state.opened, state.closed, state.setup.source
    asked = next_position(state) if status(state) is Status.MEASURING else None
    rows = _rows(state, live, found, places, asked)
    tainted = sum(list(each.values()).count("tainted") for each in found.values())
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
        asked=prompt(state, press, at_us),
        place=None if asked is None else _place(state, asked),
        check=_check(state),
        last=_last_value(state, live.about),
        rows=rows,
        places_done=progress(state) - len(again),
        places_total=len(state.scope.route),
        places_proven=sum(row.proven for row in rows),
        again=tuple(map(str, again)),
        is_strip_due=is_strip_due(state),
        checks=tuple(_judged(judged, at_us) for judged in state.judged),
        next_check_by=""
        if passed_us is None
        else utc_text(passed_us + state.plan.check.max_age_us),
        link=LinkShown(source.gauge, source.device, source.port, state.link_lost),
        words=tuple(Word(word, *WORDS[word]) for word in allowed_words(state)),
        stop_rejects=stop_rejects(state, tainted),
        abandon_loses=abandon_loses(state),
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
    state: State,
    live: LiveResults,
    found: Mapping[str, Mapping[int, str]],
    places: Mapping[str, Placed],
    asked: Position | None,
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
                unit=stated_unit(state.scope.journals[name].limits.low),
                places=places[name].shown,
            )
        )
    return tuple(rows)


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
    """The latest thing the gauge said that was kept and not taken back: of the part, of the stack,
    or held.
    """
    if state.held is not None:
        event, of = state.held.event, target(state)
        place = str(of) if isinstance(of, Position) else ""
        return LastValue(
            event.sent.value, event.sent.unit, "held", place, counts=False, why_not=event.reasons
        )
    kept = [_latest(state, state.readings), _latest(state, state.checks)]
    last = max((each for each in kept if each), key=lambda taken: taken.seq, default=None)
    if last is None:
        return None
    if isinstance(last, StackReading):
        return _value(last, "stack", "", "")
    why = _why_not(state, last)
    journal = state.scope.journals.get(last.position.journal)
    words = ""
    if journal is not None and not why:
        words = against_limits(journal, last.sent, estimate_of(state, journal, last, about))
    return msgspec.structs.replace(
        _value(last, "part", str(last.position), why), against_limits=words
    )


def _latest(
    state: State, taken: Sequence[PartReading | StackReading]
) -> PartReading | StackReading | None:
    """The last of these that was not taken back."""
    return next((each for each in reversed(taken) if each.seq not in state.voided), None)


def progress(state: State) -> int:
    """How many places on the route of this run are measured or left out."""
    return sum(p in state.standing or p in state.skips for p in state.scope.route)


def _why_not(state: State, taken: PartReading) -> str:
    return "no check can prove it any more" if fate(state, taken) == "tainted" else ""


def _value(taken: PartReading | StackReading, of: str, place: str, why: str) -> LastValue:
    sent = taken.sent
    return LastValue(
        sent.value, sent.unit, of, place, counts=not why, why_not=(why,) if why else ()
    )
