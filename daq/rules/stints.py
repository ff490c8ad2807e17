"""How stints begin, also after the gauge was unplugged. Pure."""

from typing import TypeAlias

from daq.record.events import AnyEvent, Dropped, Entry, GaugeSource, LinkBack, Noted, StintBegan
from daq.record.evolve import evolve
from daq.record.state import State, Status, next_position, status

Events: TypeAlias = tuple[AnyEvent, ...]

WITHOUT_POWER = "the link to the gauge was lost, and without power it may have lost its zero"


def after(state: State, events: Events, at_us: int) -> State:
    """The state once `events` are in the ledger."""
    for event in events:
        state = evolve(state, Entry(state.last_seq + 1, at_us, event))
    return state


def begin_stint(state: State, cause: str, why: str) -> StintBegan:
    """A stint for the next place on the route; `cause` is a stable word, `why` says it."""
    following = next_position(state) or state.job.route[-1]
    name = state.job.stacks[following.journal]
    return StintBegan(
        stint=(state.stint.event.stint if state.stint else 0) + 1,
        source=state.setup.source,
        stack=name,
        stack_size=str(state.job.sizes[name]),
        cause=cause,
        why=why,
    )


def plugged_in_again(state: State, source: GaugeSource, at_us: int) -> Events:
    """What follows when a port is open again in the middle of a run: a new stint where it is
    another device, or where the gauge may have lost its zero without power; else a check.
    """
    events: Events = ()
    if state.held is not None:
        # Nobody can say any more what was between the anvils then; its place is asked for again.
        why = "the link to the gauge was lost before it was answered"
        events = (Dropped(held=state.held.seq, why=why),)
    known = {state.setup.source.device}
    stint = state.stint
    if stint is not None:
        known.add(stint.event.source.device)
    events += (LinkBack(source=source),)
    now = after(state, events, at_us)
    if stint is None or stint.is_over:
        return events
    if source.device not in known:
        why = f"the gauge is {source.device}, the stint began with {stint.event.source.device}"
        return (*events, begin_stint(now, "swapped", why))
    if stint.before is None:
        return events  # its before-check is still due, and begins afresh
    if state.plan.check.power_loss_may_lose_zero:
        again = f"; if {state.ending} still holds, say it again" if state.ending else ""
        return (*events, begin_stint(now, "power-loss", WITHOUT_POWER + again))
    if status(now) is Status.MEASURING:
        return (*events, Noted(about="check", text="the link to the gauge was lost"))
    return events
