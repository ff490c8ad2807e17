"""The journals of a run judged again after each reading, working out only what changed. Pure.

Who owns the state keeps the last results and hands them in; nothing is kept here.
"""

from collections.abc import Mapping

import msgspec

from daq.evaluation.inputs import SessionFacts, known
from daq.evaluation.journals import Judged
from daq.evaluation.verdict import judge_journal
from daq.record.results import JournalResult
from daq.record.standing import JournalReadings
from daq.record.state import State


class LiveResults(msgspec.Struct, frozen=True):
    """What the checks say (`about`), and each journal's readings with what they came to, by name in
    the order of the run.
    """

    about: SessionFacts
    found: Mapping[str, tuple[JournalReadings | None, Judged]]

    @property
    def judged(self) -> tuple[Judged, ...]:
        """The journals as judged, in the order of the run."""
        return tuple(judged for _, judged in self.found.values())

    @property
    def results(self) -> tuple[JournalResult, ...]:
        """The journals' results, in the order of the run."""
        return tuple(judged.result for judged in self.judged)


def judged_live(state: State, last: LiveResults | None) -> LiveResults:
    """The journals of the run as they stand, without words for what would settle them; `last` are
    the results before, None at first.
    """
    about = known(state, last.about if last is not None else None)
    old = last.found if last is not None and about is last.about else {}
    found = {}
    for name, journal in state.scope.journals.items():
        readings = state.by_journal.get(name)
        kept = old.get(name)
        if kept is None or kept[0] is not readings:
            kept = readings, judge_journal(state, journal, about, is_live=True)
        found[name] = kept
    return LiveResults(about, found)
