"""A terminal that gets another size is noticed, by looking or by a signal, once for each change."""

import queue
import signal

import pytest

from daq.cli import resizes
from daq.cli.resizes import Resizes

PATIENCE_S = 20


def test_each_change_of_size_is_told_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(resizes, "LOOK_EVERY_S", 0.001)
    told: queue.SimpleQueue[tuple[int, int]] = queue.SimpleQueue()
    looked: queue.SimpleQueue[tuple[int, int]] = queue.SimpleQueue()
    sizes = [(80, 24)]

    def size() -> tuple[int, int]:
        looked.put(sizes[-1])
        return sizes[-1]

    watch = Resizes(size, lambda: told.put(sizes[-1]))
    watch.start()
    try:
        for new in ((60, 20), (200, 60)):
            sizes.append(new)
            assert told.get(timeout=PATIENCE_S) == new
            while looked.get(timeout=PATIENCE_S) != new:
                pass
            assert looked.get(timeout=PATIENCE_S) == new  # looked at again
        assert told.empty()
    finally:
        watch.stop()
    watch.stop()  # as often as one likes
    assert told.empty()


def test_a_watch_that_never_began_ends_as_well() -> None:
    Resizes(lambda: None, lambda: None).stop()


def test_where_a_signal_tells_nothing_is_looked_at_until_it_comes() -> None:
    looked: queue.SimpleQueue[tuple[int, int]] = queue.SimpleQueue()
    told: queue.SimpleQueue[tuple[int, int]] = queue.SimpleQueue()
    sizes, before = [(80, 24)], signal.getsignal(signal.SIGWINCH)

    def size() -> tuple[int, int]:
        looked.put(sizes[-1])
        return sizes[-1]

    watch = Resizes(size, lambda: told.put(sizes[-1]), lambda: True)
    watch.start()
    assert looked.get(timeout=PATIENCE_S) == (80, 24)
    sizes.append((60, 20))
    signal.raise_signal(signal.SIGWINCH)
    assert told.get(timeout=PATIENCE_S) == (60, 20)
    assert looked.qsize() == 1  # at the beginning and at the signal, no more
    watch.stop()
    assert signal.getsignal(signal.SIGWINCH) == before
