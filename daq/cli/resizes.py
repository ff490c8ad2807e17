"""When a terminal has another size: looked for by a thread of its own.

A signal tells of it on some systems; but its handler runs in the main thread, and only when that
wakes, and what draws may hold a lock then. A look costs one call.
"""

import threading
from collections.abc import Callable

LOOK_EVERY_S = 0.2
"""People take that for at once, and a window that is dragged is not drawn at every column."""


class Resizes:
    """Calls `told`, in a thread of its own, whenever what `size` gives has changed, from `start` to
    `stop`.
    """

    def __init__(self, size: Callable[[], object], told: Callable[[], None]) -> None:
        self._size = size
        self._told = told
        self._is_over = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """From now on."""
        self._thread = threading.Thread(target=self._look, name="resizes", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """No more; as often as you like."""
        self._is_over.set()
        if self._thread is not None:
            self._thread.join()

    def _look(self) -> None:
        last = self._size()
        while not self._is_over.wait(LOOK_EVERY_S):
            now = self._size()
            if now != last:
                last = now
                self._told()
