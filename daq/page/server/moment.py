"""What a page is drawn from: the board and what is said beside it."""

import msgspec

from daq.board.board import Board

MOST_NEWS = 4


class Moment(msgspec.Struct, frozen=True):
    """`news` are the last lines of talk, oldest first; `passed_s` how long ago the board was made;
    `said` the answer in sentences once the session `is_over`. No board: it has not begun.
    """

    board: Board | None = None
    news: tuple[str, ...] = ()
    passed_s: int = 0
    is_over: bool = False
    said: tuple[str, ...] = ()

    @property
    def step(self) -> int:
        """The board's step."""
        return 0 if self.board is None else self.board.step
