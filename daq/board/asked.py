"""What the operator is to do next, in words. Pure."""

from daq.board.board import Asked, Board
from daq.lengths import Position
from daq.plan.turns import turn_words
from daq.record.events import Sent, is_by_hand
from daq.record.state import State, Status, last_taken, next_position, phase, status
from daq.rules.plausibility import ANSWER
from daq.rules.press_again import can_be_pressed, offer_words

PHASES = {
    "before": "Check before measuring",
    "during": "Check in between",
    "after": "Check after measuring",
}

PRESS_SEND = "press send"
"""How a reading is given by a gauge with a button of its own."""

SEND = "send"
"""The word of a button, or a key, that takes a reading; nobody types it: that is Enter."""

OLDER_STEP = "things have moved on since that button was drawn: look, then press again"
"""Why a press on the page is refused that was meant for how things stood before."""

TYPE_IT = "type the value, then Enter"
"""What is to be done where a person reads the gauge."""

STRIP_NOW = "Strip now, or type later"


def page_fault(board: Board, word: str, step: int) -> str:
    """Why a button of the page, drawn for `step` of the board, can do nothing now; empty if it
    can.
    """
    if step != board.step:
        return OLDER_STEP
    if word == SEND and board.can_send:
        return ""
    allowed = [each.word for each in board.words]
    if word in allowed:
        return ""
    return f"{word} is not possible now. Possible: {', '.join(allowed) or 'nothing more'}"


def prompt(state: State, press: str = PRESS_SEND, at_us: int | None = None) -> Asked:
    """What the operator is to do next at `at_us`, where that matters; `press` says how a reading is
    given.
    """
    now = status(state)
    if state.link_lost and now is not Status.CLOSED:
        return _waiting_for_gauge(state)
    if now is Status.CLOSED:
        assert state.closed is not None
        return Asked(f"Session {state.closed.verdict}", "", state.closed.verdict)
    if now is Status.OVER:
        return Asked("Session stays open", "resume it to measure the rest", "Stays open")
    if state.held is not None:
        sent = state.held.event.sent
        is_late = at_us is not None and not can_be_pressed(state, at_us)
        return Asked(
            f"Held: {value_words(sent)}",
            question(state.held.event.reasons, "" if is_late else offer_words(state, press)),
            "Keep or drop?",
        )
    if phase(state) is not None:
        return _stack(state, press)
    position = next_position(state)
    assert position is not None
    place = f"{position.journal}  {position.station}  {position.angle_deg}°"
    headline = f"{place}{_repeat(state, position)}"
    number, total = state.scope.route.index(position) + 1, len(state.scope.route)
    action = f"place {number} of {total}: {_do(state, press)}"
    if is_strip_due(state):
        return Asked(STRIP_NOW, f"then {headline}, {action}", "Strip now")
    return Asked(headline, action, place.replace("  ", " "))


def _do(state: State, press: str, where: str = "") -> str:
    return TYPE_IT if is_by_hand(state.setup) else f"{press}{where}"


def _waiting_for_gauge(state: State) -> Asked:
    source = state.setup.source
    if "://" in source.device:
        waiting, what = f"Waiting for gauge {source.gauge}", "it is looked for again and again"
        return Asked(waiting, what, "No gauge")
    where = "in any socket" if source.serial else "where it was"
    device = "" if source.gauge == source.device else f" ({source.device})"
    waiting = f"Waiting for gauge {source.gauge}{device}"
    return Asked(waiting, f"plug it in again, {where}", "Cable out")


def _stack(state: State, press: str) -> Asked:
    """The check that is due."""
    what, stint = phase(state), state.stint
    assert what is not None
    assert stint is not None
    done, wanted = len(state.check.readings) if state.check else 0, state.plan.check.readings
    headline = f"{PHASES[what]}: stack {stint.size}"
    action = f"reading {done + 1} of {wanted}: {_do(state, press, ' on the stack')}"
    if is_strip_due(state):
        headline = f"{headline[0].lower()}{headline[1:]}"
        return Asked(STRIP_NOW, f"then {headline}, {action}", "Strip now")
    return Asked(headline, action, f"Stack {done + 1}/{wanted}")


def is_strip_due(state: State) -> bool:
    """The next place is the first of those that are reached only after stripping, while others were
    open: a step of its own, until a reading of what comes then is in.

    In a study nobody strips anything between two trials.
    """
    following, journals = next_position(state), state.scope.journals
    if following is None or not journals[following.journal].is_after_strip or state.plan.study:
        return False
    if all(journal.is_after_strip for journal in journals.values()):
        return False
    if any(_is_reached(state, place) for place in (*state.standing, *state.skips)):
        return False
    what = phase(state)
    if what is None:
        # A stint that began for these was announced before its check, and said once is enough.
        last, stint = last_taken(state), state.stint
        return last is None or stint is None or last.stint == stint.event.stint
    return what == "before" and (state.check is None or not state.check.readings)


def _is_reached(state: State, place: Position) -> bool:
    journal = state.scope.journals.get(place.journal)
    return journal is not None and journal.is_after_strip


def _repeat(state: State, position: Position) -> str:
    if state.plan.study is not None:
        return f"  {turn_words(state.plan.study, position.repeat)}"
    repeats = state.scope.journals[position.journal].repeats
    return f"  repeat {position.repeat} of {repeats}" if repeats > 1 else ""


def value_words(sent: Sent) -> str:
    """A sent value with its unit, as the gauge showed it."""
    return f"{sent.value} {sent.unit}".rstrip()


def question(reasons: tuple[str, ...], offer: str = "") -> str:
    """What is in doubt, and what to do: what is `offer`ed besides words to type, if anything is;
    some reasons say that already.
    """
    said = sentence(reasons)
    if offer:
        return f"{said} {offer}, or type keep or drop"
    return said if ANSWER in said else f"{said} Type keep or drop"


def sentence(reasons: tuple[str, ...]) -> str:
    """Reasons with one end mark: some are questions."""
    words = "; ".join(reasons)
    return words if words.endswith("?") else f"{words}."
