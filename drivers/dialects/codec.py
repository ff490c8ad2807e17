"""One gauge's dialect behind one interface: bytes and silence in, readings and rejects out."""

from typing import Protocol

from drivers.dialects.bcd import BcdDecoder
from drivers.dialects.framed_codec import FramedCodec
from drivers.dialects.modbus import ModbusCodec
from drivers.dialects.outcomes import FIRST_AFTER_OPEN, NO_ECHO, REPEAT
from drivers.dialects.text_codec import TextDecoder
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome

__all__ = ["FIRST_AFTER_OPEN", "NO_ECHO", "REPEAT", "Codec", "codec_for"]


class Codec(Protocol):
    """One gauge's dialect: no I/O, no clock. Made anew after every open, so no half frame survives
    a replug. `feed` and `idle` never raise on bad bytes.
    """

    def feed(self, chunk: bytes, at: Instant) -> list[Outcome]:
        """Take bytes that arrived at `at`."""
        ...

    def idle(self, at: Instant) -> list[Outcome]:
        """Nothing came until `at`."""
        ...

    @property
    def silence_s(self) -> float | None:
        """Call `idle` after so many seconds of silence; None: no need."""
        ...

    @property
    def is_whole(self) -> bool:
        """A whole answer is here, and only the silence that ends it is waited for."""
        ...

    def request(self) -> bytes | None:
        """What asks the gauge for one reading, to be sent right now: an echo of it is waited for
        from here on. None: this gauge cannot be asked, it speaks by itself.
        """
        ...


def codec_for(profile: Profile, *, with_repeats: bool = True) -> Codec:
    """A fresh codec for one opening of a gauge of this profile."""
    if profile.modbus is not None:
        return ModbusCodec(profile, profile.modbus, with_repeats=with_repeats)
    if profile.bcd is not None:
        decoder = BcdDecoder(profile, profile.bcd)
        return FramedCodec(profile, decoder, with_repeats=with_repeats)
    return FramedCodec(profile, TextDecoder(profile), with_repeats=with_repeats)
