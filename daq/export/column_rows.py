"""Rows that are kept column by column: made, and written, without a tuple for each. Pure."""

from collections.abc import Iterator, Sequence
from typing import overload

Row = tuple[str, ...]


class ColumnRows(Sequence[Row]):
    """The rows of columns of the same length, at least one column."""

    __slots__ = ("columns",)

    def __init__(self, columns: Sequence[Sequence[str]]) -> None:
        self.columns = tuple(columns)

    def __len__(self) -> int:
        return len(self.columns[0])

    def __iter__(self) -> Iterator[Row]:
        return zip(*self.columns, strict=True)

    @overload
    def __getitem__(self, index: int) -> Row: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Row]: ...

    def __getitem__(self, index: int | slice) -> Row | Sequence[Row]:
        if isinstance(index, slice):
            return ColumnRows([column[index] for column in self.columns])
        return tuple(column[index] for column in self.columns)

    def __eq__(self, other: object) -> bool:
        """As a tuple of rows."""
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]  # of what may be long

    def __repr__(self) -> str:
        return f"{type(self).__name__}({tuple(self)!r})"


def columns_of_rows(rows: Sequence[Row], many: int) -> Sequence[Sequence[str]]:
    """The columns of rows, `many` of them."""
    if isinstance(rows, ColumnRows):
        return rows.columns
    return list(zip(*rows, strict=True)) or [()] * many
