"""Waiting for descriptors, and the words for waiting in vain."""

from __future__ import annotations

import selectors
import time
from selectors import EVENT_READ, EVENT_WRITE

READABLE, WRITABLE = EVENT_READ, EVENT_WRITE
SEND_TIMEOUT_S = 2.0
CHUNK = 4096

_Selector: type[selectors.BaseSelector] = getattr(
    selectors, "PollSelector", selectors.SelectSelector
)
"""One system call a wait where there is poll; elsewhere only sockets can be waited for."""


def ready(descriptor: int, event: int, deadline_s: float) -> bool:
    """Whether the event, or an error to be met on use, comes before time.monotonic() says so."""
    with _Selector() as selector:
        selector.register(descriptor, event)
        return bool(selector.select(max(0.0, deadline_s - time.monotonic())))


def wait_readable(timeout_s: float, *descriptors: int | None) -> None:
    """Return when any of these can be read or has an error, or after so many seconds."""
    with _Selector() as selector:
        for descriptor in {one for one in descriptors if one is not None}:
            selector.register(descriptor, READABLE)
        selector.select(max(0.0, timeout_s))


def stuck(port: str, sent: int, total: int) -> str:
    """Words for a reader that does not read."""
    return f"{port}: the reader took {sent} of {total} bytes and then no more in time"
