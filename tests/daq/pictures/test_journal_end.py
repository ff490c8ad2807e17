"""A journal from its end: the angle to set, where 0 degrees is, all angles of a plan."""

import pytest
from msgspec.structs import replace

from daq.pictures.journal_end import WHERE_ZERO_IS, journal_end, point
from tests.daq.pictures.drawing_words import about, of_class, outside, overlapping, words
from tests.daq.pictures.drawn_sessions import between, journal

M1 = journal(between(), "M1")


@pytest.mark.parametrize(
    ("angle", "x", "y"),
    [
        # the circle's middle is 208, 216; 0 degrees at the top, clockwise
        (0, 208, 116),
        (90, 308, 216),
        (180, 208, 316),
        (270, 108, 216),
        (45, 278.71, 145.29),  # 100 / sqrt 2 = 70.711
        (30, 258, 129.40),  # 100 sin 30 = 50, 100 cos 30 = 86.603
    ],
)
def test_angles_count_clockwise_from_the_top(angle: int, x: float, y: float) -> None:
    assert point(100, angle) == pytest.approx((x, y), abs=0.005)


def anvils(angle: int) -> list[list[float]]:
    """Where the face of each anvil has its middle: its first edge is the face."""
    found = []
    for anvil in of_class(journal_end(M1, angle), "pic-anvil"):
        points = [point.split(",") for point in anvil.get("points", "").split()]
        found.append([(float(points[0][axis]) + float(points[1][axis])) / 2 for axis in (0, 1)])
    return found


def test_both_anvils_touch_the_circle_across_from_one_another() -> None:
    for angle in range(180):
        one, other = anvils(angle)
        # the circle's line is 2 wide, so its outer edge lies at 101
        assert one == pytest.approx(point(101, angle), abs=0.1)
        assert other == pytest.approx(point(101, angle + 180), abs=0.1)


@pytest.mark.parametrize("angle", [*range(0, 180, 5), 1, 2, 178, 179])
def test_no_text_lies_on_another_at_any_angle(angle: int) -> None:
    made = journal_end(M1, angle)
    assert overlapping(made) == []
    assert outside(made) == []
    assert f"{angle}°" in words(made)
    assert f"{angle + 180}°" in words(made)


def test_it_says_where_0_is_and_that_180_degrees_on_is_the_same() -> None:
    made = journal_end(M1, 45)
    assert "0° mark" in words(made)
    assert WHERE_ZERO_IS in " ".join(words(made))
    assert about(made) == f"M1 from its end, set 45°. {WHERE_ZERO_IS}"
    assert WHERE_ZERO_IS not in " ".join(words(journal_end(M1, 45, has_foot=False)))


@pytest.mark.parametrize("step", [1, 2, 5, 10, 15, 20, 30, 45, 90])
def test_all_angles_of_a_plan_are_drawn_and_as_many_labelled_as_are_readable(step: int) -> None:
    angles = tuple(range(0, 180, step))
    made = journal_end(replace(M1, angles_deg=angles))
    assert overlapping(made) == []
    labels = {word for word in words(made) if word.endswith("°")}
    assert 1 <= len(labels) <= 12
    assert labels <= {f"{angle}°" for angle in angles}
    if len(angles) <= 12:
        assert len(labels) == len(angles)
