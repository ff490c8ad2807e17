"""Ctrl-C, SIGTERM and a closed terminal as items of a queue: none tears a step apart."""

import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

READ_BYTES = 64


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
    """While inside, the first signal calls `told`; a second one raises KeyboardInterrupt, since the
    first found no hearing: a disk that hangs, perhaps.

    `nudge` is called from another thread at every signal and must end the main thread's waiting:
    Python runs a handler only between two of its own steps, and a signal that comes just before the
    main thread begins to wait would otherwise go unheard until something else happens.
    """
    count = 0

    def handle(number: int, frame: object) -> None:
        nonlocal count
        count += 1
        if count > 1:
            raise KeyboardInterrupt
        told()

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
