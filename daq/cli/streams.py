"""stdout and stderr made fit for anything: closed or full ones, and encodings with few characters.

What is told on stderr may be lost without harm. What goes to stdout is the result: that it could
not be written is an error.
"""

import codecs
import contextlib
import io
import os
import sys
from typing import TextIO

ESCAPING = "jbridge-escaping"
"""The name of the codec error handler."""


class _Talk(io.TextIOWrapper):
    """A stream whose words are lost where they cannot be written."""

    def write(self, text: str) -> int:
        with contextlib.suppress(OSError):
            super().write(text)
            super().flush()
        return len(text)

    def flush(self) -> None:
        with contextlib.suppress(OSError):
            super().flush()


def escaped_for_json(error: UnicodeError) -> tuple[str, int]:
    r"""A codec error handler: \uXXXX, which JSON reads and people can."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    units = error.object[error.start : error.end].encode("utf-16-be", "surrogatepass")
    pairs = (units[at : at + 2].hex() for at in range(0, len(units), 2))
    return "".join(f"\\u{pair}" for pair in pairs), error.end


def make_fit() -> None:
    """Take the place of sys.stdout and sys.stderr, once, before anything is written."""
    codecs.register_error(ESCAPING, escaped_for_json)
    # A descriptor that is closed would be given to the next file that is opened: a ledger, perhaps.
    for fd, flags in ((0, os.O_RDONLY), (1, os.O_WRONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(fd)
        except OSError:
            with contextlib.suppress(OSError):
                os.open(os.devnull, flags)
    sys.stdout = _fit(sys.stdout, 1)
    sys.stderr = _talk(_fit(sys.stderr, 2))


def _fit(stream: TextIO | None, fd: int) -> TextIO:
    if stream is None or stream.closed:
        return open(fd, "w", encoding="utf-8", errors=ESCAPING, closefd=False)
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(errors=ESCAPING)
    return stream


def _talk(stream: TextIO) -> TextIO:
    if not isinstance(stream, io.TextIOWrapper):
        return stream
    encoding, raw = stream.encoding, stream.detach()
    return _Talk(raw, encoding=encoding, errors=ESCAPING, line_buffering=True)


def flush_result() -> OSError | None:
    """Write out what is left of the result; gives the error where it cannot be, and then nothing
    is left that Python's own end would stumble over.
    """
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError as error:
        give_up_stdout()
        return error
    return None


def give_up_stdout() -> None:
    """Whatever is still to be written to stdout goes nowhere."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
