"""A plan as one picture: each sort of journal from its end, all of it bounded."""

from msgspec.structs import replace

from daq.pictures.layout import CrankLayout, layout_of
from daq.pictures.plan_picture import MARK, MOST_SORTS, plan_picture, sorts_of
from daq.plan.plan import parse_plan
from daq.services.examples import example
from tests.daq.pictures.drawing_words import (
    is_only_shapes_and_words,
    of_class,
    tree,
    words,
)
from tests.daq.pictures.drawn_sessions import between, journal

M1 = journal(between(), "M1")
PUMP = layout_of(parse_plan(example("three-throw-pump").text, "x").journals)


def test_journals_of_a_group_at_the_same_angles_are_one_sort() -> None:
    assert [one.name for one in sorts_of(PUMP)] == ["M1, M2", "T1, T2, T3"]
    five = CrankLayout(tuple(replace(M1, name=f"M{at}") for at in range(1, 6)))
    assert [one.name for one in sorts_of(five)] == ["M1, M2 … M5 (5)"]
    other = replace(M1, name="M2", angles_deg=(0, 60, 120))
    third = replace(M1, name="M3", stations=("middle",))
    assert [one.name for one in sorts_of(CrankLayout((M1, other, third)))] == ["M1, M3", "M2"]


def test_it_holds_the_crank_its_journals_from_the_end_and_the_route() -> None:
    made = plan_picture("pump", PUMP)
    assert made.startswith(f"{MARK}\n")
    assert is_only_shapes_and_words(made)
    inner = [one.get("class") for one in tree(made) if one.tag.endswith("svg")]
    assert inner == ["pic pic-crank", "pic pic-end", "pic pic-end", "pic pic-map"]
    assert "pump" in words(made)


def test_the_parts_do_not_lie_on_one_another() -> None:
    places = []
    for one in tree(plan_picture("pump", PUMP)):
        if one.tag.endswith("svg"):
            x, y, wide, high = (float(one.get(key, "")) for key in ("x", "y", "width", "height"))
            places.append((x, y, x + wide, y + high))
    for at, (left, top, right, bottom) in enumerate(places):
        for x, y, far, low in places[at + 1 :]:
            assert x >= right - 0.1 or far <= left + 0.1 or y >= bottom - 0.1 or low <= top + 0.1


def test_of_many_sorts_some_are_drawn_and_the_rest_is_counted() -> None:
    drawn = CrankLayout(
        tuple(replace(M1, name=f"M{at}", angles_deg=(at,)) for at in range(MOST_SORTS + 5))
    )
    made = plan_picture("p", drawn)
    assert len(of_class(made, "pic-end")) == MOST_SORTS
    assert "and 5 more sorts of journals" in words(made)


def test_a_hostile_part_is_text() -> None:
    made = plan_picture('</title><script>alert("x")</script>\u202e', PUMP)
    assert is_only_shapes_and_words(made)
    assert "\u202e" not in made
