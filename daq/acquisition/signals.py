"""Ctrl-C, SIGTERM and a closed terminal as items of a queue: none tears a step apart."""

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import socket
    from types import FrameType

READ_BYTES = 64
AT_ONCE_S = 0.5

_TERMINAL_CLOSED = ("SIGHUP", "SIGBREAK")
"""What a closing terminal sends, on POSIX and on Windows; no system has both."""


def ending() -> list[signal.Signals]:
    """The signals that ask a program to end: a closed terminal too, unless whoever started it said
    that this is to be ignored.
    """
    there = [getattr(signal, name) for name in _TERMINAL_CLOSED if hasattr(signal, name)]
    heard = [number for number in there if signal.getsignal(number) is not signal.SIG_IGN]
    return [signal.SIGTERM, *heard]


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

    import socket  # noqa: PLC0415 - kept off the way to --help

    # Sockets, as every system can write to one without ever waiting: not so to a pipe.
    near, far = socket.socketpair()
    far.setblocking(False)
    listener = threading.Thread(target=_nudge, args=(near, nudge), name="signals", daemon=True)
    before = {number: signal.signal(number, handle) for number in (signal.SIGINT, *ending())}
    wakeup = signal.set_wakeup_fd(far.fileno(), warn_on_full_buffer=False)
    listener.start()
    try:
        yield
    finally:
        signal.set_wakeup_fd(wakeup)
        far.close()
        listener.join()
        for number, handler in before.items():
            signal.signal(number, handler)


class PutOff:
    """Signals that ask to end, while something has to be finished first."""

    def __init__(self) -> None:
        self.has_come = False

    def raise_if_any(self) -> None:
        """Now is the time; raises KeyboardInterrupt if one came."""
        if self.has_come:
            raise KeyboardInterrupt


@contextmanager
def put_off(is_on: Callable[[], bool]) -> Iterator[PutOff]:
    """While inside, a signal that comes while `is_on` is only remembered; others act as before."""
    found = PutOff()
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, *ending())}

    def handle(number: int, frame: "FrameType | None") -> None:
        if is_on():
            found.has_come = True
            return
        was = before[signal.Signals(number)]
        if callable(was):
            was(number, frame)

    taken = [number for number, was in before.items() if callable(was)]
    for number in taken:
        signal.signal(number, handle)
    try:
        yield found
    finally:
        for number in taken:
            signal.signal(number, before[number])


def _nudge(near: "socket.socket", nudge: Callable[[], None]) -> None:
    with near:
        while near.recv(READ_BYTES):
            nudge()
