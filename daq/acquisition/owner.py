"""What the loop of a run listens to and works for, as it needs them: inputs, and an owner."""

from contextlib import AbstractContextManager
from typing import Protocol

from daq.acquisition.inputs import Item
from daq.record.events import By
from daq.rules.commands import Why
from drivers.errors import PortLost
from drivers.gauge.reader import GaugeBack
from drivers.reading import Instant, Reading, Reject


class Inputs(Protocol):
    """What a run listens to: one queue, whoever fills it."""

    def listening(self) -> AbstractContextManager[None]:
        """While inside, items come; whatever ends it, the port is given back."""
        ...

    def take(self, patience_s: float | None) -> Item | None:
        """The next item; None: there was none for so long. `patience_s` None waits without end."""
        ...

    def ask(self) -> None:
        """Send the gauge its request."""
        ...


class Owner(Protocol):
    """Whoever owns what the readings are for; only the loop calls it, one thing at a time."""

    @property
    def is_done(self) -> bool:
        """Nothing more is to be taken in."""
        ...

    @property
    def needs(self) -> str:
        """What to do where nobody is left to trigger a reading; a sentence."""
        ...

    def begin(self) -> None:
        """The port is open and the inputs listen."""
        ...

    def patience_s(self) -> float | None:
        """How long to wait before something must be done by itself; None: without end."""
        ...

    def counts(self, reading: Reading, why: Why | None) -> bool:
        """Whether a reading is to be taken; `why` it came, None if nobody wanted it."""
        ...

    def take_reading(self, reading: Reading, why: Why, wanted: Instant) -> None:
        """A reading that counts, or is doubted: `why` it came, and the moment at which whoever
        triggered it did so, as far as that is known.
        """
        ...

    def least_interval_us(self) -> int:
        """How soon a press may follow another by now."""
        ...

    def streamed(self, reading: Reading) -> None:
        """A reading that nobody asked for."""
        ...

    def take_reject(self, reject: Reject) -> None:
        """Bytes that gave no reading."""
        ...

    def advise(self, text: str) -> None:
        """Something about the link is worth saying."""
        ...

    def note(self, text: str, at: Instant) -> None:
        """The link met something that is neither a reading nor bytes."""
        ...

    def press_refused(self) -> str | None:
        """Why no press can be taken now, for the owner's reasons; None if one can."""
        ...

    def refuse(self, words: str) -> None:
        """A press or a word could not be taken."""
        ...

    def typed(self, text: str, at: Instant) -> None:
        """A line that is not empty."""
        ...

    def page_fault(self, word: str, step: int) -> str:
        """Why a button of the page, drawn for `step`, can do nothing now; empty if it can."""
        ...

    def say(self, text: str, at: Instant, by: By) -> None:
        """Do what a line says; raises Refused, and then nothing has happened."""
        ...

    def keyboard_gone(self) -> None:
        """Nobody is at a keyboard any more."""
        ...

    def lose(self, lost: PortLost, at: Instant, *, is_waited_for: bool) -> None:
        """The port is gone; else than waiting for it, the run ends."""
        ...

    def find(self, back: GaugeBack) -> None:
        """A port is open again."""
        ...

    def pass_time(self) -> None:
        """Nothing came for as long as was waited."""
        ...

    def flush(self) -> None:
        """Store what was only counted so far."""
        ...
