"""Signals that come while something has to be finished first."""

import signal
from collections.abc import Iterator

import pytest

from daq.acquisition.signals import put_off


@pytest.fixture(params=[signal.SIGINT, signal.SIGTERM])
def number(request: pytest.FixtureRequest) -> Iterator[signal.Signals]:
    """A signal that raises KeyboardInterrupt, as the program has it."""
    before = signal.signal(request.param, signal.default_int_handler)
    yield request.param
    signal.signal(request.param, before)


def test_a_signal_is_only_remembered_while_it_is_put_off(number: signal.Signals) -> None:
    done = []
    with put_off(lambda: True) as later:
        later.raise_if_any()
        signal.raise_signal(number)
        signal.raise_signal(number)
        done.append("finished")
        with pytest.raises(KeyboardInterrupt):
            later.raise_if_any()
    assert done == ["finished"]
    assert signal.getsignal(number) is signal.default_int_handler


def test_else_it_acts_as_before(number: signal.Signals) -> None:
    with put_off(lambda: False) as later, pytest.raises(KeyboardInterrupt):
        signal.raise_signal(number)
    assert not later.has_come


def test_what_is_ignored_stays_ignored(number: signal.Signals) -> None:
    signal.signal(number, signal.SIG_IGN)
    with put_off(lambda: True) as later:
        assert signal.getsignal(number) is signal.SIG_IGN
    assert not later.has_come
