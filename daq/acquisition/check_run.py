"""A check of a gauge on a stack outside any session: who owns its readings while they are taken."""

from collections.abc import Callable

import msgspec

from daq.board.asked import PRESS_SEND
from daq.board.board import Board, LinkShown
from daq.board.of_check import check_board
from daq.errors import CheckStopped
from daq.gauges.check_rules import (
    MOST_DOUBTED,
    CheckWanted,
    StackReadings,
    is_near,
    least_us,
    take,
    zero_lost,
)
from daq.lengths import EXACT, plain, to_mm
from daq.rules.commands import Why
from daq.rules.interval import STREAMS
from drivers.clock import Clock
from drivers.errors import PortLost
from drivers.gauge.reader import GaugeBack
from drivers.reading import Instant, Reading, Reject, escaped


class CheckRun:
    """The owner of one check; `say` shows a line of talk, `asks` being the first, and
    `press` says how a reading is given. What cannot go on raises CheckStopped.
    """

    needs = "Prove the gauge with a keyboard, or with --send-key or --stable."

    def __init__(
        self,
        wanted: CheckWanted,
        link: LinkShown,
        clock: Clock,
        say: Callable[[str], None],
        asks: str = "",
        press: str = PRESS_SEND,
    ) -> None:
        self._asks = asks
        self._press = press
        self._wanted = wanted
        self._clock = clock
        self._say = say
        self._taken = StackReadings()
        self._shown_ns = 0  # when the prompt was shown that something else than a reading led to
        self.board: Board = check_board(
            None, wanted, self._taken, link, clock.now().utc_us, press=press
        )

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

    def patience_s(self) -> float | None:
        """Nothing is done by itself."""
        return None

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
        is_early = why != "typed" and wanted.mono_ns < self._shown_ns
        aside = "it came before the stack was asked for" if is_early else ""
        said = take(self._taken, reading, self._wanted, why, aside)
        self._taken = said.taken
        self._tell(said.words or self._line(reading), reading)
        if self._taken.doubted >= MOST_DOUBTED:
            words = f"{MOST_DOUBTED} readings in a row did not count"
            raise CheckStopped(f"{words}; {STREAMS}" if self._taken.is_stream else words)

    def least_interval_us(self) -> int:
        """How soon a press may follow another by now."""
        return least_us(self._taken, self._wanted)

    def streamed(self, reading: Reading) -> None:
        """Nothing: lines of a stream would push away all others."""

    def take_reject(self, reject: Reject) -> None:
        """Told, and nothing more."""
        self._say(f"{reject.code}: {reject.detail} [{escaped(reject.raw)}]")

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
        """back or stop."""
        word, _, rest = text.strip().partition(" ")
        if word == "back" and self._taken.readings:
            self._taken = self._taken.without(1)
            self._tell("The last reading is taken back.")
        elif word in ("stop", "abandon"):
            raise CheckStopped(rest.strip() or "stopped by the operator")
        else:
            self._say("Not done: the words here are back and stop.")

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
        """Nothing is counted untold."""

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
        )
        self._say(words)

    def _line(self, reading: Reading) -> str:
        error = EXACT.subtract(to_mm(reading.value, reading.unit), self._wanted.stack.size.mm)
        count = f"{len(self._taken.readings)}/{self._wanted.readings}"
        sign = "+" if error > 0 else ""
        return f"{count}  {plain(reading.value)} {reading.unit}  error {sign}{plain(error)} mm"
