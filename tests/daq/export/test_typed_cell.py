"""What cells stand for."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from daq.export.column import ColumnKind, joined
from daq.export.typed_cell import Value, elements, value_of


@pytest.mark.parametrize(
    ("kind", "cell", "value"),
    [
        (ColumnKind.TEXT, "0047", "0047"),
        (ColumnKind.TEXT, "=1+2", "=1+2"),
        (ColumnKind.LENGTH, "59.980", Decimal("59.980")),
        (ColumnKind.NUMBER, "1.730", Decimal("1.730")),
        (ColumnKind.WHOLE, "12", 12),
        (ColumnKind.TRUTH, "true", True),
        (ColumnKind.TRUTH, "false", False),
        (ColumnKind.DATE, "2026-11-25", date(2026, 11, 25)),
        (
            ColumnKind.TIME,
            "2026-11-25T08:00:03.000001Z",
            datetime(2026, 11, 25, 8, 0, 3, 1, tzinfo=UTC),
        ),
        (ColumnKind.LIST, "0;90", ("0", "90")),
        (ColumnKind.HEX_TEXT, "35392e", "35392e"),
        (ColumnKind.OFFSET, "+01:00", "+01:00"),
        (ColumnKind.DIGEST, "1e5", "1e5"),
    ],
)
def test_a_cell_by_its_kind(kind: ColumnKind, cell: str, value: Value) -> None:
    found = value_of(kind, cell)
    assert (type(found), str(found)) == (type(value), str(value)), "digits too"


@pytest.mark.parametrize("kind", ColumnKind)
def test_an_empty_cell_is_none_of_every_kind(kind: ColumnKind) -> None:
    assert value_of(kind, "") is None


def test_elements_are_as_they_were_before_they_were_joined() -> None:
    assert elements(joined(("a;b", "c"))) == ("a;b", "c")
