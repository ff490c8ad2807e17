"""A plan for a part that was ground to an undersize: its limits, and what is refused."""

import pytest

from daq.lengths import Limits, parse_length
from daq.plan.ground_to import ground, ground_to_fault
from daq.plan.plan import JournalPlan, Plan, parse_plan

PLAN = """\
schema = 1
part = "crank"
[check]
stack = "59.970 mm"
[[group]]
name = "mains"
[[group.undersize]]
name = "thin"
by = "0.03 mm"
low = "59.950 mm"
bearing_only = true
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
worn_low = "59.700 mm"
[[group.undersize]]
name = "0.50"
by = "0.50 mm"
low = "59.470 mm"
high = "59.490 mm"
[[group]]
name = "rods"
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "49.720 mm"
high = "49.740 mm"
[[group]]
name = "spare"
[[group.undersize]]
name = "0.75"
by = "0.75 mm"
low = "39.220 mm"
high = "39.240 mm"
[[journal]]
name = "M1"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"
out_of_round = "0.005 mm"
[[journal]]
name = "R1"
group = "rods"
low = "49.970 mm"
high = "49.990 mm"
[[journal]]
name = "seal"
low = "69.970 mm"
high = "69.990 mm"
"""


def plan(text: str = PLAN) -> Plan:
    return parse_plan(text, "plan.toml")


def by_name(*words: str, text: str = PLAN) -> dict[str, JournalPlan]:
    return {journal.name: journal for journal in ground(plan(text), words).journals}


def test_the_limits_to_grind_to_are_the_journals_limits_and_not_how_far_it_may_wear() -> None:
    found = by_name("mains=0.25")["M1"]
    assert found.limits == Limits(
        low=parse_length("59.720 mm"),
        high=parse_length("59.740 mm"),
        out_of_round=parse_length("0.005 mm"),
    )
    assert (found.undersize, found.is_ground) == ("0.25", True)
    assert str(found.standard_limits.low) == "59.970 mm"


def test_a_group_that_is_not_named_stays_as_it_is() -> None:
    before = {journal.name: journal for journal in plan().journals}
    found = by_name("mains=0.25")
    assert (found["R1"], found["seal"]) == (before["R1"], before["seal"])


def test_a_bare_name_is_for_every_group_that_has_it() -> None:
    found = by_name("0.25")
    assert [str(found[name].limits.low) for name in ("M1", "R1", "seal")] == [
        "59.720 mm",
        "49.720 mm",
        "69.970 mm",
    ]
    assert [found[name].is_ground for name in ("M1", "R1", "seal")] == [True, True, False]


def test_each_group_may_have_its_own() -> None:
    found = by_name("mains=0.50", "rods=0.25")
    assert [str(found[name].limits.low) for name in ("M1", "R1")] == ["59.470 mm", "49.720 mm"]


def test_the_undersize_takes_the_place_of_the_one_that_the_part_had() -> None:
    text = PLAN.replace('name = "mains"\n', 'name = "mains"\npresent_undersize = "0.25"\n', 1)
    assert str(by_name(text=text)["M1"].limits.low) == "59.700 mm"
    for word, low in (("mains=0.50", "59.470 mm"), ("mains=0.25", "59.720 mm")):
        changed = ground(plan(text), [word])
        assert str(changed.journals[0].limits.low) == low
        assert changed.group("mains").present_undersize == word.removeprefix("mains=")
        assert str(changed.journals[0].standard_limits.low) == "59.970 mm"


@pytest.mark.parametrize("words", [["mains=0.25"], ["0.25"], ["mains=0.50", "rods=0.25"]])
def test_done_twice_is_done_once(words: list[str]) -> None:
    once = ground(plan(), words)
    assert ground(once, words) == once


def test_no_word_changes_nothing() -> None:
    assert ground(plan(), []) == plan()
    assert ground_to_fault(plan(), []) is None


KNOWN = "(there are: mains=0.25, mains=0.50, rods=0.25, spare=0.75)"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["0.30"], f"'0.30' is no undersize of this plan {KNOWN}"),
        (["mains=0.75"], f"'mains=0.75' is no undersize of this plan {KNOWN}"),
        (["big=0.25"], "'big=0.25' is no undersize"),
        ([""], "'' is no undersize"),
        (["mains="], "'mains=' is no undersize"),
        (["thin"], f"thin of mains is for bearings only: nothing is ground to it {KNOWN}"),
        (["mains=0.25", "mains=0.50"], "mains cannot be ground to 0.25 and to 0.50"),
        (["0.25", "mains=0.50"], "mains cannot be ground to 0.25 and to 0.50"),
        (["0.75"], "the group spare has no journals in this plan"),
    ],
)
def test_words_that_cannot_be_meant_are_refused_naming_what_there_is(
    words: list[str], said: str
) -> None:
    fault = ground_to_fault(plan(), words)
    assert fault is not None
    assert said in fault


def test_a_plan_without_undersizes_says_that_there_are_none() -> None:
    bare = plan(PLAN.partition("[[group]]")[0] + PLAN[PLAN.rindex("[[journal]]") :])
    assert ground_to_fault(bare, ["0.25"]) == (
        "'0.25' is no undersize of this plan (there are: none to grind to)"
    )


@pytest.mark.parametrize("word", ["0.30", "thin", "mains=", ""])
def test_a_record_with_such_words_is_read_as_if_they_were_not_there(word: str) -> None:
    assert ground(plan(), [word]) == plan()
