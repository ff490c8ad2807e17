"""Frames of a `kind = "bcd"` profile to readings: the order of the tests is the schema's. Pure."""

from functools import reduce
from operator import xor

from drivers.dialects.framing import Frame
from drivers.dialects.outcomes import Bad, exact, refuse_value
from drivers.profile.bcd_spec import (
    Bcd,
    BcdChannel,
    BcdSign,
    BcdStatus,
    BcdUnit,
    Decimals,
    Digits,
    Nibbles,
    XorCheck,
)
from drivers.profile.profile import Profile
from drivers.reading import Reading


class BcdDecoder:
    """Reads the frames of one profile, nibble by nibble."""

    def __init__(self, profile: Profile, bcd: Bcd) -> None:
        self._profile = profile
        self._low_first = bcd.order == "low-first"
        self._places = _placed(bcd.tokens)
        self._by_digit = {
            place: {int(key, 16): said for key, said in token.map.items()}
            for place, token in self._places
            if isinstance(token, BcdSign | BcdUnit)
        }

    def read(self, frame: Frame) -> Reading:
        """The reading in a whole frame; raises Bad."""
        profile = self._profile
        nibbles = _nibbles(frame.payload, self._low_first)
        self._refuse_checksum(nibbles)
        flags = self._flags(nibbles)
        digits, decimals, channel = "", 0, None
        negative, unit = False, profile.unit
        sent_decimals: tuple[int, int] | None = None
        for place, token in self._places:
            match token:
                case Digits():
                    digits, decimals = _digits(nibbles, place, token), token.decimals
                case BcdSign():
                    negative = self._said(nibbles, place, "sign", "syntax") == "-"
                case BcdUnit():
                    unit = self._said(nibbles, place, "unit", "unit")
                case BcdChannel():
                    channel = str(nibbles[place])
                case Decimals():
                    sent_decimals = place, nibbles[place]
        if sent_decimals is not None:
            place, decimals = sent_decimals
            if decimals > len(digits):
                raise Bad(
                    "syntax", f"nibble {place + 1} (decimals): {decimals} of {len(digits)} digits"
                )
        value = exact(f"-{digits}" if negative else digits, -decimals)
        refuse_value(profile, value, unit)
        return Reading(
            value=value,
            unit=unit,
            resolution=profile.resolution_in(unit) or exact("1", -decimals),
            raw=frame.raw,
            at=frame.at,
            channel=channel,
            flags=flags,
        )

    def _refuse_checksum(self, nibbles: list[int]) -> None:
        for place, token in self._places:
            if isinstance(token, XorCheck):
                due = reduce(xor, nibbles[:place], 0)
                if nibbles[place] != due:
                    raise Bad(
                        "checksum",
                        f"nibble {place + 1} (check): expected {due:x}, not {nibbles[place]:x}",
                    )

    def _flags(self, nibbles: list[int]) -> tuple[str, ...]:
        """The status flags, sorted, each once; raises Bad where one means that there is no reading:
        the first counts, in layout order, lowest bit first.
        """
        flags: set[str] = set()
        no_reading = ""
        for place, token in self._places:
            if not isinstance(token, BcdStatus):
                continue
            word = reduce(lambda high, low: high << 4 | low, nibbles[place : place + token.nibbles])
            for bit in range(4 * token.nibbles):
                if word >> bit & 1:
                    name = token.bits.get(str(bit), f"bit-{bit}")
                    if name.startswith("!"):
                        no_reading = no_reading or name[1:]
                    elif name:
                        flags.add(name)
        if no_reading:
            raise Bad(f"gauge.{no_reading}", f"status {no_reading}: no reading")
        return tuple(sorted(flags))

    def _said(self, nibbles: list[int], place: int, field: str, code: str) -> str:
        said = self._by_digit[place].get(nibbles[place])
        if said is None:
            known = ", ".join(f"{digit:x}" for digit in sorted(self._by_digit[place]))
            raise Bad(
                code, f"nibble {place + 1} ({field}): expected {known}, not {nibbles[place]:x}"
            )
        return said


def _placed(tokens: tuple[Nibbles, ...]) -> tuple[tuple[int, Nibbles], ...]:
    """Each token with the number of nibbles before it."""
    places: list[tuple[int, Nibbles]] = []
    place = 0
    for token in tokens:
        places.append((place, token))
        place += token.nibbles
    return tuple(places)


def _nibbles(payload: bytes, low_first: bool) -> list[int]:
    both = [(byte & 0xF, byte >> 4) if low_first else (byte >> 4, byte & 0xF) for byte in payload]
    return [nibble for pair in both for nibble in pair]


def _digits(nibbles: list[int], place: int, token: Digits) -> str:
    """The digits, most significant first; raises Bad."""
    sent = nibbles[place : place + token.nibbles]
    for n, nibble in enumerate(sent, place + 1):
        if nibble > 9:
            raise Bad("bcd", f"nibble {n} (digits): expected 0 to 9, not {nibble:x}")
    text = "".join(map(str, sent))
    return text if token.first == "msd" else text[::-1]
