"""The cranks of the simulation: what is drawn, and what is true of a journal all around."""

import math
from collections.abc import Iterator
from random import Random

import pytest

from bench.cranks import JOURNALS, POPULATIONS, End, Journal, good, unlike, used, worn

DRAWN, TOLERANCE = 500, 20
_HALF_TURN = [math.radians(tenths / 10) for tenths in range(1800)]


def drawn(population: str) -> Iterator[Journal]:
    rng = Random(population)
    for _ in range(DRAWN):
        yield from POPULATIONS[population](rng, TOLERANCE)


def mean_um(journal: Journal) -> float:
    return (journal.front.mean_um + journal.rear.mean_um) / 2


def taper_of_means_um(journal: Journal) -> float:
    return abs(journal.front.mean_um - journal.rear.mean_um)


def has_ends_alike(journal: Journal) -> bool:
    one, other = journal.ends
    return (one.oval_um, one.direction_rad) == (other.oval_um, other.direction_rad)


def test_a_journal_worked_by_hand() -> None:
    """Front 10 with an oval of 4 at 0 degrees, rear 11 with one of 3 at 45: vectors of the doubled
    angle (4, 0) and (0, 3), whose difference is 5 long, so the ends differ by up to 1 + 5/2.
    """
    journal = Journal(End(10, 4, 0), End(11, 3, math.pi / 4))
    assert journal.smallest_um == 8  # 10 - 4/2; the rear's is 9.5
    assert journal.largest_um == 12.5  # 11 + 3/2
    assert journal.out_of_round_um == 4
    assert journal.taper_um == pytest.approx(3.5)
    assert journal.outside_um == pytest.approx(-1)  # out-of-round is 1 under its 5
    assert journal.is_good(13)
    assert not journal.is_good(12)  # 12.5 is over


@pytest.mark.parametrize(
    ("journal", "outside_um"),
    [
        (Journal(End(1.5, 4, 0), End(5, 4, 0)), 0.5),  # 1.5 - 2 is 0.5 under the low limit
        (Journal(End(10, 5.25, 0), End(10, 1, 0)), 0.25),  # 5.25 out of round; taper 4.25/2
        (Journal(End(10, 2, 0), End(15.75, 2, 0)), 0.75),  # 5.75 of taper
    ],
)
def test_a_journal_fails_by_the_limit_it_misses_most(journal: Journal, outside_um: float) -> None:
    assert journal.outside_um == pytest.approx(outside_um)
    assert not journal.is_good(TOLERANCE)


@pytest.mark.parametrize("population", POPULATIONS)
def test_the_truth_is_that_of_every_tenth_of_a_degree(population: str) -> None:
    rng = Random(5)
    for journal in POPULATIONS[population](rng, TOLERANCE):
        rows = [[end.diameter_um(angle) for angle in _HALF_TURN] for end in journal.ends]
        apart = [abs(one - other) for one, other in zip(*rows, strict=True)]
        # At most 0.05 degrees off the extreme, of which cos(0.1 degrees) loses 1.6e-6.
        assert journal.smallest_um == pytest.approx(min(map(min, rows)), abs=1e-4)
        assert journal.largest_um == pytest.approx(max(map(max, rows)), abs=1e-4)
        widest = max(max(row) - min(row) for row in rows)
        assert journal.out_of_round_um == pytest.approx(widest, abs=1e-4)
        assert journal.taper_um == pytest.approx(max(apart), abs=1e-4)


def test_used_journals_fill_their_ranges_and_no_more() -> None:
    found = list(drawn("used"))
    assert all(has_ends_alike(journal) for journal in found)
    means = [mean_um(journal) for journal in found]
    assert 2 <= min(means) < 2.2
    assert 14.8 < max(means) <= 15  # the tolerance less 5
    assert 4.4 < max(journal.out_of_round_um for journal in found) <= 4.5
    assert 3.9 < max(map(taper_of_means_um, found)) <= 4
    assert all(journal.out_of_round_um <= 5 and journal.taper_um <= 5 for journal in found)


def test_good_journals_lie_around_the_middle_and_are_nearly_round() -> None:
    found = list(drawn("good"))
    assert all(has_ends_alike(journal) for journal in found)
    # 20/2 less half of 0.15 * 20; its standard error is sqrt(2.5**2 + 3**2/12)/sqrt(2000) = 0.06
    assert sum(map(mean_um, found)) / len(found) == pytest.approx(8.5, abs=0.25)
    ovals = [journal.out_of_round_um for journal in found]
    assert 0.3 <= min(ovals) < 0.4
    assert 2.1 < max(ovals) <= 2.2
    assert 1.45 < max(map(taper_of_means_um, found)) <= 1.5


def test_one_or_two_journals_of_a_worn_crank_are_worn() -> None:
    rng, counts = Random(3), set()
    for _ in range(DRAWN):
        crank = worn(rng, TOLERANCE)
        bad = [journal for journal in crank if journal.out_of_round_um > 2.2]
        assert len(crank) == JOURNALS
        assert all(-25 <= mean_um(journal) <= 4 for journal in bad)  # 10 - 35 to 10 - 6
        assert all(3 <= journal.out_of_round_um <= 15 for journal in bad)
        counts.add(len(bad))
    assert counts == {1, 2}


def test_of_unlike_ends_the_rear_is_less_oval_and_its_direction_its_own() -> None:
    found = list(drawn("unlike"))
    shares = [journal.rear.oval_um / journal.front.oval_um for journal in found]
    assert 0.3 <= min(shares) < 0.32
    assert 0.98 < max(shares) <= 1
    apart = [abs(journal.front.direction_rad - journal.rear.direction_rad) for journal in found]
    assert max(apart) > math.pi / 2
    assert not any(map(has_ends_alike, found))


def test_ranges_go_by_the_tolerance() -> None:
    rng = Random(4)
    assert all(2 <= mean_um(journal) <= 5 for journal in used(rng, 10))
    assert all(2 <= mean_um(journal) <= 25 for journal in unlike(rng, 30))
    many = [mean_um(journal) for _ in range(DRAWN) for journal in good(rng, 30)]
    # 15 - 0.15 * 30 / 2
    assert sum(many) / len(many) == pytest.approx(12.75, abs=0.4)
