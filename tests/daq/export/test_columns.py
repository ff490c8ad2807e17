"""The columns of the tables by rule set: their order is fixed, and further ones only follow."""

import pytest

from daq.export.column import ColumnKind
from daq.export.columns import columns_of, has_groups

# The columns of rule set 3 in their order, typed by hand.
COLUMNS = {
    "readings": """session_id job part operator gauge journal group station angle_deg repeat seq
        taken_at value unit resolution diameter_mm diameter_20c_mm flags raw_hex session_verdict
        stint typed local_offset part_type
        correction_mm closed_on""",
    "checks": """session_id gauge phase stack stack_size_mm seq taken_at value unit error_mm
        session_verdict stint check_no counted
        job closed_on""",
    "judgements": """session_id check_no stint gauge phase stack_size_mm readings mean_error_mm
        spread_mm drift_mm max_error_mm max_spread_mm max_drift_mm passed reason
        job closed_on""",
    "journals": """session_id part journal group positions_planned positions_measured smallest_mm
        smallest_at largest_mm largest_at out_of_round_mm out_of_round_at taper_mm taper_at
        low_limit_mm high_limit_mm margin_to_low_mm uncertainty_mm verdict session_verdict
        out_of_round_limit_mm taper_limit_mm size_verdict form_verdict decision_rule angles_used
        remarks form_uncertainty_mm standard_uncertainty_mm uncorrected_error_mm coverage_factor
        effective_dof conformance_probability ovality_seen ellipse_mm ellipse_deg settled_by
        smallest_read_mm largest_read_mm form_by provisional out_of_round_uncertainty_mm
        taper_uncertainty_mm job gauge closed_on""",
    "groups": """session_id part group step undersize finished_low_mm finished_high_mm forced_by
        bearing_growth_mm clearance_smallest_mm clearance_largest_mm reason remarks
        session_verdict job gauge closed_on""",
}

# The tables that came with rule set 3.
LATER = {
    "sessions": """session_id job part part_type operator gauge rule_set plan_sha256 begun_at
        closed_at closed_on local_offset part_temp_c gauge_temp_c stack_temp_c session_verdict
        reasons readings held taken_back skipped stints checks checks_failed program last_chain""",
    "notes": """session_id job gauge closed_on seq at kind journal station angle_deg text by
        repeat""",
    "steps": """session_id job part group gauge closed_on undersize by_mm low_limit_mm
        high_limit_mm cleans_up metal_left_mm decided_by_journal chosen session_verdict""",
}


def names(rules: int, table: str) -> list[str]:
    return [column.name for column in columns_of(rules)[table]]


@pytest.mark.parametrize("table", COLUMNS | LATER)
def test_columns_stand_in_the_written_order(table: str) -> None:
    assert names(3, table) == (COLUMNS | LATER)[table].split()
    assert len(set(names(3, table))) == len(names(3, table))


@pytest.mark.parametrize("table", COLUMNS)
def test_what_an_earlier_rule_set_has_comes_first_and_in_its_order(table: str) -> None:
    for earlier, later in ((1, 2), (2, 3)):
        assert names(later, table)[: len(names(earlier, table))] == names(earlier, table)


@pytest.mark.parametrize("table", COLUMNS | LATER)
def test_every_table_says_job_gauge_and_day(table: str) -> None:
    assert {"session_id", "job", "gauge", "closed_on"} <= set(names(3, table))


@pytest.mark.parametrize("rules", [1, 2])
def test_earlier_tables_have_no_day_and_there_were_no_others(rules: int) -> None:
    assert set(columns_of(rules)) == set(COLUMNS)
    assert not [table for table in COLUMNS if "closed_on" in names(rules, table)]


def test_a_rule_set_that_this_program_does_not_know_has_the_columns_of_today() -> None:
    assert columns_of(7) == columns_of(3)


@pytest.mark.parametrize("rules", [1, 2])
def test_earlier_columns_keep_their_kinds_and_meanings(rules: int) -> None:
    found = {c.name: c for columns in columns_of(rules).values() for c in columns}
    new = {ColumnKind.LIST, ColumnKind.DATE, ColumnKind.HEX_TEXT}
    assert not [c.name for c in found.values() if c.kind in new]
    assert found["smallest_mm"].meaning == "smallest diameter"
    assert found["raw_hex"].kind is ColumnKind.HEX


def test_meanings_are_those_of_the_estimate() -> None:
    found = {column.name: column.meaning for column in columns_of(3)["journals"]}
    assert "estimate" in found["smallest_mm"]
    assert "not-seen" in found["form_verdict"]
    assert "one-sided" in found["uncertainty_mm"]
    assert "one-sided" in found["coverage_factor"]


@pytest.mark.parametrize(
    ("rules", "is_study", "has"),
    [
        (1, False, False),
        (1, True, False),
        (2, False, True),
        (2, True, True),
        (3, False, True),
        (3, True, False),
    ],
)
def test_which_sessions_have_a_next_step(rules: int, is_study: bool, has: bool) -> None:
    assert has_groups(rules, is_study=is_study) is has
