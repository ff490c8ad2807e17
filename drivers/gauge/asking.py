"""The dialogue with a gauge that answers: when to ask, how long to wait, which answer is doubtful.

Pure. An answer does not say which request it belongs to, so one request waits for its answer or its
time limit. Once an answer stayed away it is owed until a quiet time has passed. What comes while
another request is out is taken: nothing has been taken in between, so it is of the same place
whichever of the two it answers. What comes with no request out may be of a place before, and is
marked.
"""

import msgspec

from drivers.dialects.outcomes import FIRST_AFTER_OPEN
from drivers.reading import LATE, Instant, Outcome, Reading, Reject

QUIET_REPLIES = 3
"""So many reply times without a byte, and an answer that is owed will not come any more. Chosen by
us."""

_LINE_TROUBLE = frozenset({"noise", "empty", "encoding", "truncated", "overlong"})
"""Rejects that are no answer: the answer itself may still be on its way."""


class Asking(msgspec.Struct, frozen=True):
    """How a gauge that answers is asked: `reply_s` is the longest wait for an answer; with
    `every_s` it is asked again and again, so long after each answer.
    """

    reply_s: float = 1.0
    every_s: float | None = None


class Dialogue:
    """What is due, and what is owed from before. All moments are `mono_ns` of one clock."""

    def __init__(self, asking: Asking) -> None:
        self._reply_ns = int(asking.reply_s * 1e9)
        self._every_ns = None if asking.every_s is None else int(asking.every_s * 1e9)
        self._due_ns: int | None = None  # when the answer must be here
        self._next_ns: int | None = None if self._every_ns is None else 0  # when to ask by itself
        self._owed_until_ns: int | None = None  # till then a reading may answer an older request

    @property
    def wakes_ns(self) -> int | None:
        """The moment at which something is to be done though nothing comes; None: never."""
        return min((ns for ns in (self._due_ns, self._next_ns) if ns is not None), default=None)

    @property
    def is_waiting(self) -> bool:
        """A request is out: the next one has to wait."""
        return self._due_ns is not None

    def is_time(self, now_ns: int) -> bool:
        """The gauge is to be asked by itself now."""
        return not self.is_waiting and self._next_ns is not None and now_ns >= self._next_ns

    def asked(self, now_ns: int) -> None:
        """The request goes out now."""
        self._due_ns = now_ns + self._reply_ns
        self._next_ns = None

    def heard(self, outcome: Outcome, now_ns: int) -> Outcome:
        """Something came; a reading that may be of a place before comes back flagged."""
        is_owed = self._owed_until_ns is not None and now_ns < self._owed_until_ns
        if is_owed:
            self._owe(now_ns)  # not quiet yet
            is_owed = not self.is_waiting
        if is_answer(outcome):
            self._answered(now_ns)
        if is_owed and isinstance(outcome, Reading):
            flags = tuple(sorted({*outcome.flags, LATE}))
            return msgspec.structs.replace(outcome, flags=flags)
        return outcome

    def overdue(self, at: Instant) -> Reject | None:
        """The reject of an answer that did not come in time; None if none is overdue."""
        if self._due_ns is None or at.mono_ns < self._due_ns:
            return None
        self._answered(at.mono_ns)
        self._owe(at.mono_ns)
        words = f"the gauge did not answer within {self._reply_ns / 1_000_000:.0f} ms"
        return Reject("no-reply", words, b"", at)

    def _answered(self, now_ns: int) -> None:
        self._due_ns = None
        if self._every_ns is not None:
            self._next_ns = now_ns + self._every_ns

    def _owe(self, now_ns: int) -> None:
        self._owed_until_ns = now_ns + QUIET_REPLIES * self._reply_ns


def is_answer(outcome: Outcome) -> bool:
    """What came answers the request, with a reading or with an error. Trouble on the line does not:
    the answer may still be on its way.
    """
    if isinstance(outcome, Reading):
        return True
    return outcome.code not in _LINE_TROUBLE and FIRST_AFTER_OPEN not in outcome.flags
