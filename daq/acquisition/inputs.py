"""How a run takes its readings: what makes one, who triggers it, what an unplugged cable means."""

from collections.abc import Callable
from typing import Literal, Protocol, TypeAlias

import msgspec

from daq.acquisition.bound_keys import BoundKeys
from daq.board.asked import PRESS_SEND
from drivers.gauge.asking import Asking
from drivers.gauge.reader import FromGauge, Search
from drivers.reading import Instant


class Typed(msgspec.Struct, frozen=True):
    """A line from the keyboard, and when it was typed. An empty one is a press of the send key."""

    text: str
    at: Instant | None = None


class SendPressed(msgspec.Struct, frozen=True):
    """A send key of its own was pressed: any key of a button device, or one that is to send."""

    at: Instant | None = None


PressOutcome: TypeAlias = Literal["done", "refused", "bad"]
"""What came of a press on the page: refused, because of how things stand now; bad, whatever they
are."""


class PagePressed(msgspec.Struct, frozen=True):
    """A button of the page at the bench: the word, what follows it, and the board's step that it
    was drawn for. `answer` is told once what came of it, with words where it was not done.
    """

    word: str
    text: str
    step: int
    answer: Callable[[PressOutcome, str], None]
    at: Instant | None = None


class KeyWord(msgspec.Struct, frozen=True):
    """A key was pressed that says a word of the operator's."""

    word: str
    at: Instant | None = None


class KeyRefused(msgspec.Struct, frozen=True):
    """A key of a button device was pressed that means nothing, and why."""

    words: str
    at: Instant | None = None


class KeyboardGone(msgspec.Struct, frozen=True):
    """There is no keyboard, or no more."""


class SendKeyGone(msgspec.Struct, frozen=True):
    """The button device is gone, and why."""

    reason: str


class Interrupted(msgspec.Struct, frozen=True):
    """Ctrl-C, or a request to end."""


class Nudged(msgspec.Struct, frozen=True):
    """A signal came; this only ends the waiting."""


Item: TypeAlias = (
    FromGauge
    | Typed
    | SendPressed
    | PagePressed
    | KeyWord
    | KeyRefused
    | KeyboardGone
    | SendKeyGone
    | Interrupted
    | Nudged
)
InputSource: TypeAlias = Callable[[Callable[[Item], None]], None]
"""Runs in a thread of its own and puts items: a keyboard Typed lines and at last KeyboardGone, a
button device SendPressed, KeyWord and KeyRefused, the page PagePressed.
"""


class SendKeySource(Protocol):
    """A button device; `stop` ends its thread."""

    def __call__(self, put: Callable[[Item], None]) -> None: ...
    def stop(self) -> None: ...


class TakingMode(msgspec.Struct, frozen=True):
    """How a run takes its readings.

    `asking`: the gauge answers requests, and a press sends one. `is_stream`: it speaks without end,
    and only the first reading after a press counts. `rest_s`: a value that rested so long counts
    too. `search` looks for the gauge after a loss, for `wait_back_s` (None: without end); without
    it a loss ends the run. `needs_press`: without keyboard or send key no reading would ever come.
    `is_script`: typed lines come from a file or a program, so each waits for the press before it.
    `has_keyboard`: somebody can press here. `has_page`: somebody can press on the page at the
    bench. `is_typed`: the gauge types into this program's window. `keys`: what those of `send_key`
    are for, where they do not all send. `answers`: a reading in question can be answered without a
    keyboard.
    """

    asking: Asking | None = None
    is_stream: bool = False
    rest_s: float | None = None
    send_key: SendKeySource | None = None
    search: Search | None = None
    wait_back_s: float | None = None
    needs_press: bool = False
    is_script: bool = False
    has_keyboard: bool = True
    has_page: bool = False
    is_typed: bool = False
    keys: BoundKeys | None = None
    answers: bool = False

    @property
    def is_gated(self) -> bool:
        """Readings come without being wanted, so not each of them counts."""
        return self.is_stream or self.rest_s is not None

    @property
    def has_trigger(self) -> bool:
        """A press means something: without it the gauge's own button is the only one."""
        return self.asking is not None or self.is_gated

    @property
    def has_send_key(self) -> bool:
        """A key of a device of its own is a press."""
        return self.send_key is not None and (self.keys is None or self.keys.can_send)

    @property
    def press(self) -> str:
        """How a reading is given, in words."""
        if not self.has_trigger or self.is_typed:
            return PRESS_SEND
        if self.has_keyboard:
            key = "press Enter"
        else:
            key = "press the send key" if self.has_send_key else "press send on the page"
        if self.rest_s is None:
            return key
        can_press = self.has_keyboard or self.has_send_key or self.has_page
        return f"hold it still, or {key}" if can_press else "hold it still"


def is_attended(mode: TakingMode, *, has_keyboard: bool) -> bool:
    """Somebody answers: readings in question wait, and a failed check does not end the session."""
    return has_keyboard or mode.answers
