"""How stints begin, also after the gauge was unplugged. Pure."""

from daq.record.advance import Advance
from daq.record.events import Dropped, GaugeSource, LinkBack, Noted, StintBegan
from daq.record.state import State, Status, next_position, status

WITHOUT_POWER = "the cable was out, and without power the gauge may have lost its zero"


def stint_for(state: State, cause: str, why: str) -> StintBegan:
    """A stint for the next place on the route; `cause` is a stable word, `why` says it."""
    following = next_position(state) or state.scope.route[-1]
    name = state.scope.stacks[following.journal]
    return StintBegan(
        stint=(state.stint.event.stint if state.stint else 0) + 1,
        source=state.setup.source,
        stack=name,
        stack_size=str(state.scope.sizes[name]),
        cause=cause,
        why=why,
    )


def begin_stint(now: Advance, cause: str, why: str) -> Advance:
    """Advanced by a new stint for the next place on the route."""
    return now.by(stint_for(now.state, cause, why))


def plugged_in_again(now: Advance, source: GaugeSource) -> Advance:
    """What follows when a port is open again in the middle of a run: a new stint where it is
    another device, or where the gauge may have lost its zero without power; else a check.
    """
    state = now.state
    if state.held is not None:
        # Nobody can say any more what was between the anvils then; its place is asked for again.
        why = "the cable was out before it was answered"
        now = now.by(Dropped(held=state.held.seq, why=why))
    known = {state.setup.source.device}
    stint = state.stint
    if stint is not None:
        known.add(stint.event.source.device)
    now = now.by(LinkBack(source=source))
    if stint is None or stint.is_over:
        return now
    if source.device not in known:
        why = f"another gauge: {source.device}, before it was {stint.event.source.device}"
        return begin_stint(now, "swapped", why)
    if stint.before is None:
        return now  # its before-check is still due, and begins afresh
    if state.plan.check.power_loss_may_lose_zero:
        again = f"; if {state.ending} still holds, say it again" if state.ending else ""
        return begin_stint(now, "power-loss", WITHOUT_POWER + again)
    if status(now.state) is Status.MEASURING:
        return now.by(Noted(about="check", text="the cable was out"))
    return now
