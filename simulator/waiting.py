"""Waiting for descriptors, and the words for waiting in vain."""

from __future__ import annotations

import select
import time

SEND_TIMEOUT_S = 2.0
CHUNK = 4096


def ready(descriptor: int, event: int, deadline_s: float) -> bool:
    """Whether the event, or an error to be met on use, comes before time.monotonic() says so."""
    poll = select.poll()
    poll.register(descriptor, event)
    left_ms = max(0.0, deadline_s - time.monotonic()) * 1000
    return bool(poll.poll(left_ms))


def wait_readable(timeout_s: float, *descriptors: int | None) -> None:
    """Return when any of these can be read or has an error, or after so many seconds."""
    poll = select.poll()
    for descriptor in descriptors:
        if descriptor is not None:
            poll.register(descriptor, select.POLLIN)
    poll.poll(max(0.0, timeout_s) * 1000)


def stuck(port: str, sent: int, total: int) -> str:
    """Words for a reader that does not read."""
    return f"{port}: the reader took {sent} of {total} bytes and then no more in time"
