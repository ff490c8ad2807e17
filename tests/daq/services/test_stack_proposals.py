"""The stacks that a plan needs."""

from decimal import Decimal
from fractions import Fraction

from daq.equipment.stacks.making import Maker
from daq.equipment.stacks.set_file import parse_block_set
from daq.plan.plan import parse_plan
from daq.services.home import SHIPPED_SETS
from daq.services.stack_proposals import Proposal, proposals

HEAD = """schema = 1
part = "crank"
[check]
near = "1 mm"
[defaults]
stations = ["front"]
angles_deg = [0, 90]
"""


def maker_for(unit: str) -> Maker:
    name = "inch-81" if unit == "in" else "M112"
    text = (SHIPPED_SETS / f"{name}.toml").read_text(encoding="utf-8")
    return Maker(parse_block_set(text, name, name))


def proposed(*journals: tuple[str, str, str, str], more: str = "") -> list[Proposal]:
    """Of journals as name, group, low, high."""
    text = HEAD + more
    for name, group, low, high in journals:
        text += f'[[journal]]\nname = "{name}"\nlow = "{low}"\nhigh = "{high}"\n'
        text += f'group = "{group}"\n' if group else ""
    return proposals(parse_plan(text, "plan"), maker_for)


def test_the_stack_is_the_low_limit_where_blocks_make_it() -> None:
    (found,) = proposed(("M1", "", "57.982 mm", "58.000 mm"))
    assert found.stack is not None
    assert found.stack.nominal == found.wanted
    assert found.away_um == 0
    assert found.farthest_mm == 0


def test_each_group_has_its_own_in_its_own_unit() -> None:
    mains, rods = proposed(
        ("M1", "mains", "57.982 mm", "58.000 mm"),
        ("R1", "rods", "1.8893 in", "1.8897 in"),
        ("M2", "mains", "57.980 mm", "58.000 mm"),
    )
    assert (mains.group, mains.journals) == ("mains", ("M1", "M2"))
    assert rods.stack is not None
    assert str(rods.stack.nominal) == "1.8893 in"


def test_journals_farther_apart_than_near_need_more_than_one_stack() -> None:
    found = proposed(
        ("M1", "mains", "57.0 mm", "57.1 mm"),
        ("M2", "mains", "58.0 mm", "58.1 mm"),
        ("M3", "mains", "59.0 mm", "59.1 mm"),
        ("M4", "mains", "59.001 mm", "59.1 mm"),
    )
    # 58.0 lies within 1 mm of 57.0 and of 59.0, not of 59.001
    assert [one.journals for one in found] == [("M1", "M2", "M3"), ("M4",)]
    assert str(found[0].wanted) == "58.0 mm"
    assert found[0].farthest_mm == 1


def test_the_nearest_stack_is_proposed_with_its_distance() -> None:
    (found,) = proposed(("M1", "", "63.4746 mm", "63.500 mm"))
    assert found.stack is not None
    # steps of 0.0005 mm: 63.4745 is 0.1 um under, 63.475 is 0.4 um over
    assert str(found.stack.nominal) == "63.4745 mm"
    assert found.away_um == Fraction(-1, 10)
    assert found.farthest_mm == Decimal("0.0001")


def test_what_the_plan_says_now_is_told_beside_it() -> None:
    more = '[[group]]\nname = "rods"\nstack = "48 mm"\n'
    (found,) = proposed(("R1", "rods", "47.988 mm", "48.000 mm"), more=more)
    assert found.planned == "48 mm"


def test_a_stack_farther_away_than_near_is_none() -> None:
    # the five longest of M112: 100 + 75 + 50 + 25 + 24.5 = 274.5
    (found,) = proposed(("M1", "", "400 mm", "400.1 mm"))
    assert found.stack is None
    (near,) = proposed(("M1", "", "275 mm", "275.1 mm"))
    assert near.stack is not None
    assert (str(near.stack.nominal), near.farthest_mm) == ("274.5 mm", Decimal("0.5"))
