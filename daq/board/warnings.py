"""What a person must know as long as it holds, whatever else is told meanwhile. Pure."""

from collections.abc import Iterator, Sequence

from daq.board.asked import PHASES
from daq.record.events import CheckJudged, is_by_hand
from daq.record.state import State, Status, status
from drivers.reading import utc_day


def warnings(
    state: State, again: str, below: Sequence[str], coarse: str, at_us: int
) -> tuple[str, ...]:
    """What stands until it is dealt with, the most urgent first. `again`: what must be taken again,
    in words; `below`: the journals that are below their limit for certain, likewise; `coarse`: that
    the gauge cannot judge form, which the first place measured answers.
    """
    found: list[str] = []
    if status(state) is not Status.CLOSED:
        if state.link_lost:
            found.append(lost_words(state))
        failed = state.judged[-1].event if state.judged else None
        if failed is not None and not failed.passed and not _is_zeroed_since(state, failed):
            found.append(failed_words(state, failed))
        if again:
            found.append(again)
    found += (f"{words}." for words in below)
    if coarse and not state.readings and state.closed is None:
        found.append(coarse)
    return (*found, *_due(state, at_us))


def lost_words(state: State, reason: str = "") -> str:
    """That the gauge is gone, and that nothing is lost by it; `reason` is told of a link that is no
    cable of ours.
    """
    if "://" not in state.setup.source.device:
        return "Cable out. Plug it in; nothing stored is lost."
    why = f" ({reason})" if reason else ""
    return f"No link to the gauge{why}. It is looked for again; nothing stored is lost."


def failed_words(state: State, event: CheckJudged) -> str:
    """That a check failed, and what to do; nothing is to be done once the session is closed."""
    said = f"{PHASES[event.phase]} FAILED: {event.reason}."
    if state.closed is not None:
        return said
    again = "read it" if is_by_hand(state.setup) else "press"
    return (
        f"{said} Wipe anvils and stack, {again} {state.plan.check.readings} times again. "
        "Still off? Set zero and type zeroed."
    )


def _is_zeroed_since(state: State, failed: CheckJudged) -> bool:
    """The advice to set zero was taken: the check that is asked for now will tell. A failed check
    before goes on in its stint, any other begins one by itself; `zeroed` begins one more, for the
    same cause.
    """
    stint = state.stint.event if state.stint is not None else None
    own = failed.stint if failed.phase == "before" else failed.stint + 1
    return stint is not None and stint.cause == "check-failed" and stint.stint > own


def _due(state: State, at_us: int) -> Iterator[str]:
    """That the gauge's certificate is out of date."""
    gauge = state.gauge
    if gauge is not None and gauge.due is not None and gauge.due < utc_day(at_us):
        yield f"The gauge's certificate was due on {gauge.due}."
