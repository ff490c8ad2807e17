"""What would be lost by ending a session now. Pure."""

from daq.record.state import State, status
from daq.rules.commands import Abandon, StopHere
from daq.rules.decide import ALLOWED


def stop_rejects(state: State, tainted: int) -> str:
    """Why `stop` would end the session as rejected now, whatever its closing check says; empty if
    it need not, or is not allowed. `tainted`: so many readings stand that no check can prove any
    more.

    That is so where such a reading stands, or where no check before measuring ever passed. What was
    read since the last passed check is no reason: the closing check may prove it. Where no stint
    runs, or its first check is still due, nothing is left of that.
    """
    if status(state) not in ALLOWED[StopHere]:
        return ""
    if tainted:
        return f"{tainted} reading{'s are' if tainted > 1 else ' is'} not proven"
    if not any(each.event.passed and each.event.phase == "before" for each in state.judged):
        return "the gauge has not passed a check yet"
    return ""


def abandon_loses(state: State) -> str:
    """What `abandon` would take from the session now: that what was measured comes to no verdict;
    empty if nothing was, or it is not allowed.
    """
    if status(state) not in ALLOWED[Abandon]:
        return ""
    count = len(state.standing)
    return f"{count} reading{'s' if count > 1 else ''} would come to nothing" if count else ""
