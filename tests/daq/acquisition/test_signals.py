"""Signals during a run: told once, heard even by a main thread that just began to wait."""

import os
import signal
import threading
import time

import pytest

from daq.acquisition.signals import AT_ONCE_S, ending, interrupts

PATIENCE_S = 5.0


def send(number: int) -> None:
    os.kill(os.getpid(), number)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_the_first_signal_is_told_and_nudges_from_another_thread(number: int) -> None:
    told: list[str] = []
    nudged, by = threading.Event(), list[str]()

    def nudge() -> None:
        by.append(threading.current_thread().name)
        nudged.set()

    with interrupts(lambda: told.append(threading.current_thread().name), nudge):
        send(number)
        assert nudged.wait(PATIENCE_S)
    assert told == ["MainThread"]
    assert by == ["signals"]


def test_a_system_without_hang_up_and_without_pipes_that_do_not_block_hears_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As Windows: Ctrl-C still ends the waiting, by the socket."""
    monkeypatch.delattr(signal, "SIGHUP")
    monkeypatch.delattr(os, "set_blocking")
    assert ending() == [signal.SIGTERM]
    nudged, told = threading.Event(), list[str]()
    with interrupts(lambda: told.append("told"), nudged.set):
        send(signal.SIGINT)
        assert nudged.wait(PATIENCE_S)
    assert told == ["told"]


def test_what_a_closing_window_sends_counts_where_there_is_such_a_signal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Windows calls it SIGBREAK; here another number plays it."""
    monkeypatch.delattr(signal, "SIGHUP")
    monkeypatch.setattr(signal, "SIGBREAK", signal.SIGUSR1, raising=False)
    assert ending() == [signal.SIGTERM, signal.SIGUSR1]
    nudged, told = threading.Event(), list[str]()
    with interrupts(lambda: told.append("told"), nudged.set):
        send(signal.SIGUSR1)
        assert nudged.wait(PATIENCE_S)
    assert told == ["told"]


def test_a_later_signal_ends_the_run_at_once() -> None:
    told: list[int] = []

    def twice() -> None:
        with interrupts(lambda: told.append(1), lambda: None):
            send(signal.SIGINT)
            send(signal.SIGHUP)  # at once: the same request
            time.sleep(AT_ONCE_S + 0.1)
            send(signal.SIGTERM)
            threading.Event().wait(PATIENCE_S)

    with pytest.raises(KeyboardInterrupt):
        twice()
    assert told == [1]


def test_all_is_as_before_afterwards() -> None:
    numbers = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
    before = [signal.getsignal(number) for number in numbers]
    with interrupts(lambda: None, lambda: None):
        assert [signal.getsignal(number) for number in numbers] != before
    assert [signal.getsignal(number) for number in numbers] == before
    assert signal.set_wakeup_fd(-1) == -1
    assert all(thread.name != "signals" for thread in threading.enumerate())


def test_a_hang_up_that_is_to_be_ignored_stays_ignored() -> None:
    """As with nohup: the program goes on when its terminal closes."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        assert ending() == [signal.SIGTERM]
        with interrupts(lambda: None, lambda: None):
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)
    assert ending() == [signal.SIGTERM, signal.SIGHUP]
