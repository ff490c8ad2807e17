"""How far a value lies from the low limit: as it is done by hand from what is shown."""

from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.board.board import Board, LastValue
from daq.board.to_limit import to_limit
from daq.lengths import parse_length
from tests.daq.page.boards import Shown


@pytest.fixture
def board(tmp_path: Path) -> Board:
    """The check read 59.970 and 59.971 on 59.970: the gauge shows 0.0005 mm too much."""
    return Shown(tmp_path / "s").press("59.970", "59.971", "59.980")


def test_a_value_that_counts_is_taken_as_it_is_judged(board: Board) -> None:
    found = to_limit(board)
    assert found is not None
    assert (found.size, found.over, found.unit) == (Decimal("59.9795"), Decimal("0.0095"), "mm")
    assert found.is_corrected


def test_a_value_that_is_held_is_taken_as_sent(board: Board) -> None:
    held = LastValue("59.980", "mm", "held", "M1/front/90", counts=False)
    found = to_limit(replace(board, last=held))
    assert found is not None
    assert (found.size, found.over, found.is_corrected) == (
        *(Decimal("59.980"), Decimal("0.010"), False),
    )


def test_a_value_in_inches_is_held_against_a_limit_in_mm(board: Board) -> None:
    """2.3614 in are 59.97956 mm."""
    held = LastValue("2.3614", "in", "held", "M1/front/90", counts=False)
    found = to_limit(replace(board, last=held))
    assert found is not None
    assert (found.size, found.over) == (Decimal("59.9796"), Decimal("0.0096"))


def test_the_limit_stands_as_the_plan_states_it(board: Board) -> None:
    found = to_limit(board, parse_length("59.97 mm"))
    assert found is not None
    assert str(found.limit) == "59.97"


@pytest.mark.parametrize(
    "last",
    [
        None,
        LastValue("59.970", "mm", "stack", "", counts=True),
        LastValue("20.0", "C", "part", "M1/front/0", counts=True),
        LastValue("59.970", "mm", "held", "", counts=False),
        LastValue("59.970", "mm", "part", "M9/front/0", counts=True),
    ],
)
def test_of_no_journal_or_no_length_there_is_none(board: Board, last: LastValue | None) -> None:
    assert to_limit(replace(board, last=last)) is None
