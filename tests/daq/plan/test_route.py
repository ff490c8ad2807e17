"""The order of measuring: access, stacks, the file's order, then station, angle and repeat."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from daq.lengths import Position
from daq.plan.route import Stop, positions, route


def stop(journal: str, stack: str = "A", *, is_after_strip: bool = False) -> Stop:
    return Stop(journal, stack, ("front",), (0,), 1, is_after_strip)


def order(*stops: Stop) -> list[str]:
    return [position.journal for position in route(stops)]


def test_a_journal_goes_station_by_station_then_angle_then_repeat() -> None:
    # As listed, not sorted: "rear" and 90 stand first here.
    listed = Stop("M1", "A", ("rear", "front"), (90, 0), 2, False)
    assert positions(listed) == (
        Position("M1", "rear", 90, 1),
        Position("M1", "rear", 90, 2),
        Position("M1", "rear", 0, 1),
        Position("M1", "rear", 0, 2),
        Position("M1", "front", 90, 1),
        Position("M1", "front", 90, 2),
        Position("M1", "front", 0, 1),
        Position("M1", "front", 0, 2),
    )


def test_journals_go_in_the_order_of_the_file() -> None:
    assert order(stop("R2"), stop("M1"), stop("A9")) == ["R2", "M1", "A9"]


def test_open_journals_come_before_those_that_need_stripping() -> None:
    assert order(stop("M1", is_after_strip=True), stop("M2"), stop("M3")) == ["M2", "M3", "M1"]


def test_journals_of_one_stack_stay_together() -> None:
    assert order(stop("M1", "A"), stop("R1", "B"), stop("M2", "A"), stop("R2", "B")) == [
        "M1",
        "M2",
        "R1",
        "R2",
    ]


def test_access_goes_before_the_stack() -> None:
    assert order(stop("M1", "A"), stop("M2", "A", is_after_strip=True), stop("R1", "B")) == [
        "M1",
        "R1",
        "M2",
    ]


def test_a_journal_to_strip_does_not_move_the_open_ones() -> None:
    # The first line of the file has stack B but comes last; among the open ones A stands first.
    assert order(stop("X", "B", is_after_strip=True), stop("M1", "A"), stop("R1", "B")) == [
        "M1",
        "R1",
        "X",
    ]


def test_the_stripped_ones_keep_their_own_order_of_stacks() -> None:
    assert order(
        stop("M1", "A"),
        stop("R1", "B"),
        stop("R9", "B", is_after_strip=True),
        stop("M9", "A", is_after_strip=True),
    ) == ["M1", "R1", "R9", "M9"]


def test_no_journals_make_no_route() -> None:
    assert route([]) == ()


@given(
    st.lists(st.tuples(st.sampled_from("ABC"), st.booleans()), max_size=12).map(
        lambda rows: [
            stop(f"J{number}", stack, is_after_strip=strip)
            for number, (stack, strip) in enumerate(rows)
        ]
    )
)
def test_every_journal_is_visited_once_and_a_stack_is_left_for_good(stops: list[Stop]) -> None:
    by_name = {item.journal: item for item in stops}
    visited = [by_name[name] for name in order(*stops)]
    assert sorted(item.journal for item in visited) == sorted(by_name)
    for strip in (False, True):
        part = [item.stack for item in visited if item.is_after_strip == strip]
        changes = sum(a != b for a, b in pairwise(part))
        assert changes == max(0, len(set(part)) - 1)
        # the stacks come in the order in which the file first needs them
        in_file = [item.stack for item in stops if item.is_after_strip == strip]
        assert list(dict.fromkeys(part)) == list(dict.fromkeys(in_file))
