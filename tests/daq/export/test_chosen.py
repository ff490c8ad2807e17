"""Some columns in an order that somebody asks for."""

from collections.abc import Sequence

import pytest

from daq.errors import UsageError
from daq.export.chosen import chosen
from daq.export.tables import Table
from tests.builders import accepted, tables_of


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Table, ...]:
    return tables_of(accepted(tmp_path_factory.mktemp("chosen") / "s"))


def names(found: Sequence[Table]) -> dict[str, list[str]]:
    return {table.name: list(table.names) for table in found}


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("verdict journal", {"journals": ["verdict", "journal"]}),
        ("value seq", {"readings": ["value", "seq"], "checks": ["value", "seq"]}),
        ("checks.value checks.seq", {"checks": ["value", "seq"]}),
        ("journals.journal steps.group", {"journals": ["journal"], "steps": ["group"]}),
        (
            "session_id journals.verdict angle_deg",  # plain ones go to every table that has both
            {
                "readings": ["session_id", "angle_deg"],
                "journals": ["session_id", "verdict"],
                "notes": ["session_id", "angle_deg"],
            },
        ),
        ("verdict verdict", {"journals": ["verdict"]}),
    ],
)
def test_tables_that_have_all_of_the_columns_have_them_in_that_order(
    made: tuple[Table, ...], wanted: str, found: dict[str, list[str]]
) -> None:
    assert names(chosen(made, wanted.split())) == found


def test_rows_follow_their_columns(made: tuple[Table, ...]) -> None:
    (table,) = chosen(made, ["readings.value", "readings.journal"])
    assert table.rows[0] == ("59.980", "M1")
    assert len(table.rows) == 6


def test_keys_that_are_whole_stay(made: tuple[Table, ...]) -> None:
    found = {
        table.name: table.keys
        for table in chosen(
            made, ["session_id", "readings.seq", "readings.journal", "journals.journal"]
        )
    }
    assert found["readings"] is not None
    assert found["readings"].primary == ("session_id", "seq")
    assert {key.table for key in found["readings"].foreign} == {"journals", "sessions"}
    (bare,) = chosen(made, ["readings.value"])
    assert bare.keys is not None
    assert (bare.keys.primary, bare.keys.foreign) == ((), ())


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ("smalest_mm", "no column 'smalest_mm' in these tables. Is smallest_mm meant"),
        ("readings.verdict", "no column 'readings.verdict'"),
        ("nothing.at", "no column 'nothing.at'"),
        (".verdict", "no column '.verdict'"),
        ("value verdict", "no table has all of value, verdict. Say which is of which, like readi"),
        ("x" * 65536, "no column 'xxx"),
    ],
)
def test_what_there_is_not_is_refused_with_a_way_out(
    made: tuple[Table, ...], wanted: str, words: str
) -> None:
    with pytest.raises(UsageError, match=words) as caught:
        chosen(made, wanted.split())
    assert caught.value.option == "--columns"
    assert len(str(caught.value)) < 300
