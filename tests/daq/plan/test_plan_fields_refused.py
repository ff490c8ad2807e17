"""What the newer keys of a plan are refused for, each naming its key."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import PlanError
from daq.plan.plan import Plan, parse_plan

PLAN = """\
schema = 1
part = "pump"

[temperature]
part_expansion = "11.5e-6 /K"
part_expansion_limit = "1.2e-6 /K"
thermometer_limit = "0.5 K"
room_limit = "5 K"

[decision]
rule = "guarded"
coverage = 0.9545

[[group]]
name = "mains"
greatest_undersize = "0.50 mm"
clean_up = "0.05 mm"
housing_bore = ["64.000 mm", "64.019 mm"]
shell_wall = ["1.990 mm", "1.995 mm"]

[[group.undersize]]
name = "thin"
by = "0.03 mm"
low = "59.962 mm"
bearing_only = true

[[group.undersize]]
name = "first"
by = "0.25 mm"
low = "59.742 mm"
high = "59.758 mm"
worn_low = "59.732 mm"

[[group.undersize]]
name = "second"
by = "0.50 mm"
low = "59.492 mm"
high = "59.508 mm"

[defaults]
station_at = ["2 mm", "22 mm"]
taper_per = "25.4 mm"

[[journal]]
name = "M1"
group = "mains"
low = "59.992 mm"
high = "60.008 mm"
taper = "0.005 mm"

[[journal]]
name = "M2"
group = "mains"
low = "59.992 mm"
high = "60.008 mm"
"""
END = 'name = "M2"'
STUDY = '[study]\noperators = ["A", "B"]\n[[group]]\nname = "other"\n[[group]]\nname = "mains"'
FIRST_GROUP = '[[group]]\nname = "mains"'
SECOND = 'name = "second"\nby = "0.50 mm"\nlow = "59.492 mm"\nhigh = "59.508 mm"'
TWO = "a list of two"


def second(by: str, low: str, high: str, name: str = "second") -> str:
    return f'name = "{name}"\nby = "{by}"\nlow = "{low}"\nhigh = "{high}"'


STEP = "group[1].undersize"

REFUSED = [
    # temperatures
    ('"11.5e-6 /K"', '"-11.5e-6 /K"', "temperature.part_expansion", "not over zero"),
    ('"11.5e-6 /K"', '"0 /K"', "temperature.part_expansion", "not over zero"),
    ('"11.5e-6 /K"', '"11.5"', "temperature.part_expansion", "no unit"),
    ('"11.5e-6 /K"', '"11.5 /K"', "temperature.part_expansion", "the millionths are missing"),
    ('"11.5e-6 /K"', '"11.5 ppm"', "temperature.part_expansion", "not a coefficient"),
    ('"11.5e-6 /K"', "11.5e-6", "temperature.part_expansion", "Expected"),
    ('"1.2e-6 /K"', '"1.2"', "temperature.part_expansion_limit", "no unit"),
    ('"1.2e-6 /K"', '"11.5e-6 /K"', "temperature.part_expansion_limit", "is not under"),
    (
        'part_expansion = "11.5e-6 /K"\n',
        "",
        "temperature.part_expansion_limit",
        "a limit without part_expansion",
    ),
    (
        "thermometer_limit",
        'gauge_expansion_limit = "1e-6 /K"\nthermometer_limit',
        "temperature.gauge_expansion_limit",
        "a limit without gauge_expansion",
    ),
    (
        "thermometer_limit",
        'part_material = "steel"\nthermometer_limit',
        "temperature.part_material",
        "one of the two",
    ),
    (
        'part_expansion = "11.5e-6 /K"',
        'part_material = "unobtainium"',
        "temperature.part_material",
        "not a material that is known here (steel, ",
    ),
    ('"0.5 K"', '"0.5"', "temperature.thermometer_limit", "not a temperature difference"),
    ('"0.5 K"', '"-0.5 K"', "temperature.thermometer_limit", "not a temperature difference"),
    ('"0.5 K"', '"0 K"', "temperature.thermometer_limit", "is not over 0 K"),
    ('"0.5 K"', '"5.1 K"', "temperature.thermometer_limit", "at most 5 K"),
    ('"5 K"', '"nan K"', "temperature.room_limit", "not a temperature difference"),
    ('"5 K"', '"21 K"', "temperature.room_limit", "at most 20 K"),
    ('"5 K"', '"40 °F"', "temperature.room_limit", "at most 20 K"),
    ("room_limit", "rom_limit", "temperature.rom_limit", "unknown key"),
    # the rule
    ('"guarded"', '"strict"', "decision.rule", "Invalid enum value"),
    ("0.9545", "95.45", "decision.coverage", "95.45 is not between 0.5 and 0.9999"),
    ("0.9545", "1", "decision.coverage", "1 is not between"),
    ("0.9545", "nan", "decision.coverage", "nan is not between"),
    ("0.9545", '"95 %"', "decision.coverage", "Expected float"),
    # a study
    (FIRST_GROUP, STUDY.replace('"A", "B"', '"A"'), "study.operators", "needs 2 to 10"),
    (FIRST_GROUP, STUDY.replace('"A", "B"', '"A", "A"'), "study.operators", "twice"),
    (FIRST_GROUP, STUDY.replace('"A"', '"A/B"'), "study.operators", "1 to 80 characters"),
    (FIRST_GROUP, STUDY.replace("[[", "trials = 1\n[[", 1), "study.trials", "between 2 and 10"),
    (FIRST_GROUP, STUDY.replace("[[", "order_seed = -1\n[[", 1), "study.order_seed", "between 0"),
    # form
    ('taper_per = "25.4 mm"', 'form_limit = "exceeds"', "defaults.form_limit", "Invalid enum"),
    ('taper_per = "25.4 mm"', 'taper_per = "0 mm"', "defaults.taper_per", "not above zero"),
    (END, f'{END}\ntaper_per = "1 in"', "journal[2].taper_per", "no limit on taper"),
    ('["2 mm", "22 mm"]', '["2 mm"]', "defaults.station_at", "1 distances for 2 stations"),
    ('["2 mm", "22 mm"]', '["2 mm", "2000 um"]', "defaults.station_at", "same distance"),
    ('["2 mm", "22 mm"]', '["2 mm", "-2 mm"]', "defaults.station_at", "below zero"),
    ('["2 mm", "22 mm"]', '["2 mm", "22"]', "defaults.station_at", "not a length"),
    ('["2 mm", "22 mm"]', "[2, 22]", "defaults.station_at[1]", "Expected str"),
    ('station_at = ["2 mm", "22 mm"]\n', "", "journal[1].station_at", "required where taper"),
    (
        'taper = "0.005 mm"',
        'taper = "0.005 mm"\nstations = ["a", "b"]',
        "journal[1].station_at",
        "required where taper",
    ),
    (
        'taper = "0.005 mm"',
        'taper = "0.005 mm"\nstation_at = ["1 mm", "2 mm", "3 mm"]',
        "journal[1].station_at",
        "3 distances for 2 stations",
    ),
    # undersizes
    ('"0.03 mm"', '"-0.03 mm"', f"{STEP}[1].by", "not above zero"),
    ('"0.25 mm"', '"59.758 mm"', f"{STEP}[2].by", "the finished diameter goes into low and high"),
    ('"0.25 mm"', '["0.25 mm", "0.012 in"]', f"{STEP}[2].by", "differ by"),
    ('high = "59.758 mm"\n', "", f"{STEP}[2].high", "required where journals are to be ground"),
    ('"59.758 mm"', '"59.742 mm"', f"{STEP}[2].low", "upside down"),
    ('"59.732 mm"', '"59.743 mm"', f"{STEP}[2].worn_low", "freshly ground"),
    (
        "bearing_only = true",
        'bearing_only = true\nworn_low = "59.95 mm"',
        f"{STEP}[1].worn_low",
        "one low limit",
    ),
    (SECOND, second("0.25 mm", "59.492 mm", "59.508 mm"), f"{STEP}[3].by", "out of order"),
    (SECOND, second("0.20 mm", "59.492 mm", "59.508 mm"), f"{STEP}[3].by", "out of order"),
    (SECOND, second("0.50 mm", "59.742 mm", "59.758 mm"), f"{STEP}[3].by", "out of order"),
    (SECOND, second("0.50 mm", "59.730 mm", "59.745 mm"), f"{STEP}[3].high", "undersizes overlap"),
    (SECOND, second("0.50 mm", "59.730 mm", "59.742 mm"), f"{STEP}[3].high", "undersizes overlap"),
    (SECOND, second("0.50 mm", "59.492 mm", "59.508 mm", "first"), f"{STEP}[3].name", "a second"),
    (SECOND, second("0.50 mm", "59.492 mm", "59.508 mm", "thin"), f"{STEP}[3].name", "a second"),
    ('name = "second"', 'name = "se/cond"', f"{STEP}[3].name", "1 to 80 characters"),
    ('"59.758 mm"', '"59.963 mm"', f"{STEP}[2].high", "undersizes overlap"),
    ('low = "59.962 mm"', 'low = "60.010 mm"', f"{STEP}[1].low", "standard high limit 60.008 mm"),
    (
        "bearing_only = true",
        'high = "60.008 mm"\nbearing_only = true',
        f"{STEP}[1].high",
        "not under the standard high limit",
    ),
    ('"0.50 mm"\nclean', '"0.40 mm"\nclean', f"{STEP}[3].by", "beyond greatest_undersize"),
    ("clean_up", 'present_undersize = "third"\nclean_up', "group[1].present_undersize", "no under"),
    ("clean_up", 'present_undersize = ""\nclean_up', "group[1].present_undersize", "no undersize"),
    ("clean_up", 'present_undersize = "thin"\nclean_up', "group[1].present_undersize", "no high"),
    ('"0.05 mm"', '"0 mm"', "group[1].clean_up", "not above zero"),
    ('["64.000 mm", "64.019 mm"]', '["64.000 mm"]', "group[1].housing_bore", TWO),
    ('["64.000 mm", "64.019 mm"]', '["64.1 mm", "64 mm"]', "group[1].housing_bore", "upside down"),
    ('["64.000 mm", "64.019 mm"]', '"64 mm"', "group[1].housing_bore", "Expected array"),
    ('["1.990 mm", "1.995 mm"]', '["1.990 mm", "32 mm"]', "group[1].shell_wall", "half shell"),
    ("bearing_only = true", "bearing_only = 1", f"{STEP}[1].bearing_only", "Expected bool"),
    ("bearing_only = true", "bearing = true", f"{STEP}[1].bearing", "unknown key"),
    ("clean_up", "cleanup", "group[1].cleanup", "unknown key"),
    (
        'low = "59.992 mm"\nhigh = "60.008 mm"\ntaper',
        'low = "59.982 mm"\nhigh = "60.008 mm"\ntaper',
        "journal[2].low",
        "need the same limits: low of M2 is 59.992 mm, of M1 59.982 mm",
    ),
]


@pytest.mark.parametrize(("old", "new", "key", "reason"), REFUSED)
def test_a_plan_is_refused_naming_the_key_and_the_reason(
    old: str, new: str, key: str, reason: str
) -> None:
    assert PLAN.count(old) == 1
    text = PLAN.replace(old, new)
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "x")
    assert caught.value.key == key
    assert reason in caught.value.reason


@pytest.mark.parametrize(
    ("study", "more", "key"),
    [
        ("[study]\noperators = ['A', 'B']", "[defaults]\nrepeats = 2", "defaults.repeats"),
        ("[study]\noperators = ['A', 'B']\ntrials = 11", "", "study.trials"),
    ],
)
def test_a_study_counts_its_own_repeats(study: str, more: str, key: str) -> None:
    journals = "".join(
        f'[[journal]]\nname = "M{n}"\nlow = "1 mm"\nhigh = "2 mm"\n' for n in range(2)
    )
    with pytest.raises(PlanError) as caught:
        parse_plan(f'schema = 1\npart = "p"\n{study}\n{more}\n{journals}', "x")
    assert caught.value.key == key
    with pytest.raises(PlanError) as caught:
        parse_plan(
            f"schema = 1\npart = 'p'\n[study]\noperators = ['A', 'B']\n{journals}repeats = 2", "x"
        )
    assert caught.value.key == "journal[2].repeats"


def test_a_study_of_one_journal_is_refused() -> None:
    with pytest.raises(PlanError, match="at least two journals") as caught:
        parse_plan(
            'schema = 1\npart = "p"\n[study]\noperators = ["A", "B"]\n[[journal]]\nname = "M"\n'
            'low = "1 mm"\nhigh = "2 mm"',
            "x",
        )
    assert caught.value.key == "study"


def test_the_plan_that_the_tables_spoil_is_good_in_itself() -> None:
    assert [step.name for step in parse_plan(PLAN, "x").groups[0].undersizes] == [
        *("thin", "first", "second"),
    ]


VALUES = st.recursive(
    st.sampled_from(
        [
            *("1", "-1", "0", "1.0", "nan", "inf", "true", '""', '"1 mm"', '"2 in"', '"x"'),
            *('"1 K"', '"1e-6 /K"', '"first"', "1979-05-27", "9" * 400, '"under"'),
        ]
    ),
    lambda inner: st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
    max_leaves=6,
)
LINES = [line for line in PLAN.splitlines() if "=" in line]


@given(st.sampled_from(LINES), VALUES)
def test_any_value_at_any_key_is_a_plan_or_a_plan_error(line: str, value: str) -> None:
    text = PLAN.replace(line, f"{line.partition(' =')[0]} = {value}", 1)
    try:
        found: Plan | PlanError = parse_plan(text, "x")
    except PlanError as error:
        found = error
    assert isinstance(found, Plan) or found.reason
