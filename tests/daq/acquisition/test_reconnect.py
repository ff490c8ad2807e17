"""How long a lost gauge is waited for."""

from daq.acquisition.reconnect import Absence
from drivers.errors import PortLost

LOST = PortLost("/dev/ttyUSB0", "gone")
S = 1_000_000_000


def test_a_gauge_that_is_there_is_not_waited_for() -> None:
    absence = Absence(30)
    assert absence.lost is None
    assert absence.left_s(5 * S) is None
    assert not absence.is_over(10**18)


def test_the_time_runs_from_the_loss() -> None:
    absence = Absence(30)
    absence.begin(LOST, 100 * S)
    assert absence.left_s(110 * S) == 20
    assert not absence.is_over(129 * S)
    assert absence.is_over(130 * S)


def test_without_a_limit_it_never_ends() -> None:
    absence = Absence(None)
    absence.begin(LOST, 0)
    assert absence.lost is LOST
    assert absence.left_s(10**18) is None
    assert not absence.is_over(10**18)


def test_one_that_comes_and_goes_without_a_word_has_not_been_back() -> None:
    absence = Absence(30)
    absence.begin(LOST, 0)
    absence.end()
    assert absence.left_s(10 * S) is None
    absence.begin(LOST, 20 * S)
    assert absence.left_s(20 * S) == 10


def test_one_that_was_heard_has_the_whole_time_again() -> None:
    absence = Absence(30)
    absence.begin(LOST, 0)
    absence.end()
    absence.heard()
    absence.begin(LOST, 20 * S)
    assert absence.left_s(20 * S) == 30
