"""Ctrl-C, SIGTERM and a closed terminal as items of a queue: none tears a step apart."""

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

READ_BYTES = 64
AT_ONCE_S = 0.5


def ending() -> list[signal.Signals]:
    """The signals that ask a program to end: a closed terminal too, unless whoever started it said
    that this is to be ignored.
    """
    asked = [signal.SIGTERM]
    if hasattr(signal, "SIGHUP") and signal.getsignal(signal.SIGHUP) is not signal.SIG_IGN:
        asked.append(signal.SIGHUP)  # Windows has none
    return asked


@contextmanager
def interrupts(told: Callable[[], None], nudge: Callable[[], None]) -> Iterator[None]:
    """While inside, the first signal calls `told`; a later one raises KeyboardInterrupt, since the
    first found no hearing: a disk that hangs, perhaps. One within AT_ONCE_S is the same request: a
    terminal that closes sends several.

    `nudge` is called from another thread at every signal and must end the main thread's waiting:
    Python runs a handler only between two of its own steps, and a signal that comes just before the
    main thread begins to wait would otherwise go unheard until something else happens.
    """
    first_s: float | None = None

    def handle(number: int, frame: object) -> None:
        nonlocal first_s
        now_s = time.monotonic()
        if first_s is None:
            first_s = now_s
            told()
        elif now_s - first_s > AT_ONCE_S:
            raise KeyboardInterrupt

    near, far = os.pipe()
    os.set_blocking(far, False)
    listener = threading.Thread(target=_nudge, args=(near, nudge), name="signals", daemon=True)
    before = {number: signal.signal(number, handle) for number in (signal.SIGINT, *ending())}
    wakeup = signal.set_wakeup_fd(far, warn_on_full_buffer=False)
    listener.start()
    try:
        yield
    finally:
        signal.set_wakeup_fd(wakeup)
        os.close(far)
        listener.join()
        for number, handler in before.items():
            signal.signal(number, handler)


def _nudge(near: int, nudge: Callable[[], None]) -> None:
    while os.read(near, READ_BYTES):
        nudge()
    os.close(near)
