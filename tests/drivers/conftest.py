"""What several driver tests need: decoding from a profile text, and a pseudo-terminal."""

import os
import tty
from collections.abc import Callable, Iterator
from contextlib import suppress

import pytest

from drivers.dialects.codec import codec_for
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Outcome

Decode = Callable[..., list[Outcome]]


@pytest.fixture
def decode() -> Decode:
    """Outcomes of a profile text for (milliseconds, bytes) chunks, then two seconds of silence."""

    def run(text: str, *chunks: tuple[int, bytes] | bytes) -> list[Outcome]:
        codec = codec_for(parse_profile(text, "test.toml"))
        out: list[Outcome] = []
        ms = 0
        for chunk in chunks:
            ms, data = (ms, chunk) if isinstance(chunk, bytes) else chunk
            out += codec.feed(data, Instant(ms * 1000, ms * 1_000_000))
        ms += 2000
        return out + codec.idle(Instant(ms * 1000, ms * 1_000_000))

    return run


class Pty:
    """A pseudo-terminal: the gauge's end as a descriptor, the program's end as a device path."""

    def __init__(self) -> None:
        self.gauge, self._program = os.openpty()
        tty.setraw(self._program)
        self.path = os.ttyname(self._program)

    def send(self, data: bytes) -> None:
        """Send as the gauge would."""
        os.write(self.gauge, data)

    def unplug(self) -> None:
        """Pull the plug: the device goes away."""
        for descriptor in (self.gauge, self._program):
            with suppress(OSError):
                os.close(descriptor)


@pytest.fixture
def pty() -> Iterator[Pty]:
    """A raw pseudo-terminal, unplugged afterwards."""
    made = Pty()
    yield made
    made.unplug()
