"""What a session comes to, as stored in its closing line: one record a journal, one a group."""

import msgspec


class JournalResult(msgspec.Struct, frozen=True, kw_only=True):
    """One journal's numbers and verdict, as stored: lengths are exact decimal text in mm, empty
    where not known. The fields are those of the table of journals.
    """

    journal: str
    group: str
    positions_planned: int
    positions_measured: int
    smallest_mm: str = ""
    smallest_at: str = ""
    largest_mm: str = ""
    largest_at: str = ""
    out_of_round_mm: str = ""
    out_of_round_at: str = ""
    taper_mm: str = ""
    taper_at: str = ""
    low_limit_mm: str
    high_limit_mm: str = ""
    margin_to_low_mm: str = ""
    uncertainty_mm: str = ""
    verdict: str
    out_of_round_limit_mm: str = ""
    taper_limit_mm: str = ""
    size_verdict: str
    form_verdict: str
    decision_rule: str
    angles_used: str = ""
    remarks: str = ""
    form_uncertainty_mm: str = ""
    standard_uncertainty_mm: str = ""
    uncorrected_error_mm: str = ""
    coverage_factor: str = ""
    effective_dof: str = ""
    conformance_probability: str = ""
    ovality_seen: str = ""
    ellipse_mm: str = ""
    ellipse_deg: str = ""
    settled_by: str = ""
    smallest_read_mm: str = ""
    largest_read_mm: str = ""
    form_by: str = ""
    provisional: str = ""
    out_of_round_uncertainty_mm: str = ""
    taper_uncertainty_mm: str = ""


class GroupResult(msgspec.Struct, frozen=True, kw_only=True):
    """The next step for one group, as stored: lengths are exact decimal text in mm, empty where
    there is none. `step` is serve-as-is, bearing-undersize, grind, shelf, undecided or
    not-assessed; `forced_by` names, with `;` between, the journals that leave no lesser step.

    `finished_*`: the limits to grind to. `bearing_growth_mm`: how much thicker the shell's wall is
    than standard. `clearance_*`: diametral oil clearance, by the plan's housing bore and wall.
    """

    group: str
    step: str
    undersize: str = ""
    finished_low_mm: str = ""
    finished_high_mm: str = ""
    reason: str
    forced_by: str = ""
    bearing_growth_mm: str = ""
    clearance_smallest_mm: str = ""
    clearance_largest_mm: str = ""
    remarks: str = ""
