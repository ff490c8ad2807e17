"""The code that all timed goals share, with numbers worked by hand."""

import pytest

from bench.counts import calls_in, difference
from bench.ratio import Ratio, Row, interleaved, ratio, timed_row


def test_the_ratio_is_taken_within_each_round_before_the_median() -> None:
    # 3/1 = 3, 10/5 = 2, 8/8 = 1: median 2. The ratio of the medians would be 8/5 = 1.6.
    assert ratio([3, 10, 8], [1, 5, 8]) == Ratio(2, 1, 3)


def test_the_median_of_an_even_number_of_rounds_lies_between_the_middle_two() -> None:
    # 1, 2, 4, 10: (2 + 4) / 2 = 3.
    assert ratio([1, 4, 12, 50], [1, 2, 3, 5]).middle == 3


def test_one_slow_moment_of_the_machine_cancels_out() -> None:
    # The second round ran ten times slower for both: 2/1, 20/10, 2/1.
    assert ratio([2, 20, 2], [1, 10, 1]) == Ratio(2, 2, 2)


def test_rounds_that_are_not_the_same_in_number_are_refused() -> None:
    with pytest.raises(ValueError, match="longer"):
        ratio([1, 2], [1, 2, 3])


def test_every_program_runs_once_in_every_round() -> None:
    ran: list[str] = []

    def program(name: str) -> float:
        ran.append(name)
        return float(len(ran))

    times = interleaved(
        {"a": lambda: program("a"), "b": lambda: program("b"), "c": lambda: program("c")}, 20
    )
    rounds = [ran[place : place + 3] for place in range(0, 60, 3)]
    assert len(ran) == 60
    assert all(sorted(names) == ["a", "b", "c"] for names in rounds)
    assert len({tuple(names) for names in rounds}) > 1, "the order is shuffled"
    for name in "abc":
        assert times[name] == [place + 1 for place, other in enumerate(ran) if other == name]


@pytest.mark.parametrize(
    ("value", "bound", "is_timed", "is_exact", "verdict"),
    [
        (7.99, 8, True, False, "met"),
        (8, 8, True, False, "met"),
        (8.79, 8, True, False, "within slack"),  # 8 x 1.1 = 8.8
        (8.81, 8, True, False, "MISSED"),
        (2, 2, False, False, "met"),
        (2.005, 2, False, False, "MISSED"),  # one call too many in 200
        (1.965, 2, False, False, "met"),
        (1, 1, False, True, "met"),
        (0.995, 1, False, True, "MISSED"),  # one record in 200 without its sync
        (1.005, 1, False, True, "MISSED"),
    ],
)
def test_only_times_have_slack(
    value: float, bound: float, is_timed: bool, is_exact: bool, verdict: str
) -> None:
    row = Row("goal", "", "", value, bound, is_timed, is_exact)
    assert row.verdict == verdict
    assert row.is_missed == (verdict == "MISSED")


def test_a_timed_row_shows_medians_the_ratio_and_its_spread() -> None:
    row = timed_row("goal", 2, [3, 10, 8], [1, 5, 8], "ms")
    assert (row.ours, row.limit, row.value, row.spread) == ("8 ms", "5 ms", 2, "1.00-3.00")


_TABLE = """% time     seconds  usecs/call     calls    errors syscall
------ ----------- ----------- --------- --------- ------------------
 88.13    0.057316         286       200           fdatasync
 10.86    0.007064          35       200           write
  0.03    0.000017          17         3         1 openat
------ ----------- ----------- --------- --------- ------------------
100.00    0.065033         161       403         1 total
"""


def test_calls_are_read_with_and_without_errors() -> None:
    assert calls_in(_TABLE) == {"fdatasync": 200, "write": 200, "openat": 3}


def test_what_start_up_costs_cancels_out() -> None:
    def count(many: int) -> dict[str, int]:
        return {"openat": 57, "write": 2 + many, "fdatasync": many}

    # (2 + 20) - (2 + 10) = 10 writes, 20 - 10 = 10 syncs, 57 - 57 = 0 openat.
    assert difference(count, 10) == {"write": 10, "fdatasync": 10}
