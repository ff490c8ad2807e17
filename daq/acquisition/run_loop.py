"""The one loop of a run: gauge, keyboard and send key put in, and one owner takes out.

What a run is for (a session, a check of a gauge outside any) is its owner's; how presses, losses,
lines of a script and interrupts are met is here, the same for both.
"""

from collections.abc import Callable
from typing import assert_never

from daq.acquisition.inputs import (
    Interrupted,
    KeyboardGone,
    KeyRefused,
    KeyWord,
    Nudged,
    PagePressed,
    PressOutcome,
    SendKeyGone,
    SendPressed,
    TakingMode,
    Typed,
    is_attended,
)
from daq.acquisition.owner import Inputs, Owner
from daq.acquisition.reconnect import Absence
from daq.acquisition.trigger import TOLD_EVERY_NS, Presses, TypedLines
from daq.board.asked import SEND
from daq.errors import CheckStopped, Refused, SettingsError
from drivers.clock import Clock
from drivers.errors import PortLost
from drivers.gauge.advice import Adviser
from drivers.gauge.reader import GaugeBack, GaugeLost, Notice
from drivers.reading import Instant, Reading, Reject

NOBODY = "The keyboard is gone, and nobody else could trigger a reading. "

_OF_THE_LINE = {"unknown-command", "argument-missing", "argument-not-wanted", "too-long"}
"""Refusals that no other moment would change."""


TOO_SOON = "that press came too soon after the one before: press once for each reading"


class RunLoop:
    """One run on one open port. `kind` is that of the gauge's profile, for hints."""

    def __init__(
        self, inputs: Inputs, owner: Owner, clock: Clock, mode: TakingMode, kind: str
    ) -> None:
        self._inputs = inputs
        self._owner = owner
        self._clock = clock
        self._mode = mode
        self._kind = kind
        self._presses = Presses(mode)
        self._lines = TypedLines(mode, self._presses)
        self._absence = Absence(mode.wait_back_s)
        self._adviser = Adviser(kind)
        self._key_told_ns: int | None = None

    def run(self) -> None:
        """Until the owner is done.

        Raises PortLost when the gauge is gone and KeyboardInterrupt when it is interrupted, this
        between two steps and never within one; whatever ends it, the port is given back.
        """
        with self._inputs.listening():
            self._owner.begin()
            while not self._owner.is_done:
                self.step()

    def step(self, longest_s: float | None = None) -> None:
        """Take one item in, or let time pass; waits at most `longest_s` if that is given."""
        item = self._inputs.take(self._patience_s(longest_s))
        match item:
            case None:
                self._passed()
            case Reading():
                self._reading(item)
            case Reject():
                self._reject(item)
            case Notice():
                self._owner.note(item.text, item.at)
            case GaugeLost():
                self._lose(item.lost, item.at)
            case GaugeBack():
                self._find(item)
            case Typed() | KeyboardGone():
                self._lines.add(item)
                self._go_on_typing()
            case SendPressed():
                self.press(item.at or self._clock.now())
            case PagePressed():
                self._page_pressed(item)
            case KeyWord():
                self._key_word(item.word, item.at or self._clock.now())
            case KeyRefused():
                self._refuse_key(item.words, item.at or self._clock.now())
            case SendKeyGone():
                self._owner.note(f"the send key: {item.reason}", self._clock.now())
            case Nudged():
                return  # the signal's handler has run by now
            case Interrupted():
                self._owner.flush()
                raise KeyboardInterrupt
            case Exception():
                raise item
            case _:
                assert_never(item)

    def _patience_s(self, longest_s: float | None) -> float | None:
        """How long to wait for the queue: for ever, or until something must be done by itself."""
        waits = [self._owner.patience_s(), longest_s]
        left_s = self._absence.left_s(self._clock.now().mono_ns)
        if left_s is not None:
            waits.append(left_s + 0.001)
        waits.append(self._line_waits_s())
        return min((wait for wait in waits if wait is not None), default=None)

    def _line_waits_s(self) -> float | None:
        """How long the next line of a script has to wait for the least interval, if it does."""
        if not self._lines.are_any or self._owner.is_done or self._presses.is_waiting:
            return None
        left_ns = self._lines.left_ns(self._clock.now().mono_ns, self._owner.least_interval_us())
        return None if left_ns is None else left_ns / 1e9 + 0.001

    def _passed(self) -> None:
        self._owner.flush()
        if self._absence.lost is not None and self._absence.is_over(self._clock.now().mono_ns):
            raise self._absence.lost
        self._owner.pass_time()
        self._go_on_typing()

    def _reading(self, reading: Reading) -> None:
        self._adviser.after(reading)
        self._absence.heard()
        why = self._presses.why(reading)
        self._presses.heard(reading)
        if self._owner.counts(reading, why):
            wanted = self._presses.wanted(reading, why)
            self._owner.take_reading(reading, why or "sent", wanted)
            if why == "rested":
                self._presses.rested(reading.at)
        else:
            self._owner.streamed(reading)
        self._go_on_typing()

    def _reject(self, reject: Reject) -> None:
        self._presses.heard(reject)
        if self._presses.is_told(reject):
            self._owner.take_reject(reject)
        advice = self._adviser.after(reject)
        if advice:
            self._owner.advise(advice)
        self._go_on_typing()

    def _page_pressed(self, pressed: PagePressed) -> None:
        """A button of the page: done only if it was drawn for how things stand now."""
        at = pressed.at or self._clock.now()
        fault = self._owner.page_fault(pressed.word, pressed.step)
        if fault:
            pressed.answer("refused", fault)
        elif pressed.word == SEND:
            refused = self.press(at)
            pressed.answer("done" if refused is None else "refused", _in_words(refused))
        else:
            self._say(f"{pressed.word} {pressed.text}".rstrip(), at, pressed.answer)

    def _say(self, line: str, at: Instant, answer: Callable[[PressOutcome, str], None]) -> None:
        """Do what a line of the page says, and answer once that is stored."""
        try:
            self._owner.say(line, at, "board")
        except Refused as refused:
            answer("bad" if refused.code in _OF_THE_LINE else "refused", str(refused))
        except CheckStopped:
            answer("done", "")
            raise
        except BaseException:
            answer("refused", "this could not be stored, and the run ends")
            raise
        else:
            answer("done", "")

    def press(self, at: Instant) -> str | None:
        """The operator's send key; gives why it was refused, None if it was not."""
        if not self._mode.has_trigger:
            words = self._presses.refusal(is_away=False) or ""
            self._owner.refuse(words)
            return words
        soon = self._presses.too_soon(at, self._owner.least_interval_us())
        is_away = self._absence.lost is not None
        other = self._owner.press_refused() or self._presses.refusal(is_away)
        refused = other if soon is None else soon
        if refused:
            self._owner.refuse(refused)
        elif refused is None and self._presses.press(at):
            self._inputs.ask()
        return refused

    def _key_word(self, word: str, at: Instant) -> None:
        """A key that says a word."""
        try:
            self._owner.say(word, at, "send key")
        except Refused as refused:
            self._owner.refuse(str(refused))

    def _refuse_key(self, words: str, at: Instant) -> None:
        """A key that means nothing, told once a second at most."""
        if self._key_told_ns is None or at.mono_ns - self._key_told_ns >= TOLD_EVERY_NS:
            self._key_told_ns = at.mono_ns
            self._owner.refuse(words)

    def _go_on_typing(self) -> None:
        while not self._owner.is_done and (item := self._due()) is not None:
            if isinstance(item, KeyboardGone):
                self._keyboard_gone()
            elif item.text.strip():
                self._owner.typed(item.text, item.at or self._clock.now())
            elif self._mode.has_trigger:
                self.press(item.at or self._clock.now())

    def _due(self) -> Typed | KeyboardGone | None:
        """The next line that may act now."""
        if not self._lines.are_any:
            return None
        return self._lines.due(self._clock.now().mono_ns, self._owner.least_interval_us())

    def _keyboard_gone(self) -> None:
        self._presses.keyboard_gone()
        if self._mode.needs_press and not self._mode.has_page:
            raise SettingsError(NOBODY + self._owner.needs)
        if not is_attended(self._mode, has_keyboard=False):
            self._owner.keyboard_gone()

    def _lose(self, lost: PortLost, at: Instant) -> None:
        """The port is gone: end the run, or wait for the gauge."""
        self._owner.flush()
        self._presses.lost()
        is_waited_for = self._mode.search is not None
        self._owner.lose(lost, at, is_waited_for=is_waited_for)
        if not is_waited_for:
            raise lost
        self._absence.begin(lost, at.mono_ns)
        self._go_on_typing()

    def _find(self, back: GaugeBack) -> None:
        """The gauge is back, or another one is in its place."""
        self._absence.end()
        self._adviser = Adviser(self._kind)
        self._owner.find(back)


def _in_words(refused: str | None) -> str:
    """Why a press was refused. Whoever pressed is told each time, also where the terminal was told
    just now.
    """
    return TOO_SOON if refused == "" else refused or ""
