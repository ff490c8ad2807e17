"""The route as a map: a box a place, told apart without colour, bounded for every plan."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from daq.board.board import PlaceAsked, PlaceShown
from daq.pictures.cells import STATES, WORDS
from daq.pictures.layout import CrankLayout
from daq.pictures.route_map import MOST_BARS, route_map
from daq.pictures.svg import size_of
from tests.daq.pictures.drawing_words import (
    about,
    is_only_shapes_and_words,
    of_class,
    outside,
    overlapping,
    tree,
    words,
)
from tests.daq.pictures.drawn_sessions import between, finished, journal, layout, row

M1 = journal(between(), "M1")


def boxes(drawing: str) -> Counter[str]:
    """How many boxes of each state are in the map, without those of the key."""
    found = Counter(
        next(name for name in one.get("class", "").split() if name.startswith("is-"))[3:]
        for one in of_class(drawing, "pic-place")
    )
    is_with_key = any(word.startswith("to come (") for word in words(drawing))
    return found - Counter(STATES) if is_with_key else found


def test_every_place_has_its_box_by_how_it_stands() -> None:
    played = between()
    made = route_map(layout(played), played.board.rows, played.board.place)
    # M1, M2 proven: 16. M3: one measured again, one asked for, one still to be, one left out, four
    # to come; R1, R2 and the middle bearing: 24.
    assert boxes(made) == {
        "proven": 16,
        "measured": 1,
        "here": 1,
        "again": 1,
        "skipped": 1,
        "to-come": 28,
    }
    assert {"proven (16)", "measure again (1)", "left out (1)"} <= set(words(made))


def test_a_plan_alone_is_all_to_come() -> None:
    made = route_map(layout(between()))
    assert boxes(made) == {"to-come": 48}
    assert "A box is a reading: 48 in all, to be filled in the order of the route." in words(made)


def test_a_journal_that_this_run_leaves_out_is_told_apart() -> None:
    rows = [one for one in finished().board.rows if one.result.journal != "R2"]
    assert boxes(route_map(layout(finished()), rows)) == {"proven": 40, "not-in-run": 8}


def test_what_is_drawn_in_a_box_differs_for_every_state() -> None:
    """Without any paint: shapes, outline and its breaks alone tell them apart."""
    made = route_map(layout(between()), between().board.rows)
    found = set()
    root = tree(made)
    children = list(root)
    for at, one in enumerate(children):
        if "pic-place" in one.get("class", ""):
            inner = children[at + 1]
            is_own = not inner.tag.endswith("text")
            shape = (inner.tag, inner.get("d", "")[:1], inner.get("y1") == inner.get("y2"))
            found.add((one.get("stroke-dasharray"), is_own and shape))
    assert len(found) == len(STATES)


def test_up_to_three_repeats_have_boxes_and_more_have_a_count() -> None:
    for repeats, count in ((1, 8), (2, 16), (3, 24), (4, 8), (9, 8)):
        made = route_map(CrankLayout((replace(M1, repeats=repeats),)))
        assert sum(boxes(made).values()) == count
    four = replace(M1, repeats=4, stations=("front",), angles_deg=(0,))
    places = tuple(
        PlaceShown("front", 0, number, state)
        for number, state in enumerate(("proven", "measured", "skipped", "to-come"), 1)
    )
    made = route_map(CrankLayout((four,)), (replace(row(between(), "M1"), places=places),))
    assert "2/4" in words(made)


@pytest.mark.parametrize("width", [960, 440, 320])
def test_no_text_lies_on_its_neighbour(width: int) -> None:
    played = between()
    long = replace(M1, name="the journal nearest the flywheel of all", stations=("drive end", "x"))
    drawn = CrankLayout((*layout(played).journals, long))
    made = route_map(drawn, played.board.rows, played.board.place, width=width)
    assert overlapping(made) == []
    assert outside(made) == []
    assert size_of(made)[0] == width


@pytest.mark.parametrize(
    ("journals", "stations", "angles", "repeats"),
    [(250, 2, 4, 1), (9, 2, 180, 1), (1, 10_000, 1, 1), (10_000, 1, 1, 1), (20, 5, 1, 100)],
)
def test_a_route_of_thousands_of_places_is_bars_and_bounded(
    journals: int, stations: int, angles: int, repeats: int
) -> None:
    one = replace(
        M1,
        stations=tuple(f"at {at}" for at in range(stations)),
        angles_deg=tuple(range(angles)),
        repeats=repeats,
    )
    drawn = CrankLayout(tuple(replace(one, name=f"M{at}") for at in range(journals)))
    made = route_map(drawn, (), PlaceAsked(f"M{journals - 1}", "at 0", 0, 1, 1, 1))
    assert len(made) < 120_000
    assert f"M{journals - 1}" in words(made)
    if journals > MOST_BARS:
        assert f"and {journals - MOST_BARS} more journals" in words(made)
    assert overlapping(made) == []


def test_a_bar_is_filled_by_what_is_measured() -> None:
    wide = replace(M1, name="M2", angles_deg=tuple(range(180)))
    half = tuple(PlaceShown("front", angle, 1, "proven") for angle in range(180))
    rest = tuple(PlaceShown("rear", angle, 1) for angle in range(180))
    state = replace(row(between(), "M2"), places=(*half, *rest))
    made = route_map(CrankLayout((wide,)), (state,))
    lengths = [float(one.get("width", "")) for one in of_class(made, "pic-place")[:2]]
    assert lengths[0] == pytest.approx(lengths[1], abs=0.11)
    assert "180/360" in words(made)


def test_the_map_is_told_in_words() -> None:
    played = between()
    said = about(route_map(layout(played), played.board.rows, played.board.place))
    assert said.startswith("Measure M3 front 45°. Readings: to come: 28, measure here: 1")
    assert "M1 8 of 8; M2 8 of 8; M3 1 of 8" in said
    assert set(WORDS) == set(STATES)


@settings(max_examples=30)
@given(st.text(min_size=1, max_size=100), st.text(max_size=100))
def test_hostile_names_never_break_it(name: str, station: str) -> None:
    drawn = CrankLayout((replace(M1, name=name, stations=(station,)),))
    made = route_map(drawn, between().board.rows, PlaceAsked(name, station, 0, 1, 1, 1))
    assert is_only_shapes_and_words(made)
    assert outside(made) == []
