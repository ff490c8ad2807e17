"""A journal key may stand at the journal, in its group or in the defaults; the nearest counts."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import PlanError
from daq.lengths import parse_length
from daq.plan.plan import JournalPlan, Plan, TakingPlan, parse_plan, read_plan
from daq.plan.review import findings

LEVELS = ("journal", "group", "defaults")

# Every journal key but the names and the group, with two values that can stand beside any of the
# others: for each pair of low and high, low is under high.
VALUES = {
    "low": ('"59.970 mm"', '["59.960 mm", "2.3606 in"]'),
    "high": ('"59.990 mm"', '"60.000 mm"'),
    "out_of_round": ('"0.005 mm"', '["0.01 mm", "0.0004 in"]'),
    "taper": ('"0.006 mm"', '"0.0003 in"'),
    "taper_per": ('"25.4 mm"', '"1.5 in"'),
    "form_limit": ('"under"', '"not-over"'),
    "access": ('"after-strip"', '"open"'),
    "kind": ('"main"', '"other"'),
    "stations": ('["a", "b"]', '["c", "d"]'),
    "station_at": ('["2 mm", "22 mm"]', '["1 mm", "0.8 in"]'),
    "angles_deg": ("[0, 90]", "[10]"),
    "repeats": ("2", "3"),
    "window": ('"0.3 mm"', '"0.02 in"'),
}


def plan_of(journal: str = "", group: str = "", defaults: str = "", name: str = "M1") -> Plan:
    text = (
        f'schema = 1\npart = "p"\n[[group]]\nname = "mains"\n{group}\n[defaults]\n{defaults}\n'
        f'[[journal]]\nname = "{name}"\ngroup = "mains"\n{journal}\n'
    )
    plan = parse_plan(text, "x")
    assert read_plan(text, "x") == plan
    return plan


def one(plan: Plan) -> JournalPlan:
    (journal,) = plan.journals
    return journal


def written(keys: dict[str, str]) -> str:
    return "\n".join(f"{key} = {value}" for key, value in keys.items())


@given(st.data())
def test_a_key_at_any_level_is_as_if_it_stood_at_the_journal(data: st.DataObject) -> None:
    chosen = {
        key: data.draw(st.sampled_from(values))
        for key, values in VALUES.items()
        if key in ("low", "high", "stations", "station_at") or data.draw(st.booleans())
    }
    if "taper" not in chosen:
        chosen.pop("taper_per", None)  # refused at a journal that has no limit on taper
    level = {key: data.draw(st.sampled_from(LEVELS)) for key in chosen}
    # distances go with the stations that they were written for
    level["station_at"] = level["stations"]
    # what stands farther off than a chosen value does not count
    farther: dict[str, dict[str, str]] = {name: {} for name in LEVELS}
    for key, value in chosen.items():
        farther[level[key]][key] = value
        for name in LEVELS[LEVELS.index(level[key]) + 1 :]:
            if data.draw(st.booleans()):
                farther[name][key] = data.draw(st.sampled_from(VALUES[key]))
    spread = plan_of(**{name: written(keys) for name, keys in farther.items()})
    gathered = plan_of(journal=written(chosen))
    assert spread.journals == gathered.journals
    # but for the text and what [defaults] says of a reading at no journal, the plans are the same
    same = {"text": "", "default_window": parse_length("1 mm")}
    assert msgspec.structs.replace(spread, **same) == msgspec.structs.replace(gathered, **same)


@pytest.mark.parametrize("key", VALUES)
@pytest.mark.parametrize(("near", "far"), [("journal", "group"), ("group", "defaults")])
def test_the_nearer_of_two_counts(key: str, near: str, far: str) -> None:
    base = {"low": '"59.9 mm"', "high": '"60.1 mm"', "taper": '"0.005 mm"'}
    base |= {"station_at": '["3 mm", "4 mm"]'} if key != "stations" else {}
    base.pop(key, None)
    first, second = VALUES[key]
    levels = {"journal": "", "group": "", "defaults": written(base)}
    alone = levels | {near: f"{levels[near]}\n{key} = {first}"}
    both = alone | {far: f"{alone[far]}\n{key} = {second}"}
    other = levels | {far: f"{levels[far]}\n{key} = {second}"}
    assert plan_of(**both).journals == plan_of(**alone).journals
    assert plan_of(**both).journals != plan_of(**other).journals


def test_nine_journals_need_their_limits_once() -> None:
    names = ", ".join(f'"M{n}"' for n in range(1, 10))
    plan = parse_plan(
        'schema = 1\npart = "p"\n[defaults]\nlow = "59.97 mm"\nhigh = "59.99 mm"\n'
        f'out_of_round = "0.005 mm"\ntaper = "0.005 mm"\ngroup = "mains"\n'
        f"[[journal]]\nnames = [{names}]\n",
        "x",
    )
    assert [journal.name for journal in plan.journals] == [f"M{n}" for n in range(1, 10)]
    assert {journal.group for journal in plan.journals} == {"mains"}
    assert len({msgspec.structs.replace(journal, name="").limits for journal in plan.journals}) == 1


def test_a_group_named_in_the_defaults_gives_its_keys() -> None:
    plan = parse_plan(
        'schema = 1\npart = "p"\n[[group]]\nname = "mains"\nstack = "60 mm"\nlow = "59.97 mm"\n'
        'high = "59.99 mm"\n[[group]]\nname = "rods"\nlow = "50.78 mm"\n'
        '[defaults]\ngroup = "mains"\nhigh = "50.80 mm"\n'
        '[[journal]]\nname = "M1"\n[[journal]]\nname = "R1"\ngroup = "rods"\n',
        "x",
    )
    first, second = plan.journals
    assert (first.group, first.group_stack, str(first.limits.low)) == ("mains", "60 mm", "59.97 mm")
    assert (second.group, str(second.limits.low), str(second.limits.high)) == (
        "rods",
        "50.78 mm",
        "50.80 mm",
    )


# Several journals alike ---------------------------------------------------------------------------

ALIKE = 'schema = 1\npart = "p"\n[[journal]]\nlow = "1 mm"\nhigh = "2 mm"\n'


def test_journals_alike_follow_one_another_where_their_table_stands() -> None:
    table = '[[journal]]\nlow = "1 mm"\nhigh = "2 mm"\n'
    plan = parse_plan(
        f'{ALIKE}names = ["M2", "M1"]\n{table}name = "R1"\n{table}names = ["M3"]\n', "x"
    )
    assert [(journal.key, journal.name) for journal in plan.journals] == [
        ("journal[1]", "M2"),
        ("journal[1]", "M1"),
        ("journal[2]", "R1"),
        ("journal[3]", "M3"),
    ]


def test_journals_alike_are_as_if_each_was_written_by_itself() -> None:
    limits = 'low = "1 mm"\nhigh = "2 mm"\nout_of_round = "3 um"\nangles_deg = [5]\n'
    together = parse_plan(f'schema = 1\npart = "p"\n[[journal]]\nnames = ["A", "B"]\n{limits}', "x")
    apart = parse_plan(
        'schema = 1\npart = "p"\n'
        + "".join(f'[[journal]]\nname = "{name}"\n{limits}' for name in "AB"),
        "x",
    )
    assert [msgspec.structs.replace(journal, key="") for journal in together.journals] == [
        msgspec.structs.replace(journal, key="") for journal in apart.journals
    ]


def test_two_journals_alike_are_enough_for_a_study() -> None:
    plan = parse_plan(f'{ALIKE}names = ["A", "B"]\n[study]\noperators = ["X", "Y"]\n', "x")
    assert [journal.repeats for journal in plan.journals] == [6, 6]  # 2 operators x 3 trials


@pytest.mark.parametrize(
    ("names", "key"),
    [
        ("", "journal[1].name"),
        ('name = "A"\nnames = ["B"]', "journal[1].names"),
        ("names = []", "journal[1].names"),
        ('names = ["A", "B", "A"]', "journal[1].names[3]"),
        ('names = ["A", "b/c"]', "journal[1].names[2]"),
        ('names = ["A"]\n[[journal]]\nname = "A"', "journal[2].name"),
    ],
)
def test_names_that_cannot_be_meant_are_refused(names: str, key: str) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(f"{ALIKE}{names}\n", "x")
    assert caught.value.key == key


# Told where it stands -----------------------------------------------------------------------------


@pytest.mark.parametrize(("level", "key"), [("group", "group[1]"), ("defaults", "defaults")])
@pytest.mark.parametrize(
    "spoiled",
    ['low = "0 mm"', 'high = "x"', 'taper = ["1 mm"]', 'out_of_round = "-1 um"', "repeats = 0"],
)
def test_a_wrong_value_is_told_where_it_stands(level: str, key: str, spoiled: str) -> None:
    with pytest.raises(PlanError) as caught:
        plan_of(journal='low = "1 mm"\nhigh = "2 mm"', **{level: spoiled})
    assert caught.value.key == f"{key}.{spoiled.partition(' ')[0]}"


def test_limits_of_two_tables_that_are_upside_down_are_told_at_the_journal() -> None:
    with pytest.raises(PlanError, match="upside down") as caught:
        plan_of(journal='high = "59.96 mm"', defaults='low = "59.97 mm"')
    assert caught.value.key == "journal[1].low"


def test_taper_per_length_needs_the_stations_whichever_table_says_so() -> None:
    with pytest.raises(PlanError, match="Where taper is limited per length") as caught:
        plan_of('low = "1 mm"\nhigh = "2 mm"', 'taper_per = "1 in"', 'taper = "1 um"')
    assert caught.value.key == "journal[1].station_at"


def test_stations_of_a_group_do_not_take_the_distances_of_the_defaults() -> None:
    limits = 'low = "1 mm"\nhigh = "2 mm"'
    defaults = 'station_at = ["1 mm", "2 mm"]'
    assert one(plan_of(limits, "", defaults)).station_at != ()
    assert one(plan_of(limits, 'stations = ["x", "y"]', defaults)).station_at == ()
    # but distances nearer than the stations are written for them
    assert one(plan_of(limits, defaults, 'stations = ["x", "y"]')).station_at != ()


def test_a_study_counts_its_own_repeats_in_a_group_too() -> None:
    with pytest.raises(PlanError) as caught:
        plan_of(
            '[study]\noperators = ["A", "B"]\n[[journal]]\nname = "M2"\nlow = "1 mm"',
            "repeats = 2",
            'low = "1 mm"\nhigh = "2 mm"',
        )
    assert caught.value.key == "group[1].repeats"


# How readings are taken ---------------------------------------------------------------------------


def test_what_is_typed_is_asked_for_once_unless_the_defaults_say_twice() -> None:
    limits = 'low = "1 mm"\nhigh = "2 mm"'
    assert plan_of(limits).taking == TakingPlan(is_typed_twice=False, held="ask")
    assert plan_of(limits, "", 'typed = "twice"').taking.is_typed_twice
    assert plan_of(limits, "", 'typed = "once"\nheld = "ask"').taking == TakingPlan()


@pytest.mark.parametrize("held", ["ask", "press-again"])
def test_what_answers_for_a_held_reading_is_taken_as_written(held: str) -> None:
    plan = plan_of('low = "59.97 mm"\nhigh = "59.99 mm"', "", f'held = "{held}"')
    assert plan.taking.held == held
    assert findings(plan) == ()


@pytest.mark.parametrize("key", ['typed = "twice"', 'held = "ask"', 'least_interval = "1 s"'])
@pytest.mark.parametrize("level", ["journal", "group"])
def test_what_holds_for_the_whole_session_stands_in_the_defaults_alone(
    key: str, level: str
) -> None:
    with pytest.raises(PlanError, match="unknown key"):
        plan_of(defaults='low = "1 mm"\nhigh = "2 mm"', **{level: key})
