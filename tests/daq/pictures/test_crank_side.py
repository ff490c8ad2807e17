"""The crank from the side: kinds by shape, states in words, the asked station, every length."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from daq.board.board import PlaceAsked
from daq.board.row_words import stands
from daq.pictures.crank_side import MOST_ROWS, SKETCH, crank_side
from daq.pictures.layout import CrankLayout
from daq.pictures.svg import size_of
from daq.plan.schema import JournalKind
from tests.daq.cli.views.shown_sessions import HEAD, Played, mains, rods
from tests.daq.pictures.drawing_words import (
    about,
    is_only_shapes_and_words,
    of_class,
    outside,
    overlapping,
    words,
)
from tests.daq.pictures.drawn_sessions import between, finished, journal, layout

M1 = journal(between(), "M1")


def many(count: int, kind: JournalKind = "main") -> CrankLayout:
    """So many journals alike."""
    return CrankLayout(
        tuple(
            replace(M1, name=f"{kind[0].upper()}{number}", kind=kind)
            for number in range(1, count + 1)
        )
    )


def bodies(drawing: str) -> list[tuple[float, float, float, float]]:
    """The body of each journal: x, y, width, height."""
    found = []
    for one in of_class(drawing, "pic-body"):
        x, y, wide, high = (float(one.get(key, "")) for key in ("x", "y", "width", "height"))
        found.append((x, y, wide, high))
    return found


def test_a_main_lies_on_the_axis_and_rods_beside_it_by_turns() -> None:
    made = crank_side(CrankLayout((M1, *many(2, "rod").journals, replace(M1, kind="other"))))
    middles = [y + high / 2 for _, y, _, high in bodies(made)]
    axis = middles[0]
    # Thrown by 38 up, then by 38 down; what is no main and no rod lies on the axis again.
    assert middles == [axis, axis - 38, axis + 38, axis]
    # and its height is its own: 2 x 27, 2 x 20, 2 x 16
    assert [high for *_, high in bodies(made)] == [54, 40, 40, 32]


def test_journals_stand_in_the_order_of_the_plan() -> None:
    made = crank_side(layout(between()))
    xs = [x for x, *_ in bodies(made)]
    assert xs == sorted(xs)
    names = ["M1", "M2", "M3", "R1", "R2", "Middle bearing"]
    assert [word for word in words(made) if word in names] == names


def test_each_journal_has_the_words_that_the_screen_has() -> None:
    played = between()
    made = crank_side(layout(played), played.board.rows, played.board.place)
    for row in played.board.rows:
        assert f"{row.result.journal}: {stands(row)}" in about(made)
    assert {"within", "BELOW", "not measured"} <= set(words(made))


def test_the_station_to_measure_is_marked_and_named() -> None:
    # stations front and rear: at a quarter and at three quarters of the journal
    for station, share in (("front", 0.25), ("rear", 0.75)):
        asked = PlaceAsked("M2", station, 45, 1, 1, 1)
        made = crank_side(layout(between()), (), asked)
        x, _, wide, _ = bodies(made)[1]
        (line,) = of_class(made, "pic-station")
        assert float(line.get("x1", "")) == pytest.approx(x + share * wide, abs=0.1)
        assert f"here: {station} 45°" in words(made)
        assert about(made).startswith(f"Measure M2 {station} 45°.")


def test_a_plan_alone_says_how_many_readings_and_what_is_reached_last() -> None:
    late = replace(M1, name="M9", is_after_strip=True)
    said = " ".join(words(crank_side(CrankLayout((M1, late)))))
    # 2 stations, 4 angles
    assert "M1 8 readings M9 8 readings, after stripping" in said


@pytest.mark.parametrize("width", [960, 440, 320])
@pytest.mark.parametrize("verdict", ["out-of-form", "undecided", "below", "incomplete"])
@pytest.mark.parametrize(("measured", "again"), [(8, 0), (7, 0), (7, 3)])
def test_how_a_journal_stands_is_never_cut(
    width: int, verdict: str, measured: int, again: int
) -> None:
    rows = []
    for one in between().board.rows:
        result = replace(one.result, verdict=verdict, positions_measured=measured)
        rows.append(replace(one, result=result, proven=0, not_yet_proven=1, tainted=again))
    names = [one.result.journal for one in rows]
    every = [replace(M1, name=name) for name in (*names, *map(str, range(7)))]
    made = crank_side(CrankLayout(tuple(every)), rows, width=width)
    said = [word.text or "" for word in of_class(made, "pic-state")]
    assert said
    assert not [word for word in said if word.endswith("…")]


def test_a_journal_to_be_stripped_for_says_so_until_it_is_measured() -> None:
    played = between()
    late = tuple(replace(one, is_after_strip=True) for one in layout(played).journals)
    said = about(crank_side(CrankLayout(late), played.board.rows))
    assert "M1: within; " in said
    assert "R1: not measured, after stripping; " in said


def test_that_it_is_a_sketch_is_said_in_its_foot_which_may_be_left_out() -> None:
    assert SKETCH in words(crank_side(layout(between())))
    bare = crank_side(many(100), has_foot=False)
    assert SKETCH not in words(bare)
    assert "and 48 more" in words(bare)


def test_a_journal_that_this_run_leaves_out_says_so() -> None:
    played = between()
    rows = [row for row in played.board.rows if row.result.journal != "R2"]
    assert "not in this run" in words(crank_side(layout(played), rows))


@pytest.mark.parametrize("width", [960, 440, 320])
@pytest.mark.parametrize("count", [1, 2, 5, 9, 13, 26])
def test_no_text_lies_on_its_neighbour(count: int, width: int) -> None:
    half = count // 2
    played = Played(HEAD + mains(count - half) + rods(half), worn=["M2"]).check().measure("M4")
    board = played.board
    for rows in ((), board.rows):
        made = crank_side(layout(played), rows, board.place if rows else None, width=width)
        assert overlapping(made) == []
        assert outside(made) == []
        assert size_of(made)[0] <= width


def test_26_journals_stand_in_two_rows_each_readable() -> None:
    made = crank_side(many(26))
    assert len({y for _, y, _, _ in bodies(made)}) == 2
    assert len(bodies(made)) == 26
    assert all(wide > 50 for _, _, wide, _ in bodies(made))
    assert not [word for word in words(made) if "more" in word]


@pytest.mark.parametrize("count", [53, 250, 10_000])
def test_of_too_many_those_that_matter_are_drawn_and_the_rest_is_counted(count: int) -> None:
    drawn = many(count)
    made = crank_side(drawn)
    most = 13 * MOST_ROWS  # (960 - 2 x 24) / 70 = 13.03 in a row
    assert len(bodies(made)) == most
    assert f"and {count - most} more" in words(made)
    assert len(made) < 60_000


def test_of_250_the_asked_one_and_those_that_need_work_are_drawn() -> None:
    played = Played(HEAD + mains(250), worn=["M2", "M7"]).check().measure("M9")
    asked = PlaceAsked("M200", "front", 0, 1, 1, 1)
    made = crank_side(layout(played), played.board.rows, asked)
    assert {"M2", "M7", "M200", "M201"} <= set(words(made))
    assert "M100" not in words(made)
    # 250 - 52 = 198 are left; of the measured ones M2 and M7 are drawn, six others are not
    assert "and 198 more: 6 measured, 192 to come" in words(made)


def test_a_crank_without_any_journal_is_still_a_drawing() -> None:
    assert is_only_shapes_and_words(crank_side(CrankLayout(())))


@settings(max_examples=30)
@given(st.lists(st.text(min_size=1, max_size=100), min_size=1, max_size=6), st.text(max_size=100))
def test_hostile_names_never_break_it(names: list[str], station: str) -> None:
    drawn = CrankLayout(tuple(replace(M1, name=name, stations=(station,)) for name in names))
    asked = PlaceAsked(names[0], station, 0, 1, 1, 1)
    made = crank_side(drawn, finished().board.rows, asked)
    assert is_only_shapes_and_words(made)
    assert outside(made) == []


def test_names_of_64_kib_are_bounded() -> None:
    long = "\u202e<script>" * 8192
    drawn = CrankLayout(tuple(replace(M1, name=f"{long}{n}", stations=(long,)) for n in range(9)))
    made = crank_side(drawn, (), PlaceAsked(f"{long}1", long, 0, 1, 1, 1))
    assert is_only_shapes_and_words(made)
    assert "script" not in made.replace("&lt;script", "")
    assert len(made) < 20_000
