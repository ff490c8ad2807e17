"""What the form of a group's journals says together."""

from daq.disposition.wear import form_remarks, is_oval_by_guard
from daq.record.results import JournalResult


def result(
    name: str, ellipse_mm: str, degrees: str, form_u: str = "0.00100"
) -> tuple[JournalResult, bool]:
    """A journal's result as far as form goes, and whether its oval is more than scatter."""
    found = JournalResult(
        journal=name,
        group="mains",
        positions_planned=8,
        positions_measured=8,
        low_limit_mm="59.970",
        verdict="within",
        size_verdict="within",
        form_verdict="within",
        decision_rule="",
        form_uncertainty_mm=form_u,
        ovality_seen="0.7071",
        ellipse_mm=ellipse_mm,
        ellipse_deg=degrees,
    )
    return found, is_oval_by_guard(found)


def test_every_group_with_form_is_told_what_two_points_do_not_show() -> None:
    (remark,) = form_remarks([result("M1", "0.00050", "10")])
    assert "odd lobes" in remark
    assert "at least 70 %" in remark


def test_a_group_without_form_gets_no_remark() -> None:
    assert form_remarks([]) == []


def test_journals_worn_one_way_are_told_with_the_direction() -> None:
    # 170 and 10 are 20 degrees apart: 180 degrees on is the same diameter.
    found = form_remarks([result("M1", "0.00900", "170"), result("M2", "0.00800", "10")])
    assert "in one direction, about 0°" in found[1]
    assert "M1 170°, M2 10°" in found[1]


def test_journals_worn_differently_are_told_so() -> None:
    found = form_remarks([result("M1", "0.00900", "0"), result("M2", "0.00800", "90")])
    assert "different directions" in found[1]


def test_an_oval_that_scatter_could_fit_has_no_direction() -> None:
    small = [result("M1", "0.00200", "0"), result("M2", "0.00800", "90")]
    assert len(form_remarks(small)) == 1


def test_whether_an_oval_is_more_than_scatter_is_for_the_evaluation_to_say() -> None:
    """Rule set 3 says it by the fit's own uncertainty, whatever the size of the oval."""
    first, second = result("M1", "0.00200", "0")[0], result("M2", "0.00200", "90")[0]
    assert "different directions" in form_remarks([(first, True), (second, True)])[1]
    assert len(form_remarks([(first, True), (second, False)])) == 1
