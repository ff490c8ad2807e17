"""What a session came to, gathered from its state for the answer that is printed. Pure."""

from collections.abc import Mapping

import msgspec

from daq.board.shown_lengths import ShownIn, stated_unit, units_shown
from daq.evaluation.remedies import Settling
from daq.evaluation.verdict import OPEN, groups, judged, reasons
from daq.plan.groups import GroupPlan
from daq.plan.journals import JournalPlan
from daq.record.events import RULES
from daq.record.results import GroupResult, JournalResult
from daq.record.state import State, fates, standing_readings


class SessionEnd(msgspec.Struct, frozen=True, kw_only=True):
    """A session at its end, or as it stays open. `results`, `steps` and `reasons` are those of the
    closing line, if there is one; `said`: why it was ended, as it was given, first among these.

    `unproven`: how many readings of a journal, by its name, no check has proven (while it is open:
    none can prove any more). `settlings`: what would decide a journal that is undecided.
    `show`: the units to read lengths in.
    """

    state: State
    verdict: str
    results: tuple[JournalResult, ...]
    steps: tuple[GroupResult, ...]
    reasons: tuple[str, ...]
    said: tuple[str, ...]
    unproven: Mapping[str, int]
    settlings: Mapping[str, Settling]
    show: ShownIn | None = None

    @property
    def journals(self) -> Mapping[str, JournalPlan]:
        """The journals of the plan by name."""
        return {journal.name: journal for journal in self.state.plan.journals}

    @property
    def is_study(self) -> bool:
        """It is about the gauge, not about a part."""
        return self.state.plan.study is not None

    @property
    def missing(self) -> int:
        """Places of the plan without a reading."""
        return sum(r.positions_planned - r.positions_measured for r in self.results)

    def units(self, journal: str) -> tuple[str, ...]:
        """The units that a journal's lengths are shown in, the first of them first."""
        return units_shown(self.show, stated_unit(self.journals[journal].limits.low))

    def group(self, name: str) -> GroupPlan:
        """A group of the plan."""
        return self.state.plan.group(name)

    def of_group(self, name: str) -> list[JournalResult]:
        """The results of a group's journals, in the plan's order."""
        return [result for result in self.results if result.group == name]


def ended(state: State, show: ShownIn | None = None) -> SessionEnd:
    """All that the answer is made from; of a session that is open, as it stands now. A result of a
    journal that the plan does not have, which no run stores, is left out.
    """
    closed = state.closed
    found = judged(state)
    verdict = closed.verdict if closed else OPEN
    again = reasons(state, verdict, (), found)
    stored = closed.reasons if closed else tuple(again)
    is_own = closed is None or closed.rules == RULES
    said = stored[: len(stored) - len(again)] if is_own else ()
    bad = ("tainted", "open") if closed else ("tainted",)
    counts: dict[str, int] = {}
    fated = fates(state)
    for taken in standing_readings(state):
        if fated[taken.seq] in bad:
            counts[taken.position.journal] = counts.get(taken.position.journal, 0) + 1
    planned = {journal.name for journal in state.plan.journals}
    results = closed.journals if closed else tuple(each.result for each in found)
    return SessionEnd(
        state=state,
        verdict=verdict,
        results=tuple(result for result in results if result.journal in planned),
        steps=closed.groups if closed else groups(state, found),
        reasons=stored,
        said=said,
        unproven=counts,
        settlings={each.result.journal: each.settling for each in found if each.settling},
        show=show,
    )
