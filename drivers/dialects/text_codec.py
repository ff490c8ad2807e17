"""Frames of a `kind = "text"` profile to readings: the order of the tests is the schema's. Pure."""

from decimal import Decimal

from drivers.dialects.checksums import CHECKSUMS
from drivers.dialects.framing import Frame
from drivers.dialects.layout import NOTHING_MORE, Layout
from drivers.dialects.numbers import MOST_DIGITS, MOST_EXPONENT
from drivers.dialects.outcomes import Bad, exact, has_limits, refuse_value
from drivers.profile.profile import Profile
from drivers.reading import Reading


class TextDecoder:
    """Reads the text frames of one profile."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile
        self._layout = Layout(profile.layout)
        self._fields_of = self._layout.read
        self._unit = profile.unit
        self._has_resolution = profile.resolution is not None
        self._is_limited = has_limits(profile)
        self._is_bare = (
            self._layout.is_printable
            and not profile.check
            and not profile.frame.trim
            and not profile.conditions
        )

    def read(self, frame: Frame) -> Reading:
        """The reading in a whole frame; raises Bad."""
        text = frame.payload.decode("latin-1")
        if not self._is_bare:
            _refuse_bytes(frame.payload)
            text = self._bared(frame, text)
        fields = self._fields_of(text)
        if fields is None:
            _refuse_bytes(frame.payload)  # not asked before, as such bytes fit no bare layout
            miss = self._layout.miss(text)
            raise Bad(miss.code, f"position {miss.pos + 1}: expected {miss.expected}")
        (number, power, decimals, step, in_range), unit, said = fields
        channel: str | None = None
        flags: tuple[str, ...] = ()
        if said is not NOTHING_MORE:
            if said.no_reading is not None:
                raise Bad(f"gauge.{said.no_reading}", f"status {said.no_reading}: no reading")
            channel, flags = said.channel, tuple(sorted(set(said.flags)))
        last = power - decimals
        if not 0 < len(number) - power <= _SURELY_FEW:
            _refuse_size(number, last)
        value = exact(number, power, decimals) if power else Decimal(number)
        if not value:
            value = value.copy_abs()  # zero has no sign
        if unit is None:
            unit = self._unit
        if self._is_limited or not in_range:
            refuse_value(self._profile, value, unit, in_range=in_range)
        resolution = step or _STEPS[last]
        if self._has_resolution:
            resolution = self._profile.resolution_in(unit) or resolution
        return Reading(value, unit, resolution, frame.raw, frame.at, channel, flags)

    def _bared(self, frame: Frame, text: str) -> str:
        """What the layout is for, without check characters and spaces around it; raises Bad if they
        are wrong, or if the text stands for a condition of the gauge.
        """
        profile = self._profile
        if profile.check is not None:
            text = self._checked(frame, text)
        if profile.frame.trim:
            text = text.strip(" ")
        condition = profile.condition(text)
        if condition is not None:
            raise Bad(f"gauge.{condition}", f"the gauge says {condition}")
        return text

    def _checked(self, frame: Frame, text: str) -> str:
        """The text without its check characters; raises Bad if they are missing or wrong."""
        check = self._profile.check
        assert check is not None
        summed = frame.payload
        if check.form == "raw":
            if check.over == "payload+end":
                summed += frame.end
            sent = frame.tail[0]
        else:
            cut = len(text) - 2 - len(check.sep)
            digits = text[-2:]
            if cut < 0 or text[cut:-2] != check.sep or not set(digits) <= _HEX:
                raise Bad(
                    "syntax", f"field check: expected {check.sep!r} and two hex digits at the end"
                )
            sent = int(digits, 16)
            text = text[:cut]
            summed = summed[:cut]
        due = CHECKSUMS[check.kind](summed)
        if self._profile.frame.mask7 and check.form == "raw":
            due &= 0x7F  # seven data bits carry no more of it
        if sent != due:
            raise Bad("checksum", f"field check: expected {due:02x} by the bytes, not {sent:02x}")
        return text


_STEPS = {power: exact("1", power) for power in range(-MOST_DIGITS, MOST_EXPONENT + 1)}
"""One unit of a last digit, by its power of ten."""


_SURELY_FEW = MOST_DIGITS - MOST_EXPONENT
"""Characters of a number, less its power of ten, that cannot be too many digits: a quick look."""


def _refuse_size(number: str, last: int) -> None:
    """Raises Bad for a number larger than is believed, or of too many digits; `last` is the power
    of ten of its last one.
    """
    if not number:
        raise Bad("range", "the number is larger than any gauge can show")
    digits = number.lstrip("+-").replace(".", "").lstrip("0")
    if max(len(digits), -last) > MOST_DIGITS:
        raise Bad("range", f"the number has more than {MOST_DIGITS} digits")


_HEX = set("0123456789abcdefABCDEF")


def _refuse_bytes(payload: bytes) -> None:
    """Raises Bad for no bytes at all, and for one that is no printable character."""
    if not payload:
        raise Bad("empty", "position 1: expected a reading, but nothing stands there")
    for pos, byte in enumerate(payload):
        if not 0x20 <= byte <= 0x7E:
            raise Bad(
                "encoding",
                f"position {pos + 1}: expected letters, digits and signs, not the byte {byte:02x}",
            )
