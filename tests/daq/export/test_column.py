"""The cell of a list."""

import pytest

from daq.export.column import joined


@pytest.mark.parametrize(
    ("elements", "cell"),
    [
        ((), ""),
        (("a",), "a"),
        (("a", "b c"), "a;b c"),
        (("a;b", "c"), r"a\x3bb;c"),
        ((";",), r"\x3b"),
    ],
)
def test_every_separator_of_a_cell_parts_two_elements(elements: tuple[str, ...], cell: str) -> None:
    assert joined(elements) == cell
    assert cell.count(";") == max(len(elements) - 1, 0)
