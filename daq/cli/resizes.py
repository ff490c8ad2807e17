"""When a terminal has another size: told by a signal where one comes, else looked for. What is
drawn then is drawn by a thread of its own.
"""

import os
import signal
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from types import FrameType

LOOK_EVERY_S = 0.2
"""People take that for at once, and a window that is dragged is not drawn at every column."""

_CHANGED = getattr(signal, "SIGWINCH", None)


def is_signalled(descriptor: int) -> bool:
    """This process hears of it by a signal: it stands in the foreground of that terminal, and asks
    by its main thread, which alone may say what a signal does.
    """
    if sys.platform != "win32" and threading.current_thread() is threading.main_thread():
        with suppress(OSError):
            return os.tcgetpgrp(descriptor) == os.getpgrp()
    return False


class Resizes:
    """Calls `told`, in a thread of its own, whenever what `size` gives has changed, from `start` to
    `stop`.

    With `is_signalled` it sleeps until the signal comes, so that a session that lies open wakes
    nothing; the handler only wakes the thread, as what draws may hold a lock at that moment. Else
    it looks every LOOK_EVERY_S.
    """

    def __init__(
        self,
        size: Callable[[], object],
        told: Callable[[], None],
        is_signalled: Callable[[], bool] = lambda: False,
    ) -> None:
        self._size = size
        self._told = told
        self._is_signalled = is_signalled
        self._is_over = False
        self._bell = threading.Event()
        self._thread: threading.Thread | None = None
        self._give_back: Callable[[], object] = lambda: None

    def start(self) -> None:
        """From now on."""
        every_s: float | None = LOOK_EVERY_S
        if _CHANGED is not None and self._is_signalled():
            number, before = _CHANGED, signal.signal(_CHANGED, self._ring)
            self._give_back = lambda: signal.signal(number, before)
            every_s = None
        self._thread = threading.Thread(
            target=self._look, args=(every_s,), name="resizes", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """No more; as often as you like."""
        self._give_back()
        self._give_back = lambda: None
        self._is_over = True
        self._bell.set()
        if self._thread is not None:
            self._thread.join()

    def _ring(self, number: int, frame: FrameType | None) -> None:
        self._bell.set()

    def _look(self, every_s: float | None) -> None:
        last = self._size()
        while True:
            self._bell.wait(every_s)
            self._bell.clear()
            if self._is_over:
                return
            now = self._size()
            if now != last:
                last = now
                self._told()
