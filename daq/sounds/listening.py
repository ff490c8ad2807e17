"""A run that is heard: the tone of each step, and what is spoken of it."""

from collections.abc import Callable

from daq.board.board import Board
from drivers.reading import Reading


class SoundShow:
    """Plays the tone of each step (`with_sound`) and speaks of it (`with_speech`), by whatever the
    machine has for that; never waits for either. What cannot be played or spoken is told once each
    by `tell`, which may be called from another thread.
    """

    def __init__(
        self, with_sound: bool, with_speech: bool, tell: Callable[[str], None], language: str = "en"
    ) -> None:
        self._last: Board | None = None

    def begun(self, board: Board) -> None:
        """Nothing yet; the first step follows at once."""

    def step(self, board: Board, step: object) -> None:
        """Sound like the step that led to this board."""
        self.shown(board)

    def shown(self, board: Board) -> None:
        """The same where there are only boards."""
        self._last = board

    def refused(self, reason: str) -> None:
        """A word was not taken: look here."""

    def advice(self, text: str) -> None:
        """Nothing: a hint is for reading."""

    def streamed(self, reading: Reading) -> None:
        """Nothing: a stream is not counted."""

    def end(self) -> None:
        """Let what sounds come to its end, for a few seconds at most; nothing is left behind."""
