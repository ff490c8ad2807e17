"""The plan file as people write it: records, defaults, groups, and limits with a cross-check."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

from daq.errors import PlanError
from daq.lengths import Length, Limits, parse_length
from daq.plan.method import IntervalPlan
from daq.plan.plan import (
    CheckPlan,
    DecisionPlan,
    GroupPlan,
    JournalPlan,
    Plan,
    TemperaturePlan,
    load_plan,
    parse_plan,
)

EXAMPLE = """\
schema = 1
part = "three-cylinder pump engine, crankshaft"

[check]                        # the gauge against a known stack, before and after
stack = "59.97 mm"             # a size, or the name of a saved stack
readings = 5
max_error = "0.002 mm"         # |mean - stack|
max_spread = "0.002 mm"        # largest - smallest
max_drift = "0.002 mm"         # |this mean - before-check's mean|
max_age_min = 240
near = "1 mm"                  # how far the stack may lie from the low limit of a journal

[[group]]                      # optional: a group with its own stack
name = "rods"
stack = "50.80 mm"

[defaults]                     # for every journal that does not say otherwise
stations = ["front", "rear"]
angles_deg = [0, 45, 90, 135]  # whole degrees, 0 to 179: 180 degrees on is the same diameter
repeats = 1
window = "0.5 mm"

[[journal]]
name = "M1"
group = "mains"
low = "59.97 mm"               # or ["59.97 mm", "2.3610 in"]
high = "59.99 mm"
out_of_round = "0.005 mm"
taper = "0.005 mm"
access = "open"                # or "after-strip": asked for last
"""

SHORTEST = """\
schema = 1
part = "p"
[[journal]]
name = "M1"
low = "59.97 mm"
high = "59.99 mm"
"""


def mm(text: str) -> Length:
    return Length(Decimal(text), "mm")


def plan_with(journal: str, head: str = "") -> Plan:
    """A plan of one journal whose lines are given."""
    return parse_plan(f'schema = 1\npart = "p"\n{head}\n[[journal]]\nname = "M1"\n{journal}', "x")


def test_the_documented_example_reads_as_it_says() -> None:
    assert parse_plan(EXAMPLE, "pump.toml") == Plan(
        source="pump.toml",
        text=EXAMPLE,
        part="three-cylinder pump engine, crankshaft",
        check=CheckPlan(
            stack="59.97 mm",
            readings=5,
            max_error=mm("0.002"),
            max_spread=mm("0.002"),
            max_drift=mm("0.002"),
            max_age_us=14_400_000_000,  # 240 x 60 x 1 000 000
            near=mm("1"),
            power_loss_may_lose_zero=True,
        ),
        journals=(
            JournalPlan(
                key="journal[1]",
                name="M1",
                group="mains",
                limits=Limits(
                    low=mm("59.97"),
                    high=mm("59.99"),
                    out_of_round=mm("0.005"),
                    taper=mm("0.005"),
                ),
                stations=("front", "rear"),
                angles_deg=(0, 45, 90, 135),
                repeats=1,
                window=mm("0.5"),
                group_stack=None,
                group_key="",
                is_after_strip=False,
            ),
        ),
        default_window=mm("0.5"),
        groups=(GroupPlan(key="group[1]", name="rods", stack="50.80 mm"),),
        temperature=TemperaturePlan(),
        decision=DecisionPlan("guarded", 0.9545),
        study=None,
    )


def test_what_is_left_out_has_the_documented_defaults() -> None:
    plan = parse_plan(SHORTEST, "x")
    assert plan.check == CheckPlan(
        stack=None,
        readings=5,
        max_error=None,
        max_spread=None,
        max_drift=None,
        max_age_us=14_400_000_000,
        near=mm("1"),
        power_loss_may_lose_zero=True,
    )
    (journal,) = plan.journals
    assert journal.stations == ("front", "rear")
    assert journal.angles_deg == (0, 45, 90, 135)
    assert (journal.repeats, journal.window, journal.group) == (1, mm("0.5"), "")
    assert journal.limits == Limits(low=mm("59.97"), high=mm("59.99"))
    assert not journal.is_after_strip


def test_a_journal_may_say_otherwise_than_the_defaults() -> None:
    plan = parse_plan(
        EXAMPLE + 'stations = ["middle"]\nangles_deg = [90, 0]\nrepeats = 3\nwindow = "0.02 in"\n',
        "x",
    )
    (journal,) = plan.journals
    assert journal.stations == ("middle",)
    assert journal.angles_deg == (90, 0)
    assert journal.repeats == 3
    assert journal.window == Length(Decimal("0.02"), "in")
    assert plan.default_window == mm("0.5")


def test_the_defaults_reach_every_journal_that_says_nothing() -> None:
    text = SHORTEST.replace(
        "[[journal]]",
        '[defaults]\nstations = ["a", "b", "c"]\nangles_deg = [0, 60, 120]\nrepeats = 2\n'
        'window = "0.1 mm"\n[[journal]]',
    )
    (journal,) = parse_plan(text, "x").journals
    assert (journal.stations, journal.angles_deg) == (("a", "b", "c"), (0, 60, 120))
    assert (journal.repeats, journal.window) == (2, mm("0.1"))


def test_a_group_gives_its_journals_its_stack() -> None:
    plan = parse_plan(
        EXAMPLE
        + """
        [[journal]]
        name = "R1"
        group = "rods"
        low = "50.78 mm"
        high = "50.80 mm"
        access = "after-strip"
        """,
        "x",
    )
    first, second = plan.journals
    assert (first.group, first.group_stack) == ("mains", None)
    assert (second.group, second.group_stack, second.group_key) == ("rods", "50.80 mm", "group[1]")
    assert (second.key, second.is_after_strip) == ("journal[2]", True)


def test_a_limit_keeps_the_digits_and_the_unit_of_the_manual() -> None:
    (journal,) = plan_with('low = "2.7480 in"\nhigh = "2.7490 in"').journals
    assert str(journal.limits.low) == "2.7480 in"
    assert journal.limits.low.mm == Decimal("69.7992")  # 2.748 x 25.4 = 68.7 + 1.0992
    assert journal.limits.tolerance_mm == Decimal("0.0254")  # 0.001 x 25.4


@pytest.mark.parametrize(
    ("limit", "cross"),
    [
        # 2.3610 x 25.4 = 59.9694: off by 0.0006, one digit is 0.00254
        ("59.97 mm", "2.3610 in"),
        # US Army TM 5-2815-241-34&P prints 79.298 for 3.122 in; exact 79.2988, a cut print
        ("3.122 in", "79.298 mm"),
        # TM 5-4320-300-14: 2.998 in is 76.1492, and 2.997 in is what 76.124 belongs to (76.1238)
        ("2.998 in", "76.149 mm"),
        ("2.997 in", "76.124 mm"),
        # TM 5-3805-260-24: 3.4980 in is 88.8492; the manual's 88.749 is a misprint for this
        ("3.4980 in", "88.849 mm"),
        # a stored pick-up truck table: 3.1236 in = 79.33944; off by 0.00056, a digit is 0.00254
        ("79.340 mm", "3.1236 in"),
        # workshop pages: 48.000 mm printed as 1.8898 in = 48.00092; off by 0.00092
        ("48.000 mm", "1.8898 in"),
        # exactly one unit of the cross-check's last digit is still agreement: 25.5 - 25.4
        ("1 in", "25.5 mm"),
        ("1 in", "25.3 mm"),
        ("1 in", "25400 um"),
    ],
)
def test_a_cross_check_that_agrees_is_accepted_and_the_limit_stands(limit: str, cross: str) -> None:
    (journal,) = plan_with(
        f'low = ["{limit}", "{cross}"]',
        '[check]\nmax_error = "1 um"\nmax_spread = "1 um"\nmax_drift = "1 um"',
    ).journals
    assert journal.limits.low == parse_length(limit)


@pytest.mark.parametrize(
    ("limit", "cross", "off"),
    [
        # Misprints found in published tables. `off` = |exact mm - printed mm| by hand.
        # TM 5-4320-300-14, .002 undersize mains: 2.996 in = 76.0984, printed 76.124
        ("2.996 in", "76.124 mm", "0.0256"),
        # TM 9-2815-254-24 p. 3-137: 2.7548 in = 69.97192, printed 69.920
        ("2.7548 in", "69.920 mm", "0.05192"),
        # the same: 2.7533 in = 69.93382, printed 69.632
        ("2.7533 in", "69.632 mm", "0.30182"),
        # TM 5-3805-260-24: 3.4980 in = 88.8492, printed 88.749
        ("3.4980 in", "88.749 mm", "0.1002"),
        # a stored pick-up truck table: 3.1228 in = 79.31912, printed 79.139
        ("79.139 mm", "3.1228 in", "0.18012"),
        # just over one unit of the last digit: 1.0001 in = 25.40254
        ("1.0001 in", "25.3 mm", "0.10254"),
    ],
)
@pytest.mark.parametrize("key", ["low", "high", "out_of_round", "taper"])
def test_a_cross_check_that_disagrees_is_refused_naming_the_key(
    key: str, limit: str, cross: str, off: str
) -> None:
    other = "" if key == "low" else 'low = "1 mm"\n'
    with pytest.raises(PlanError) as caught:
        plan_with(f'{other}{key} = ["{limit}", "{cross}"]')
    assert caught.value.key == f"journal[1].{key}"
    said = re.search(r"differ by (\S+) mm", caught.value.reason)
    assert said is not None
    assert Decimal(said[1]) == Decimal(off)
    assert limit in caught.value.reason
    assert cross in caught.value.reason


def test_a_published_pair_with_the_lower_limit_on_top_is_refused() -> None:
    # TM 9-2815-254-24 p. 3-137 prints "2.7548 to 2.7533 in"
    with pytest.raises(PlanError, match="upside down") as caught:
        plan_with('low = "2.7548 in"\nhigh = "2.7533 in"')
    assert caught.value.key == "journal[1].low"


def test_a_published_band_of_no_width_is_refused() -> None:
    # a stored pick-up truck table prints ".030: 78.577-78.577"
    with pytest.raises(PlanError, match="upside down"):
        plan_with('low = "78.577 mm"\nhigh = "78.577 mm"')


def test_a_journal_without_a_high_limit_needs_all_three_check_limits() -> None:
    head = '[check]\nmax_error = "2 um"\nmax_spread = "2 um"\nmax_drift = "0.0001 in"'
    plan = plan_with('low = "59.97 mm"', head)
    assert plan.journals[0].limits.high is None
    assert plan.check.max_error == Length(Decimal(2), "um")
    assert plan.check.max_drift == Length(Decimal("0.0001"), "in")


def test_ten_thousand_positions_are_allowed() -> None:
    # 100 repeats x 10 stations x 10 angles
    plan = plan_with(
        'low = "1 mm"\nhigh = "2 mm"\nrepeats = 100\n'
        f"stations = {[f's{n}' for n in range(10)]}\nangles_deg = {list(range(10))}"
    )
    assert plan.journals[0].repeats == 100


def test_the_bounds_themselves_are_allowed() -> None:
    plan = plan_with(
        f'low = "1 mm"\nhigh = "2 mm"\nangles_deg = [0, 179]\nstations = ["{"s" * 80}"]',
        "[check]\nreadings = 1\nmax_age_min = 0.5",
    )
    assert plan.journals[0].angles_deg == (0, 179)
    assert plan.check.max_age_us == 30_000_000  # half a minute


def test_the_least_intervals_left_out_are_those_of_a_hand() -> None:
    assert parse_plan(SHORTEST, "x").intervals == IntervalPlan(300_000, 700_000)


@pytest.mark.parametrize(
    ("text", "us"),
    [("0 s", 0), ("0.25 s", 250_000), ("250 ms", 250_000), (" 1s ", 1_000_000)],
)
def test_a_least_interval_is_a_time_with_its_unit(text: str, us: int) -> None:
    plan = plan_with(
        'low = "1 mm"\nhigh = "2 mm"',
        f'[check]\nleast_interval = "{text}"\n[defaults]\nleast_interval = "60 s"',
    )
    assert plan.intervals == IntervalPlan(in_check_us=us, else_us=60_000_000)


def test_names_may_be_written_in_any_script() -> None:
    text = SHORTEST.replace('"M1"', '"Lagerzapfen Nr. 1 \u2013 \u8ef8"')
    assert parse_plan(text, "x").journals[0].name == "Lagerzapfen Nr. 1 \u2013 \u8ef8"


def test_a_file_reads_like_its_text(tmp_path: Path) -> None:
    path = tmp_path / "pump.toml"
    path.write_bytes(EXAMPLE.encode())
    assert load_plan(path) == parse_plan(EXAMPLE, str(path))


def test_a_file_of_256_kib_is_read(tmp_path: Path) -> None:
    path = tmp_path / "long.toml"
    path.write_bytes((SHORTEST + "#").encode().ljust(256 * 1024, b"x"))
    assert len(load_plan(path).text) == 262_144
