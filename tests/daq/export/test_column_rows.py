"""Rows that are kept by columns are what a tuple of rows would be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.export.column_rows import ColumnRows, columns_of_rows

ROWS = st.lists(st.tuples(st.text(max_size=3), st.text(max_size=3)), max_size=9)


@given(ROWS)
def test_rows_by_column_are_as_a_tuple_of_rows(rows: list[tuple[str, str]]) -> None:
    same = tuple(rows)
    made = ColumnRows([[first for first, _ in rows], [second for _, second in rows]])
    assert (tuple(made), len(made), bool(made)) == (same, len(same), bool(same))
    assert [made[at] for at in range(-len(same), len(same))] == [*same, *same]
    assert tuple(made[1:]) == same[1:]
    assert made == same
    assert (made == (*same, ("a", "b"))) is False
    assert [tuple(column) for column in columns_of_rows(made, 2)] == [
        tuple(column) for column in columns_of_rows(same, 2)
    ]


def test_columns_of_unlike_lengths_are_no_rows() -> None:
    with pytest.raises(ValueError, match="zip"):
        tuple(ColumnRows([["a", "b"], ["c"]]))


def test_rows_say_what_they_hold() -> None:
    assert repr(ColumnRows([["a"], ["b"]])) == "ColumnRows((('a', 'b'),))"
