"""One run's work: what is in reach, which stack proves it, and how good the gauge must be."""

from decimal import Decimal

import pytest

from daq.errors import PlanError
from daq.lengths import Length, Position
from daq.metrology.gauge_check import CHECKS, EARLIER_CHECKS, CheckLimits
from daq.plan.plan import Plan, parse_plan
from daq.plan.scope import Scope, check_limits, coarse_fault, make_scope, planned, reached

ENGINE = """\
schema = 1
part = "engine"

[check]
stack = "59.97 mm"
{check}

[[group]]
name = "rods"
stack = "50.78 mm"

[[group]]
name = "mains"

[defaults]
stations = ["front"]
angles_deg = [0]

[[journal]]
name = "M1"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"
access = "after-strip"

[[journal]]
name = "M2"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"

[[journal]]
name = "R1"
group = "rods"
low = "50.780 mm"
high = "50.796 mm"

[[journal]]
name = "M3"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"

[[journal]]
name = "R2"
group = "rods"
low = "50.780 mm"
high = "50.796 mm"
access = "after-strip"

[[journal]]
name = "nose"
low = "59.0 mm"
high = "59.5 mm"
"""


def engine(check: str = "") -> Plan:
    return parse_plan(ENGINE.format(check=check), "engine.toml")


def job(*only: str, check: str = "", stack: str | None = None) -> Scope:
    return make_scope(engine(check), only, stack, {})


def single(limits: str, check: str = "") -> Scope:
    """A run of one journal M1 with the stack 59.97 mm."""
    text = (
        f'schema = 1\npart = "p"\n[check]\nstack = "59.97 mm"\n{check}\n'
        f'[[journal]]\nname = "M1"\n{limits}\n'
    )
    return make_scope(parse_plan(text, "one.toml"), (), None, {})


def names(work: Scope) -> list[str]:
    return [position.journal for position in work.route]


def test_the_route_goes_open_first_then_by_stack_in_the_order_of_the_file() -> None:
    # open: M2, M3, nose (59.97 mm, the first stack that an open journal needs), R1 (50.78 mm);
    # after the strip: M1, R2
    assert names(job()) == ["M2", "M3", "nose", "R1", "M1", "R2"]


def test_a_run_knows_the_stack_and_size_of_each_journal() -> None:
    work = job()
    assert work.stacks == {
        **dict.fromkeys(("M1", "M2", "M3", "nose"), "59.97 mm"),
        **dict.fromkeys(("R1", "R2"), "50.78 mm"),
    }
    assert work.sizes == {
        "59.97 mm": Length(Decimal("59.97"), "mm"),
        "50.78 mm": Length(Decimal("50.78"), "mm"),
    }


@pytest.mark.parametrize(
    ("only", "route"),
    [
        (("R1",), ["R1"]),
        (("rods",), ["R1", "R2"]),
        (("M3", "rods"), ["R1", "M3", "R2"]),  # in the file, R1 stands before M3
        (("mains",), ["M2", "M3", "M1"]),
        (("nose", "nose"), ["nose"]),
    ],
)
def test_only_takes_journals_and_groups(only: tuple[str, ...], route: list[str]) -> None:
    work = job(*only)
    assert names(work) == route
    assert set(work.journals) == set(route)


@pytest.mark.parametrize("word", ["R3", "rod", "m1", "", "M1 ", "*"])
def test_only_refuses_a_word_that_is_no_journal_and_no_group(word: str) -> None:
    with pytest.raises(PlanError, match="no such journal or group") as caught:
        job("M1", word)
    assert caught.value.file == "engine.toml"
    assert "there are M1, M2, R1, M3, R2, nose" in caught.value.reason


def test_no_word_means_every_journal() -> None:
    plan = engine()
    assert reached(plan, ()) == plan.journals


def test_a_given_stack_replaces_the_plans_but_not_a_groups_own() -> None:
    work = job(stack="59.98 mm")
    assert (work.stacks["M1"], work.stacks["R1"]) == ("59.98 mm", "50.78 mm")


def test_a_saved_stack_is_called_by_its_name() -> None:
    work = make_scope(engine(), ["M1"], "bench", {"bench": "2.3610 in"})
    assert work.stacks == {"M1": "bench"}
    assert work.sizes["bench"].mm == Decimal("59.9694")  # 2.3610 x 25.4


@pytest.mark.parametrize(
    ("limits", "check", "stack", "key", "reason"),
    [
        # The stack must lie within check.near of the low limit: 60.98 - 59.97 = 1.01 mm
        ('low = "59.97 mm"\nhigh = "59.99 mm"', "", "60.98 mm", "journal[1].low", "lies 1.01 mm"),
        ('low = "59.97 mm"\nhigh = "59.99 mm"', "", "58.96 mm", "journal[1].low", "lies 1.01 mm"),
        (
            'low = "59.97 mm"\nhigh = "59.99 mm"',
            'near = "0.1 mm"',
            "60.071 mm",
            "journal[1].low",
            "lies 0.101 mm",
        ),
        ('low = "59.97 mm"\nhigh = "59.99 mm"', "", "bench", "check.stack", "neither a size nor"),
        ('low = "59.97 mm"\nhigh = "59.99 mm"', "", "0 mm", "check.stack", "is not above zero"),
        ('low = "59.97 mm"\nhigh = "59.99 mm"', "", None, "check.stack", "give --stack"),
    ],
)
def test_a_stack_that_proves_nothing_is_refused_naming_the_key(
    limits: str, check: str, stack: str | None, key: str, reason: str
) -> None:
    text = f'schema = 1\npart = "p"\n[check]\n{check}\n[[journal]]\nname = "M1"\n{limits}\n'
    with pytest.raises(PlanError) as caught:
        make_scope(parse_plan(text, "one.toml"), (), stack, {})
    assert (caught.value.file, caught.value.key) == ("one.toml", key)
    assert reason in caught.value.reason


def test_a_stack_exactly_as_far_as_near_is_allowed() -> None:
    # 60.97 - 59.97 = 1 mm, and 59.97 - 58.97
    for stack in ("60.97 mm", "58.97 mm"):
        assert names(job("M1", stack=stack)) == ["M1"]


def test_a_far_journal_is_named_by_its_own_place_in_the_file() -> None:
    with pytest.raises(PlanError, match=r"R1, more than check\.near") as caught:
        make_scope(
            parse_plan(ENGINE.format(check="").replace('stack = "50.78 mm"', ""), "engine.toml"),
            (),
            None,
            {},
        )
    assert caught.value.key == "journal[3].low"


def test_a_far_journal_out_of_reach_is_no_hindrance() -> None:
    plan = parse_plan(ENGINE.format(check="").replace('stack = "50.78 mm"', ""), "engine.toml")
    assert names(make_scope(plan, ["M2"], None, {})) == ["M2"]


def test_a_groups_bad_stack_is_named_by_the_group() -> None:
    plan = parse_plan(ENGINE.format(check="").replace("50.78 mm", "my blocks"), "engine.toml")
    with pytest.raises(PlanError, match='"my blocks" is neither a size nor') as caught:
        make_scope(plan, (), None, {})
    assert caught.value.key == "group[1].stack"


# The check limits that the plan leaves out are the larger of a tenth of the smallest high - low in
# the run, and one resolution step (chosen by us).


@pytest.mark.parametrize(
    ("only", "tolerance"),
    [
        ((), "0.016"),  # the rods: 50.796 - 50.780
        (("mains",), "0.020"),
        (("nose",), "0.5"),
        (("nose", "mains"), "0.020"),
    ],
)
def test_the_tolerance_is_the_smallest_in_the_run(only: tuple[str, ...], tolerance: str) -> None:
    assert job(*only).tolerance_mm == Decimal(tolerance)


@pytest.mark.parametrize(
    ("step", "mean", "spread"),
    [
        ("0.0001", "0.0016", "0.0016"),  # 0.016 / 10 is larger than two steps and three
        ("0.0005", "0.0016", "0.0016"),
        ("0.0006", "0.0016", "0.0018"),  # three steps are larger
        ("0.001", "0.002", "0.003"),
        ("0.00254", "0.00508", "0.00762"),  # 0.0001 in
    ],
)
def test_check_limits_left_out_are_derived(step: str, mean: str, spread: str) -> None:
    limits = check_limits(job(), Decimal(step), CHECKS)
    assert limits == CheckLimits(Decimal(mean), Decimal(spread), Decimal(mean))


@pytest.mark.parametrize(
    ("step", "limit"),
    [
        ("0.001", "0.0016"),  # 0.016 / 10 is larger than a step
        ("0.0001", "0.0016"),
        ("0.0016", "0.0016"),
        ("0.002", "0.002"),  # the step is larger
        ("0.00254", "0.00254"),  # 0.0001 in
    ],
)
def test_the_first_rule_sets_derived_at_least_one_step(step: str, limit: str) -> None:
    expected = Decimal(limit)
    limits = check_limits(job(), Decimal(step), EARLIER_CHECKS)
    assert limits == CheckLimits(expected, expected, expected)


def test_a_derived_limit_over_a_quarter_of_the_tolerance_is_no_fault_of_the_gauge() -> None:
    # 59.990 - 59.970 = 0.020 mm: a step of 0.004 is under a quarter, three of them are over half.
    work = single('low = "59.970 mm"\nhigh = "59.990 mm"')
    assert check_limits(work, Decimal("0.004"), CHECKS).max_spread == Decimal("0.012")
    assert coarse_fault(work, Decimal("0.004")) is None


def test_a_written_check_limit_stands_and_the_others_are_derived() -> None:
    work = job(check='max_spread = "0.0001 in"')
    assert check_limits(work, Decimal("0.0005"), CHECKS) == CheckLimits(
        Decimal("0.0016"), Decimal("0.00254"), Decimal("0.0016")
    )


@pytest.mark.parametrize(
    ("tolerance_high", "resolution", "is_fine"),
    [
        # 59.990 - 59.970 = 0.020 mm; a quarter is 0.005 mm
        ("59.990 mm", "0.005", True),
        ("59.990 mm", "0.0050001", False),
        ("59.990 mm", "0.01", False),
        # 59.970 to 59.980: a quarter is 0.0025 mm, just under 0.0001 in
        ("59.980 mm", "0.00254", False),
        ("59.980 mm", "0.0025", True),
    ],
)
def test_a_resolution_over_a_quarter_of_the_tolerance_is_too_coarse(
    tolerance_high: str, resolution: str, is_fine: bool
) -> None:
    work = single(f'low = "59.970 mm"\nhigh = "{tolerance_high}"')
    fault = coarse_fault(work, Decimal(resolution))
    if is_fine:
        assert fault is None
    else:
        assert fault is not None
        assert f"its resolution of {resolution} mm is over a quarter" in fault


@pytest.mark.parametrize("key", ["max_error", "max_spread", "max_drift"])
def test_a_written_check_limit_over_a_quarter_is_refused_naming_its_key(key: str) -> None:
    limits = 'low = "59.970 mm"\nhigh = "59.990 mm"'
    with pytest.raises(PlanError, match="the gauge is too coarse") as caught:
        single(limits, f'{key} = "0.0051 mm"')
    assert (caught.value.file, caught.value.key) == ("one.toml", f"check.{key}")
    assert "0.020 mm / 4 = 0.0050 mm" in caught.value.reason
    # exactly a quarter is allowed, whatever the unit
    assert single(limits, f'{key} = "5 um"').route


def test_a_form_limit_does_not_count_for_the_check() -> None:
    work = single('low = "59.970 mm"\nhigh = "59.990 mm"\nout_of_round = "0.001 mm"')
    assert work.tolerance_mm == Decimal("0.020")


def test_without_a_high_limit_the_written_limits_stand_and_nothing_is_too_coarse() -> None:
    check = 'max_error = "0.004 mm"\nmax_spread = "0.003 mm"\nmax_drift = "0.002 mm"'
    work = single('low = "59.970 mm"', check)
    assert work.tolerance_mm is None
    assert check_limits(work, Decimal("0.01"), CHECKS) == CheckLimits(
        Decimal("0.004"), Decimal("0.003"), Decimal("0.002")
    )
    assert coarse_fault(work, Decimal("0.01")) is None


def test_a_journal_without_a_high_limit_does_not_hide_anothers_tolerance() -> None:
    text = (
        'schema = 1\npart = "p"\n[check]\nstack = "59.97 mm"\nmax_error = "0.004 mm"\n'
        'max_spread = "0.004 mm"\nmax_drift = "0.004 mm"\n'
        '[[journal]]\nname = "M1"\nlow = "59.97 mm"\n'
        '[[journal]]\nname = "M2"\nlow = "59.97 mm"\nhigh = "59.98 mm"\n'
    )
    plan = parse_plan(text, "two.toml")
    # 0.004 mm is over a quarter of M2's 0.01 mm; M1 alone has nothing to be too coarse for
    with pytest.raises(PlanError, match="too coarse"):
        make_scope(plan, (), None, {})
    assert make_scope(plan, ["M1"], None, {}).tolerance_mm is None


def test_the_planned_positions_of_a_journal_are_those_of_the_route() -> None:
    work = single(
        'low = "59.97 mm"\nhigh = "59.99 mm"\nstations = ["a", "b"]\nangles_deg = [0, 90]\n'
        "repeats = 2"
    )
    assert planned(work.journals["M1"]) == work.route
    assert work.route[:3] == (
        Position("M1", "a", 0, 1),
        Position("M1", "a", 0, 2),
        Position("M1", "a", 90, 1),
    )
    assert len(work.route) == 8
