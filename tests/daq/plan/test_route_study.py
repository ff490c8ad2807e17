"""The order of a gauge study: whose turn, which trial, which part; the same for ever."""

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from daq.plan.plan import StudyPlan
from daq.plan.route import Stop, Turn, positions, repeat_of, study_route, turn_of
from daq.plan.turns import operator_of, turn_in, turn_words

STUDY = StudyPlan(("A", "B"), 3, 1)


def stops(*names: str, stack: str = "A", is_after_strip: bool = False) -> list[Stop]:
    return [Stop(name, stack, ("front",), (0,), STUDY.repeats, is_after_strip) for name in names]


def test_trial_by_trial_and_operator_by_operator_every_part_once() -> None:
    route = study_route(stops("M1", "M2", "M3"), 2, 3, 1)
    assert len(route) == 18
    for block in range(6):
        part = route[3 * block : 3 * block + 3]
        assert {position.repeat for position in part} == {block + 1}
        assert {position.journal for position in part} == {"M1", "M2", "M3"}


def test_repeats_are_operators_in_turn_and_then_the_next_trial() -> None:
    turns = [turn_of(repeat, 2) for repeat in range(1, 7)]
    assert turns == [Turn(0, 1), Turn(1, 1), Turn(0, 2), Turn(1, 2), Turn(0, 3), Turn(1, 3)]
    assert [repeat_of(turn, 2) for turn in turns] == [1, 2, 3, 4, 5, 6]
    assert turn_in(STUDY, 4) == Turn(1, 2)
    assert operator_of(STUDY, 4) == "B"
    assert turn_words(STUDY, 4) == "operator B, trial 2"


def test_the_order_is_the_same_on_every_machine_for_ever() -> None:
    # Worked with sha256sum: 1/1/0/M1 gives adfe..., M2 f64e..., M3 0f42..., M4 0cc8...
    first = [p.journal for p in study_route(stops("M1", "M2", "M3", "M4"), 2, 3, 1)[:4]]
    assert first == ["M4", "M3", "M1", "M2"]


def test_another_seed_gives_another_order_and_each_turn_its_own() -> None:
    names = [f"M{number}" for number in range(1, 9)]
    one = [p.journal for p in study_route(stops(*names), 2, 3, 1)]
    other = [p.journal for p in study_route(stops(*names), 2, 3, 2)]
    assert one != other
    blocks = {tuple(one[start : start + 8]) for start in range(0, 48, 8)}
    assert len(blocks) == 6


def test_parts_of_one_stack_are_finished_before_the_next_stack() -> None:
    mixed = [*stops("M1", stack="A"), *stops("R1", stack="B"), *stops("M2", stack="A")]
    route = study_route(mixed, 2, 3, 1)
    assert {p.journal for p in route[:12]} == {"M1", "M2"}
    assert {p.journal for p in route[12:]} == {"R1"}


def test_what_needs_stripping_comes_last() -> None:
    mixed = [*stops("M1", is_after_strip=True), *stops("M2")]
    assert [p.journal for p in study_route(mixed, 2, 3, 1)] == ["M2"] * 6 + ["M1"] * 6


def test_the_places_of_a_journal_stay_together() -> None:
    many = [Stop(name, "A", ("front", "rear"), (0, 45, 90), 4, False) for name in ("M1", "M2")]
    route = study_route(many, 2, 2, 7)
    for start in range(0, len(route), 6):
        assert len({p.journal for p in route[start : start + 6]}) == 1


@given(
    st.integers(1, 4), st.integers(2, 4), st.integers(2, 4), st.integers(0, 2**31 - 1), st.data()
)
def test_every_position_comes_exactly_once(
    journals: int, operators: int, trials: int, seed: int, data: st.DataObject
) -> None:
    listed = [
        Stop(
            f"M{number}",
            data.draw(st.sampled_from("AB")),
            ("front", "rear"),
            (0, 90),
            operators * trials,
            data.draw(st.booleans()),
        )
        for number in range(journals)
    ]
    route = study_route(listed, operators, trials, seed)
    assert Counter(route) == Counter(p for stop in listed for p in positions(stop))


def test_every_part_comes_first_about_equally_often() -> None:
    # 5 parts over 2000 turns: 400 each; four standard deviations are 4 sqrt(2000 x .2 x .8) = 72
    five = stops("M1", "M2", "M3", "M4", "M5")
    firsts = Counter(
        route[5 * turn].journal
        for route in (study_route(five, 2, 10, seed) for seed in range(100))
        for turn in range(20)
    )
    assert all(abs(count - 400) <= 72 for count in firsts.values())
    assert len(firsts) == 5
