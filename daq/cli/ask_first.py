"""At a terminal, a word that would lose much is asked about once; typed again it is done."""

from collections.abc import Callable
from typing import Protocol

import msgspec

from daq.acquisition.inputs import InputSource, Item, Typed
from daq.board.board import Board


class AskingDisplay(Protocol):
    """A display that can ask."""

    @property
    def board(self) -> Board | None:
        """How things stand."""
        ...

    def ask(self, question: str) -> None:
        """Show a question; empty takes it away."""
        ...


class Doubtful(msgspec.Struct, frozen=True):
    """A line that was asked about, at a step of the board."""

    word: str
    line: str
    step: int


def question_of(line: str, board: Board) -> str:
    """What to ask before a line is done; empty if nothing. A word that lacks its reason is refused
    anyway.
    """
    word, _, reason = line.strip().partition(" ")
    if not reason.strip():
        return ""
    if word.lower() == "stop" and board.stop_rejects:
        return (
            f"stop now rejects the session: {board.stop_rejects}. Type stop again to do it, or go "
            "on measuring."
        )
    if word.lower() == "abandon" and board.abandon_loses:
        return (
            f"abandon closes the session without a check: {board.abandon_loses}. Type abandon "
            "again to do it, or go on measuring."
        )
    return ""


class AskFirst:
    """Lines as they are typed, in order, and what is asked about them."""

    def __init__(self) -> None:
        self._doubtful: Doubtful | None = None

    def hear(self, line: str, board: Board | None) -> tuple[str | None, str]:
        """The line to be done now, None if it is to be asked about first, and the question, empty
        if none stands any more. The word alone does as the whole line that was asked about; once
        the board has moved on it is asked about again.
        """
        asked, self._doubtful = self._doubtful, None
        if board is None:
            return line, ""
        word, _, rest = line.strip().partition(" ")
        if asked is not None and (asked.word, asked.step) == (word.lower(), board.step):
            return line if rest.strip() else asked.line, ""
        question = question_of(line, board)
        if not question:
            return line, ""
        self._doubtful = Doubtful(word.lower(), line, board.step)
        return None, question


def asked_first(keyboard: InputSource, show: AskingDisplay) -> InputSource:
    """The keyboard, a question before what would lose much."""

    def listen(put: Callable[[Item], None]) -> None:
        first, is_open = AskFirst(), False

        def lead(item: Item) -> None:
            nonlocal is_open
            if not isinstance(item, Typed):
                put(item)
                return
            line, question = first.hear(item.text, show.board)
            if question or is_open:
                show.ask(question)
            is_open = bool(question)
            if line is not None:
                put(item if line == item.text else Typed(line, item.at))

        keyboard(lead)

    return listen
