"""What is spoken of a step."""

from daq.board.board import Board


def spoken(before: Board | None, board: Board) -> str:
    """The words; empty for silence."""
    return ""
