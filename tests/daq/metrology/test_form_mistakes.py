"""Mistakes that are easy to make about form, each held off by a test of its own."""

import msgspec
import pytest

from daq.disposition.wear import form_remarks, is_oval_by_guard
from daq.errors import PlanError
from daq.plan.plan import parse_plan
from daq.record.results import JournalResult

PLAN = """schema = 1
part = "x"
[check]
stack = "59.97 mm"
[[journal]]
name = "M1"
low = "59.97 mm"
high = "59.99 mm"
"""


@pytest.mark.parametrize("angles", ["[0, 180]", "[90, 270]", "[0, 360]", "[-90, 90]"])
def test_180_degrees_on_is_the_same_diameter_and_is_refused(angles: str) -> None:
    # One US Army manual literally asks for "two places, 180 degrees apart" (from memory).
    text = PLAN.replace("low =", f"angles_deg = {angles}\nlow =")
    with pytest.raises(PlanError, match="angles_deg"):
        parse_plan(text, "plan.toml")


def result(name: str, **more: str) -> tuple[JournalResult, bool]:
    """A journal in form by four angles, with these numbers, and whether it is oval."""
    journal = JournalResult(
        journal=name,
        group="mains",
        positions_planned=8,
        positions_measured=8,
        low_limit_mm="59.97",
        verdict="within",
        size_verdict="within",
        form_verdict="within",
        decision_rule="x",
        form_uncertainty_mm="0.0010",
        ovality_seen="0.7071",
        ellipse_mm="0.0080",
        ellipse_deg="90",
    )
    found = msgspec.structs.replace(journal, **more)
    return found, is_oval_by_guard(found)


def test_two_point_ovality_is_never_called_roundness() -> None:
    said = " ".join(form_remarks([result("M1"), result("M2", ellipse_deg="88")]))
    assert "two-point out-of-round" in said
    assert "roundness" not in said
    assert "odd lobes" in said
    assert "at least 70 % of an oval" in said


def test_journals_worn_one_way_are_told_from_journals_worn_each_their_own_way() -> None:
    one_way = form_remarks([result("M1"), result("M2", ellipse_deg="80")])
    assert any("worn in one direction, about 85°" in words for words in one_way)
    each = form_remarks([result("M1"), result("M2", ellipse_deg="0")])
    assert any("worn in different directions" in words and "M2 0°" in words for words in each)


def test_an_ellipse_within_its_uncertainty_has_no_direction() -> None:
    small = result("M2", ellipse_deg="0", ellipse_mm="0.0010")
    assert not any("direction" in words for words in form_remarks([result("M1"), small]))


def test_a_group_whose_form_was_not_measured_has_no_remark_on_it() -> None:
    assert form_remarks([result("M1", ovality_seen="")]) == []
