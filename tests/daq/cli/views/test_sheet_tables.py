"""The numbers of a sheet: rounded honestly, none that nobody can vouch for."""

from daq.board.shown_lengths import ShownIn
from daq.cli.views.ended import ended
from daq.cli.views.sheet_drawings import rows_of
from daq.cli.views.sheet_tables import checks_table, journals_table
from daq.record.state import State
from daq.sheet.content import SheetTable
from tests.daq.cli.views.test_sheet import state_of


def journals(state: State, show: ShownIn | None = None) -> SheetTable:
    end = ended(state, show)
    return journals_table(end, rows_of(end))


def cell(table: SheetTable, row: int, heading: str) -> tuple[str, ...]:
    return table.rows[row][table.headings.index(heading)]


def test_a_row_has_limits_size_what_was_read_form_and_decision() -> None:
    found = journals(state_of("worn"))
    assert found.headings == (
        "journal",
        "limits, mm",
        "smallest, mm",
        "there it read",
        "at",
        "could be off by",
        "out of round (limit)",
        "taper (limit)",
        "size inside, probability",
        "decision",
    )
    # M3: 59.961 at front 0, 59.962 elsewhere; the ends are alike but for 0.001 mm at 0 degrees.
    assert found.rows[2][:5] == (
        ("M3",),
        ("59.970-59.990",),
        ("59.9610",),
        ("59.9610",),
        ("front 0°",),
    )
    assert found.rows[2][-2:] == (("under 0.1 %",), ("BELOW",))
    assert found.rows[0][-2:] == (("over 99.9 %",), ("within",))


def test_an_uncertainty_is_never_shown_smaller_than_it_is() -> None:
    state = state_of("worn")
    assert state.closed is not None
    found = journals(state, ShownIn.BOTH)
    for row, result in enumerate(state.closed.journals):
        mm, inch = cell(found, row, "could be off by")
        assert float(mm) >= float(result.uncertainty_mm)
        assert float(inch.removeprefix("~")) * 25.4 >= float(result.uncertainty_mm)


def test_what_is_not_proven_has_neither_uncertainty_nor_probability() -> None:
    found = journals(state_of("rejected"))
    assert "could be off by" not in found.headings
    assert "size inside, probability" not in found.headings
    assert {row[-1] for row in found.rows} == {("not proven",)}


def test_a_part_as_ground_shows_its_largest_size_too() -> None:
    assert "largest, mm" in journals(state_of("ground-to")).headings
    assert "largest, mm" not in journals(state_of("worn")).headings


def test_both_units_stand_in_one_cell_below_each_other() -> None:
    found = journals(state_of("worn"), ShownIn.BOTH)
    # 59.970 mm is 2.361023 in, rounded up 2.36103; 59.990 is 2.361811, rounded down 2.36181.
    assert cell(found, 0, "limits, mm / in") == ("59.970-59.990", "~2.36103-~2.36181")


def test_a_check_shows_what_was_allowed_only_where_it_was_held_to_it() -> None:
    found = checks_table(ended(state_of("rejected")))
    assert found is not None
    before, after = found.rows
    # The gauge read 59.970 before and 59.975 after on a stack of 59.970; 0.002 mm is allowed.
    assert before[4:] == (("0 (0.002)",), ("0 (0.002)",), (), ("passed",))
    assert after[4:] == (("+0.005",), ("0 (0.002)",), ("+0.005 (0.002)",), ("FAILED",))


def test_a_check_in_inches_stays_on_its_side_of_what_is_allowed() -> None:
    found = checks_table(ended(state_of("rejected"), ShownIn.INCH))
    assert found is not None
    # 0.005 mm is 0.0001969 in; 0.002 mm is 0.0000787 in, rounded down.
    assert found.rows[1][6] == ("~+0.0002 (~0.00007)",)


def test_checks_stay_in_the_unit_of_the_blocks_where_both_units_are_shown() -> None:
    found = checks_table(ended(state_of("rejected"), ShownIn.BOTH))
    assert found is not None
    assert "off by, mm (allowed)" in found.headings
    assert found.rows[1][6] == ("+0.005 (0.002)",)


def test_columns_of_words_are_told_so_that_they_may_be_broken() -> None:
    found, checks = journals(state_of("worn")), checks_table(ended(state_of("worn")))
    assert checks is not None
    assert found.words == ("at", "decision")
    assert set(found.words) <= set(found.headings)
    assert {"gauge blocks", "result"} <= set(checks.words) & set(checks.headings)


def test_a_session_without_checks_has_no_such_table() -> None:
    import msgspec

    state = msgspec.structs.replace(state_of("worn"), judged=())
    assert checks_table(ended(state)) is None
