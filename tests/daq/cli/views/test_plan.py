"""A plan as lines and as JSON: short, journals that are alike in one line, exact in JSON."""

import pytest

from daq.cli.views.plan import plan_document, plan_lines
from daq.plan.plan import Plan, parse_plan

HEAD = 'schema = 1\npart = "p"\n'
LIMITS = 'low = "59.970 mm"\nhigh = "59.990 mm"\n'


def plan_of(text: str) -> Plan:
    return parse_plan(HEAD + text, "x")


def journal(name: str, more: str = "") -> str:
    return f'[[journal]]\nname = "{name}"\n{LIMITS}{more}'


def test_journals_alike_stand_in_one_line_and_their_places_once() -> None:
    rods = '[[journal]]\nnames = ["R1", "R2"]\ngroup = "rods"\nlow = "2.1 in"\nhigh = "2.2 in"\n'
    mains = [journal(name, 'group = "mains"\nout_of_round = "0.005 mm"\n') for name in ("M1", "M2")]
    # 2 stations x 4 angles x 4 journals = 32
    assert list(plan_lines(plan_of(mains[0] + rods + mains[1]))) == [
        "p: 4 journals, 32 readings",
        "judged with a margin at the limits, so that a verdict is 95 % sure; a used part",
        "M1, M2 (mains): 59.970 to 59.990 mm; out of round at most 0.005 mm",
        "R1, R2 (rods): 2.1 to 2.2 in",
        "every journal at front, rear; angles 0, 45, 90, 135",
    ]


def test_places_that_differ_are_told_with_their_journals() -> None:
    lines = list(plan_lines(plan_of(journal("A", "repeats = 2\n") + journal("B") + journal("C"))))
    assert lines[2:] == [
        "A: 59.970 to 59.990 mm",
        "    at front, rear; angles 0, 45, 90, 135, 2 times",
        "B, C: 59.970 to 59.990 mm",
        "    at front, rear; angles 0, 45, 90, 135",
    ]


@pytest.mark.parametrize(
    "more",
    ['access = "after-strip"', 'group = "g"', 'taper = "1 um"', "repeats = 2", 'window = "1 mm"'],
)
def test_whatever_differs_makes_two_lines(more: str) -> None:
    lines = list(plan_lines(plan_of(journal("A") + journal("B", more))))
    assert [line for line in lines if line.startswith("A, B")] == []
    assert sum(line.startswith(("A", "B")) for line in lines) == 2


def test_what_is_measured_last_says_so() -> None:
    lines = list(plan_lines(plan_of(journal("A", 'access = "after-strip"\n'))))
    assert lines[2] == "A: 59.970 to 59.990 mm; measured last, after stripping"
    assert lines[3] == "at front, rear; angles 0, 45, 90, 135"


def test_what_it_is_drawn_as_is_told_where_the_plan_says_it() -> None:
    plan = plan_of(journal("M1", 'kind = "rod"\n') + journal("M2") + journal("cam"))
    lines = list(plan_lines(plan))
    assert lines[2] == "M1: 59.970 to 59.990 mm; drawn as kind rod"
    assert lines[3] == "M2, cam: 59.970 to 59.990 mm"
    kinds = [one["kind"] for one in plan_document(plan)["journals"]]
    assert kinds == ["rod", "main", "other"]


def test_a_window_of_its_own_and_distances_are_told() -> None:
    more = 'window = "1 mm"\nstation_at = ["2 mm", "22 mm"]\n'
    lines = list(plan_lines(plan_of(journal("A", more))))
    assert lines[3] == "    a reading up to 1 mm outside the limits is believed"
    assert lines[4] == "at front (2 mm), rear (22 mm); angles 0, 45, 90, 135"


def test_two_units_in_one_band_are_both_told() -> None:
    lines = list(plan_lines(plan_of(journal("A").replace('"59.990 mm"', '"2.3620 in"'))))
    assert "A: 59.970 mm to 2.3620 in" in lines


def test_250_journals_are_a_few_short_lines() -> None:
    names = ", ".join(f'"M{n}"' for n in range(1, 251))
    lines = list(plan_lines(plan_of(f"[[journal]]\nnames = [{names}]\n{LIMITS}")))
    assert lines[0] == "p: 250 journals, 2000 readings"
    assert lines[2] == (
        "M1, M2, M3, M4, M5, M6, M7, M8, M9, M10, M11, M12 and 238 more: 59.970 to 59.990 mm"
    )
    assert len(lines) == 4


def test_how_readings_are_taken_is_told_where_the_plan_says_so() -> None:
    lines = list(plan_lines(plan_of(journal("A"))))
    assert not any("typed" in line or "held" in line for line in lines)
    plan = plan_of(f'[defaults]\ntyped = "twice"\nheld = "press-again"\n{journal("A")}')
    lines = list(plan_lines(plan))
    assert "typed readings: each is asked for twice" in lines
    assert "readings in question: one that came too soon may be answered by a second press" in lines
    document = plan_document(plan)
    assert (document["typed"], document["held"]) == ("twice", "press-again")


@pytest.mark.parametrize(
    ("decision", "said"),
    [
        ('rule = "simple"', "judged by the limits alone; a used part"),
        (
            "confidence = 0.99",
            "judged with a margin at the limits, so that a verdict is 99 % sure; ",
        ),
        ('state = "ground"', "sure; a part just ground, held to both limits"),
    ],
)
def test_how_a_size_is_judged_is_told_in_a_line(decision: str, said: str) -> None:
    lines = list(plan_lines(plan_of(f"[decision]\n{decision}\n{journal('A')}")))
    assert said in lines[1]


def test_json_has_every_journal_by_itself() -> None:
    plan = plan_of(f'[[journal]]\nnames = ["A", "B"]\naccess = "after-strip"\n{LIMITS}')
    found = plan_document(plan)["journals"]
    assert [(one["name"], one["access"]) for one in found] == [
        ("A", "after-strip"),
        ("B", "after-strip"),
    ]
    assert found[0]["low"] == {"stated": "59.970 mm", "mm": "59.970"}
