"""One clock: UTC read once, carried on by a clock that does not jump."""

import time

from pytest_mock import MockerFixture

from drivers.clock import Clock
from drivers.reading import Instant


def test_utc_follows_the_steady_clock_and_not_the_wall(mocker: MockerFixture) -> None:
    steady = mocker.patch("drivers.clock._steady_ns", return_value=5_000_000_000)
    wall = mocker.patch("drivers.clock.time.time_ns", return_value=1_000_000_000_000_000_000)
    clock = Clock()
    wall.return_value += 3600 * 10**9  # somebody sets the clock an hour on
    steady.return_value += 2_500_000
    assert clock.now() == Instant(1_000_000_000_002_500, 5_002_500_000)


def test_a_new_clock_begins_at_the_time_of_day() -> None:
    before = time.time_ns() // 1000
    now = Clock().now()
    after = time.time_ns() // 1000
    # the steady clock may be some microseconds ahead of the wall when the wall is being slewed
    assert before - 1000 <= now.utc_us <= after + 1000


def test_moments_never_go_back() -> None:
    clock = Clock()
    moments = [clock.now().mono_ns for _ in range(1000)]
    assert moments == sorted(moments)
