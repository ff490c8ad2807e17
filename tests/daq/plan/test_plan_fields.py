"""What a plan may say beyond places and limits: temperatures, rule, study, undersizes."""

from decimal import Decimal

import pytest

from daq.lengths import Length, Limits, parse_length
from daq.metrology.expansion import MATERIALS
from daq.plan.plan import (
    DecisionPlan,
    GroupPlan,
    JournalPlan,
    Plan,
    StudyPlan,
    TemperaturePlan,
    Undersize,
    parse_plan,
)

JOURNAL = '[[journal]]\nname = "M1"\ngroup = "mains"\nlow = "59.992 mm"\nhigh = "60.008 mm"\n'


def plan(head: str = "", journal: str = "") -> Plan:
    return parse_plan(f'schema = 1\npart = "p"\n{head}\n{JOURNAL}{journal}', "x")


def first(head: str = "", journal: str = "") -> JournalPlan:
    return plan(head, journal).journals[0]


def test_a_plan_that_says_nothing_is_steel_judged_with_a_guard_and_no_study() -> None:
    found = plan()
    assert found.temperature == TemperaturePlan(
        part=MATERIALS["steel"],
        gauge=MATERIALS["steel"],
        stack=MATERIALS["steel"],
        thermometer_limit_k=Decimal("0.5"),
        room_limit_k=Decimal(5),
        difference_limit_k=Decimal(1),
        is_stated=False,
    )
    assert found.decision == DecisionPlan("guarded", 0.9545, confidence=0.95, state="used")
    assert [journal.is_ground for journal in found.journals] == [False]
    assert (found.study, found.groups) == (None, ())
    assert found.group("mains") == GroupPlan(key="", name="mains")


def test_temperatures_read_as_written() -> None:
    found = plan(
        '[temperature]\npart_expansion = "12.3e-6 /K"\npart_expansion_limit = "0.9e-6 /K"\n'
        'gauge_expansion = "11.0e-6 /K"\nstack_expansion = "11.7e-6 /K"\n'
        'stack_expansion_limit = "1.0e-6 /K"\nthermometer_limit = "0.2 K"\nroom_limit = "3 °C"\n'
        'difference_limit = "1.5K"\n'
    ).temperature
    assert (found.part.value, found.part.half_width) == (Decimal("12.3e-6"), Decimal("0.9e-6"))
    assert found.gauge.value == Decimal("11.0e-6")
    assert found.gauge.half_width == Decimal("1.1e-6")  # a tenth where none is stated
    assert (found.stack.value, found.stack.half_width) == (Decimal("11.7e-6"), Decimal("1.0e-6"))
    limits = (found.thermometer_limit_k, found.room_limit_k, found.difference_limit_k)
    assert limits == (Decimal("0.2"), Decimal(3), Decimal("1.5"))
    assert found.is_stated


def test_a_material_brings_its_coefficient_and_may_be_given_a_limit() -> None:
    found = plan('[temperature]\npart_material = "cast-iron"').temperature
    assert found.part == MATERIALS["cast-iron"]
    assert found.gauge == MATERIALS["steel"]
    limit = 'part_expansion_limit = "0.5e-6 /K"'
    found = plan(f'[temperature]\npart_material = "cast-iron"\n{limit}').temperature
    assert found.part.value == MATERIALS["cast-iron"].value
    assert found.part.half_width == Decimal("0.5e-6")


def test_a_difference_in_fahrenheit_is_an_interval_and_never_narrower() -> None:
    # 9 F degrees are 5 K, no 32 taken off; 1 F degree is 0.5555... K, rounded up
    found = plan('[temperature]\nroom_limit = "9 °F"\nthermometer_limit = "1 F"').temperature
    assert found.room_limit_k == 5
    assert found.thermometer_limit_k == Decimal("0.555556")


def test_the_rule_of_decision_reads_as_written() -> None:
    assert plan('[decision]\nrule = "simple"\ncoverage = 0.99').decision == DecisionPlan(
        "simple", 0.99
    )
    assert plan('[decision]\nconfidence = 0.9\nstate = "ground"').decision == DecisionPlan(
        confidence=0.9, state="ground"
    )


@pytest.mark.parametrize("confidence", ["0.51", "0.9999"])
def test_a_confidence_is_over_a_half_and_short_of_certain(confidence: str) -> None:
    assert plan(f"[decision]\nconfidence = {confidence}").decision.confidence == float(confidence)


@pytest.mark.parametrize(("state", "is_ground"), [("ground", True), ("used", False)])
def test_every_journal_of_a_ground_part_is_ground(state: str, is_ground: bool) -> None:
    second = JOURNAL.replace("M1", "M2")
    journals = plan(f'[decision]\nstate = "{state}"', second).journals
    assert [journal.is_ground for journal in journals] == [is_ground] * 2


def test_a_study_repeats_every_place_for_each_operator_and_trial() -> None:
    second = JOURNAL.replace("M1", "M2")
    found = plan('[study]\noperators = ["A", "B"]\ntrials = 5\norder_seed = 7', second)
    assert found.study == StudyPlan(("A", "B"), 5, 7)
    assert [journal.repeats for journal in found.journals] == [10, 10]
    found = plan('[study]\noperators = ["A", "B", "C"]', second)
    assert found.study == StudyPlan(("A", "B", "C"), 3, 1)


def test_form_limits_are_not_to_be_exceeded_unless_the_plan_says_less_than() -> None:
    assert first().limits.is_form_equal_allowed
    assert not first('[defaults]\nform_limit = "under"').limits.is_form_equal_allowed
    assert not first("", 'form_limit = "under"').limits.is_form_equal_allowed
    found = first('[defaults]\nform_limit = "under"', 'form_limit = "not-over"')
    assert found.limits.is_form_equal_allowed


def test_taper_may_be_limited_per_length_with_the_place_of_each_station() -> None:
    found = first(
        '[defaults]\ntaper_per = "25.4 mm"\nstation_at = ["2 mm", "22 mm"]', 'taper = "0.0025 mm"'
    )
    assert found.limits.taper_per == Length(Decimal("25.4"), "mm")
    assert found.station_at == (Length(Decimal(2), "mm"), Length(Decimal(22), "mm"))
    found = first(
        '[defaults]\ntaper_per = "25.4 mm"',
        'taper = "0.0003 in"\ntaper_per = "1 in"\nstations = ["a", "b", "c"]\n'
        'station_at = ["0.1 in", "1.1 in", "0 in"]',
    )
    assert found.limits.taper_per == parse_length("1 in")
    assert [str(place) for place in found.station_at] == ["0.1 in", "1.1 in", "0 in"]


def test_a_default_taper_per_is_nothing_to_a_journal_without_taper() -> None:
    assert first('[defaults]\ntaper_per = "1 in"').limits.taper_per is None


def test_distances_of_the_defaults_do_not_follow_stations_of_another_name() -> None:
    head = '[defaults]\nstation_at = ["2 mm", "22 mm"]'
    assert first(head).station_at != ()
    assert first(head, 'stations = ["x", "y"]').station_at == ()


GROUP = """
[[group]]
name = "mains"
stack = "59.99 mm"
greatest_undersize = ["0.250 mm", "0.0098 in"]
clean_up = "0.05 mm"
housing_bore = ["64.000 mm", "64.019 mm"]
shell_wall = ["1.990 mm", "1.995 mm"]
oil_clearance = ["0.010 mm", "0.040 mm"]
[[group.undersize]]
name = "0.03"
by = "0.03 mm"
low = "59.962 mm"
bearing_only = true
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.742 mm"
high = "59.758 mm"
worn_low = "59.730 mm"
"""


def mm(text: str) -> Length:
    return Length(Decimal(text), "mm")


def test_a_group_reads_as_written() -> None:
    assert plan(GROUP).groups == (
        GroupPlan(
            key="group[1]",
            name="mains",
            stack="59.99 mm",
            undersizes=(
                Undersize("0.03", mm("0.03"), mm("59.962"), None, None, True),
                Undersize("0.25", mm("0.25"), mm("59.742"), mm("59.758"), mm("59.730"), False),
            ),
            greatest_undersize=mm("0.250"),
            present_undersize="",
            clean_up=mm("0.05"),
            housing_bore=(mm("64.000"), mm("64.019")),
            shell_wall=(mm("1.990"), mm("1.995")),
            oil_clearance=(mm("0.010"), mm("0.040")),
        ),
    )
    assert plan(GROUP).group("mains").present is None


def test_the_limits_of_a_part_ground_before_are_those_of_its_undersize() -> None:
    text = GROUP.replace('stack = "59.99 mm"', 'present_undersize = "0.25"')
    found = first(text, 'out_of_round = "0.02 mm"')
    assert found.undersize == "0.25"
    assert found.limits == Limits(mm("59.730"), mm("59.758"), out_of_round=mm("0.02"))
    standard = Limits(mm("59.992"), mm("60.008"), out_of_round=mm("0.02"))
    assert found.standard == found.standard_limits == standard


def test_the_limits_of_a_part_at_standard_size_are_the_stated_ones() -> None:
    found = first(GROUP)
    assert (found.undersize, found.standard) == ("", None)
    assert found.limits == found.standard_limits == Limits(mm("59.992"), mm("60.008"))


def test_without_a_worn_limit_a_ground_journal_must_keep_its_finished_limits() -> None:
    text = GROUP.replace('stack = "59.99 mm"', 'present_undersize = "0.25"')
    assert first(text.replace('worn_low = "59.730 mm"', "")).limits.low == mm("59.742")


@pytest.mark.parametrize("by", ["0.03 mm", "0.0012 in", "30 um"])
def test_an_undersize_may_be_written_in_any_unit(by: str) -> None:
    assert plan(GROUP.replace('"0.03 mm"', f'"{by}"')).groups[0].undersizes[0].by == (
        parse_length(by)
    )


def test_steps_that_touch_are_no_overlap_where_one_is_for_bearings_only() -> None:
    # serves from 59.758 exactly, where a journal ground to 0.25 ends
    text = GROUP.replace('low = "59.962 mm"', 'low = "59.758 mm"')
    assert len(plan(text).groups[0].undersizes) == 2
