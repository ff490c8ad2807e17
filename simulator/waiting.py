"""Waiting for descriptors, and the words for waiting in vain."""

from __future__ import annotations

import selectors
import time

SEND_TIMEOUT_S = 2.0
CHUNK = 4096


READABLE, WRITABLE = selectors.EVENT_READ, selectors.EVENT_WRITE

_Selector: type[selectors.BaseSelector] = getattr(
    selectors, "PollSelector", selectors.SelectSelector
)
"""Where there is no poll, sockets can still be waited for, and nothing else."""


def ready(descriptor: int, event: int, deadline_s: float) -> bool:
    """Whether the event, or an error to be met on use, comes before time.monotonic() says so."""
    with _Selector() as selector:
        selector.register(descriptor, event)
        return bool(selector.select(max(0.0, deadline_s - time.monotonic())))


def wait_readable(timeout_s: float, *descriptors: int | None) -> None:
    """Return when any of these can be read or has an error, or after so many seconds."""
    with _Selector() as selector:
        for descriptor in descriptors:
            if descriptor is not None:
                selector.register(descriptor, READABLE)
        selector.select(max(0.0, timeout_s))


def stuck(port: str, sent: int, total: int) -> str:
    """Words for a reader that does not read."""
    return f"{port}: the reader took {sent} of {total} bytes and then no more in time"
