"""Frames of a `kind = "text"` profile to readings: the order of the tests is the schema's. Pure."""

from decimal import Decimal

from drivers.dialects.checksums import CHECKSUMS
from drivers.dialects.framing import Frame
from drivers.dialects.layout import Fields, Layout, Miss
from drivers.dialects.numbers import MOST_DIGITS, MOST_EXPONENT
from drivers.dialects.outcomes import Bad, exact, refuse_value
from drivers.profile.profile import Profile
from drivers.reading import Reading


class TextDecoder:
    """Reads the text frames of one profile."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile
        self._layout = Layout(profile.layout)
        self._steps: dict[int, Decimal] = {}
        self._has_resolution = profile.resolution is not None

    def read(self, frame: Frame) -> Reading:
        """The reading in a whole frame; raises Bad."""
        profile = self._profile
        payload = frame.payload
        if not payload:
            raise Bad("empty", "position 1: expected a reading, but nothing stands there")
        try:
            text = payload.decode("ascii")
        except UnicodeDecodeError:
            text = "\x00"
        if not text.isprintable():
            raise Bad("encoding", _encoding_detail(payload))
        if profile.check is not None:
            text = self._checked(frame, text)
        if profile.frame.trim:
            text = text.strip(" ")
        condition = profile.condition(text) if profile.conditions else None
        if condition is not None:
            raise Bad(f"gauge.{condition}", f"the gauge says {condition}")
        try:
            fields = self._layout.read(text)
        except Miss as miss:
            raise Bad(miss.code, f"position {miss.pos + 1}: expected {miss.expected}") from None
        if fields.no_reading is not None:
            raise Bad(f"gauge.{fields.no_reading}", f"status {fields.no_reading}: no reading")
        return self._value(frame, fields)

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

    def _value(self, frame: Frame, fields: Fields) -> Reading:
        profile = self._profile
        number = fields.number
        power = number.exponent10 + fields.exponent
        if not number.digits or abs(fields.exponent) > MOST_EXPONENT:
            raise Bad("range", "the number is larger than any gauge can show")
        if -power > MOST_DIGITS or len(number.digits.lstrip("0")) > MOST_DIGITS:
            raise Bad("range", f"the number has more than {MOST_DIGITS} digits")
        value = exact(number.negative or fields.sign == "-", number.digits, power)
        unit = fields.unit if fields.unit is not None else profile.unit
        refuse_value(profile, value, unit, in_range=number.in_range)
        declared = profile.resolution_in(unit) if self._has_resolution else None
        return Reading(
            value=value,
            unit=unit,
            resolution=declared or number.step or self._steps.get(power) or self._step(power),
            raw=frame.raw,
            at=frame.at,
            channel=fields.channel,
            flags=tuple(sorted(set(fields.flags))) if fields.flags else (),
        )

    def _step(self, power: int) -> Decimal:
        step = self._steps[power] = exact(False, "1", power)
        return step


_HEX = set("0123456789abcdefABCDEF")


def _encoding_detail(payload: bytes) -> str:
    for pos, byte in enumerate(payload):
        if not 0x20 <= byte <= 0x7E:
            return (
                f"position {pos + 1}: expected letters, digits and signs, not the byte {byte:02x}"
            )
    return "expected letters, digits and signs"
