"""A check of a gauge on a stack outside any session: who owns its readings while they are taken."""

from collections.abc import Callable

import msgspec

from daq.acquisition.hand_typed import HandTyped
from daq.acquisition.reject_fold import RejectFold
from daq.board.asked import PRESS_SEND, page_fault
from daq.board.board import Board, LinkShown
from daq.board.of_check import check_board
from daq.equipment.gauge import TYPED_PORT
from daq.errors import CheckStopped, Refused
from daq.gauges.check_rules import (
    MOST_DOUBTED,
    CheckWanted,
    StackReadings,
    is_near,
    least_us,
    take,
    typed_on_stack,
    zero_lost,
)
from daq.lengths import EXACT, plain, to_mm
from daq.record.events import By
from daq.record.state import STACK
from daq.rules.commands import TakeReject, Why
from daq.rules.interval import STREAMS, early_words
from daq.rules.typed_value import is_value
from drivers.clock import Clock
from drivers.errors import PortLost
from drivers.gauge.reader import GaugeBack
from drivers.reading import Instant, Reading, Reject, escaped


class CheckRun:
    """The owner of one check; `say` shows a line of talk, `asks` being the first, and `shown` each
    board. `press` says how a reading is given, `can_send` that a press here takes one. What cannot
    go on raises CheckStopped.
    """

    def __init__(
        self,
        wanted: CheckWanted,
        link: LinkShown,
        clock: Clock,
        say: Callable[[str], None],
        asks: str = "",
        press: str = PRESS_SEND,
        *,
        can_send: bool = False,
        shown: Callable[[Board], None] = lambda board: None,
    ) -> None:
        self._asks = asks
        self._press = press
        self._can_send = can_send
        self._show = shown
        self._wanted = wanted
        self._clock = clock
        self._say = say
        self._taken = StackReadings()
        self._rejects = RejectFold()
        self._shown_ns = 0  # when the prompt was shown that something else than a reading led to
        self.board: Board = check_board(
            None, wanted, self._taken, link, clock.now().utc_us, press=press, can_send=can_send
        )

    @property
    def needs(self) -> str:
        """What to do where nobody is left to trigger a reading."""
        if self.board.link.port == TYPED_PORT:
            return "Begin again, and type all readings."
        return "Prove the gauge with a keyboard, or with --send-key or --stable."

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Those that count, in order."""
        return self._taken.readings

    @property
    def is_done(self) -> bool:
        """All that is wanted was read."""
        return len(self._taken.readings) >= self._wanted.readings

    def begin(self) -> None:
        """Say what is wanted; what came before now is no reading of it."""
        self._shown_ns = self._clock.now().mono_ns
        if self._asks:
            self._say(self._asks)
        self._show(self.board)

    def patience_s(self) -> float | None:
        """Until what was only counted is told."""
        return 1.0 if self._rejects.has_pending else None

    def counts(self, reading: Reading, why: Why | None) -> bool:
        """Of a stream a reading counts if it was pressed for, or rested near the stack, or says
        that the zero is lost.
        """
        return (
            why not in ("rested", None)
            or (why == "rested" and is_near(reading, self._wanted))
            or bool(zero_lost(self._taken, reading))
        )

    def take_reading(self, reading: Reading, why: Why, wanted: Instant) -> None:
        """A reading of the stack, or one that is doubted."""
        self.flush()
        self._rejects.reading_came()
        is_early = why != "typed" and wanted.mono_ns < self._shown_ns
        aside = early_words(STACK, why) if is_early else ""
        said = take(self._taken, reading, self._wanted, why, aside)
        self._taken = said.taken
        self._tell(said.words or self._line(reading), reading)
        if self._taken.doubted >= MOST_DOUBTED:
            words = f"{MOST_DOUBTED} readings in a row did not count"
            is_stream = self._taken.is_stream and why != "typed"
            raise CheckStopped(f"{words}; {STREAMS}" if is_stream else words)

    def least_interval_us(self) -> int:
        """How soon a press may follow another by now."""
        return least_us(self._taken, self._wanted)

    def streamed(self, reading: Reading) -> None:
        """Nothing: lines of a stream would push away all others."""

    def take_reject(self, reject: Reject) -> None:
        """Told, and nothing more; many in a row by their number."""
        self._tell_rejects(self._rejects.take(reject))

    def advise(self, text: str) -> None:
        """A hint about the link."""
        self._say(f"Hint: {text}")

    def note(self, text: str, at: Instant) -> None:
        """What the link met."""
        self._say(f"Note: {text}")

    def press_refused(self) -> str | None:
        """Nothing stands in the way of a press."""
        return None

    def refuse(self, words: str) -> None:
        """Why something was not taken."""
        self._say(f"Not done: {words}.")

    def typed(self, text: str, at: Instant) -> None:
        """A line of the operator's."""
        try:
            self.say(text, at)
        except Refused as refused:
            self.refuse(str(refused))

    def page_fault(self, word: str, step: int) -> str:
        """Why a button of the page can do nothing now; empty if it can."""
        return page_fault(self.board, word, step)

    def say(self, text: str, at: Instant, by: By = "keyboard") -> None:
        """back or stop, or a value where those are typed; raises Refused for another word."""
        if self._wanted.is_by_hand and is_value(text):
            self._take_typed(text, at)
            return
        word, _, rest = text.strip().partition(" ")
        if word == "back" and rest.strip():
            raise Refused("argument-not-wanted", "back stands alone: take back the last reading")
        if word == "back" and self._taken.readings:
            self._taken = self._taken.without(1)
            self._tell("The last reading is taken back.")
        elif word in ("stop", "abandon"):
            raise CheckStopped(rest.strip() or "stopped by the operator")
        else:
            raise Refused("unknown-command", "the words here are back and stop")

    def _take_typed(self, text: str, at: Instant) -> None:
        for each in HandTyped().take(text, at, typed_on_stack(self._taken, self._wanted), None):
            if isinstance(each, Reading):
                self.take_reading(each, "typed", at)
            elif isinstance(each, Reject):
                self._say(f"{each.detail}.")

    def keyboard_gone(self) -> None:
        """The gauge's own button is enough."""

    def lose(self, lost: PortLost, at: Instant, *, is_waited_for: bool) -> None:
        """What was read before may be of another zero: the check begins again."""
        if is_waited_for:
            self._taken = self._taken.without(len(self._taken.readings))
            words = f"Note: {lost} Waiting for it to come back; the check then begins again."
            self._tell(words, is_lost=True)

    def find(self, back: GaugeBack) -> None:
        """The gauge is back; another one is not what was to be proven."""
        if back.identity.text != self.board.link.device:
            raise CheckStopped(f"another gauge is in its place: {back.identity.text}")
        self._shown_ns = self._clock.now().mono_ns
        self._tell("Note: the gauge is back; the check begins again.", is_lost=False)

    def pass_time(self) -> None:
        """Nothing ages here."""

    def flush(self) -> None:
        """Tell what was only counted."""
        self._tell_rejects(self._rejects.flush())

    def _tell_rejects(self, row: TakeReject | None) -> None:
        if row is None:
            return
        many = f" ({row.count} in a row)" if row.count > 1 else ""
        reject = row.reject
        self._say(f"{reject.code}{many}: {reject.detail} [{escaped(reject.raw)}]")

    def _tell(
        self, words: str, reading: Reading | None = None, *, is_lost: bool | None = None
    ) -> None:
        link = self.board.link
        if is_lost is not None:
            link = msgspec.structs.replace(link, is_lost=is_lost)
        at_us = self._clock.now().utc_us
        self.board = check_board(
            self.board,
            self._wanted,
            self._taken,
            link,
            at_us,
            reading=reading,
            said=words,
            press=self._press,
            can_send=self._can_send,
        )
        self._say(words)
        self._show(self.board)

    def _line(self, reading: Reading) -> str:
        error = EXACT.subtract(to_mm(reading.value, reading.unit), self._wanted.stack.size.mm)
        count = f"{len(self._taken.readings)}/{self._wanted.readings}"
        sign = "+" if error > 0 else ""
        return f"{count}  {plain(reading.value)} {reading.unit}  error {sign}{plain(error)} mm"
