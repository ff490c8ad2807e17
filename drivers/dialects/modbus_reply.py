"""One Modbus RTU reply to a reading; the order of the tests is the schema's. Pure.

Source: Modbus Application Protocol V1.1b3, 6.3, 6.4 and 7, and Modbus over Serial Line V1.02, 2.5.1
(from memory). Word order and number types are no part of the standard; the profile states them.
"""

from decimal import Decimal

from drivers.dialects.checksums import crc16_modbus
from drivers.dialects.outcomes import Bad, exact, refuse_value
from drivers.profile.modbus_spec import Modbus
from drivers.profile.profile import Profile
from drivers.reading import Instant, Reading

_EXCEPTION = 0x80


def request_frame(modbus: Modbus) -> bytes:
    """The bytes that ask for the profile's registers: 8, the CRC's low byte first."""
    head = bytes([modbus.unit_id, modbus.function])
    body = head + modbus.address.to_bytes(2, "big") + modbus.count.to_bytes(2, "big")
    return body + crc16_modbus(body).to_bytes(2, "little")


def reply_size(begun: bytes) -> int | None:
    """How many bytes the reply that begins so has in all; None: not known yet."""
    if len(begun) > 1 and begun[1] & _EXCEPTION:
        return 5
    return 5 + begun[2] if len(begun) > 2 else None


class ReplyDecoder:
    """Reads the replies of one profile."""

    def __init__(self, profile: Profile, modbus: Modbus) -> None:
        self._profile = profile
        self._modbus = modbus
        self._step = profile.resolution_in(profile.unit) or exact("1", -modbus.decimals)

    def read(self, frame: bytes, at: Instant) -> Reading:
        """The reading in all bytes of one reply; raises Bad."""
        modbus, profile = self._modbus, self._profile
        _refuse_size(frame)
        due = crc16_modbus(frame[:-2]).to_bytes(2, "little")
        if frame[-2:] != due:
            place, sent = len(frame) - 1, frame[-2:].hex()
            raise Bad(
                "checksum", f"position {place} (CRC): expected {due.hex()} by the bytes, not {sent}"
            )
        if frame[0] != modbus.unit_id:
            raise Bad("address", f"position 1: expected unit {modbus.unit_id}, not {frame[0]}")
        if frame[1] & ~_EXCEPTION != modbus.function:
            raise Bad(
                "syntax",
                f"position 2: expected function {modbus.function}, not {frame[1] & ~_EXCEPTION}",
            )
        if frame[1] & _EXCEPTION:
            code = frame[2]
            words = _EXCEPTIONS.get(code, "a code that is not in the standard")
            raise Bad(f"modbus.exception-{code:02d}", f"the gauge refuses the request: {words}")
        if frame[2] != 2 * modbus.count:
            raise Bad(
                "syntax", f"position 3: expected {2 * modbus.count} bytes of data, not {frame[2]}"
            )
        value = self._number(frame[3:-2])
        refuse_value(profile, value, profile.unit)
        return Reading(value=value, unit=profile.unit, resolution=self._step, raw=frame, at=at)

    def _number(self, data: bytes) -> Decimal:
        modbus = self._modbus
        if modbus.little:
            data = data[2:] + data[:2]
        if modbus.sentinel is not None and data == modbus.sentinel[0]:
            name = modbus.sentinel[1]
            raise Bad(f"gauge.{name}", f"the registers {data.hex()} mean {name}")
        if modbus.type != "float32":
            number = int.from_bytes(data, "big", signed=modbus.type.startswith("int"))
        else:
            single = rounded_single(int.from_bytes(data, "big"), modbus.decimals)
            if single is None:
                raise Bad("gauge.not-a-number", f"the single {data.hex()} is no finite number")
            number = single
        return exact(str(number), -modbus.decimals)


def rounded_single(bits: int, decimals: int) -> int | None:
    """A single of 32 `bits` times 10**decimals, half to even from its exact value; None if it is
    infinite or no number.

    Source: IEEE 754-2008, 3.4, binary32: sign, 8 bits of exponent, 23 of fraction.
    """
    power, fraction = bits >> 23 & 0xFF, bits & 0x7F_FFFF
    if power == 0xFF:
        return None
    significand = fraction | 0x80_0000 if power else fraction
    scaled = significand * int(10**decimals)
    shift = max(power, 1) - 127 - 23
    if shift >= 0:
        whole = scaled << shift
    else:
        whole, rest = divmod(scaled, 1 << -shift)
        half = 1 << (-shift - 1)
        whole += rest > half or (rest == half and whole & 1)
    return -whole if bits >> 31 else whole


def _refuse_size(frame: bytes) -> None:
    size = reply_size(frame)
    if size is None or len(frame) < size:
        more = "a reply of 5 bytes or more" if size is None else f"{size} bytes in all"
        raise Bad(
            "truncated", f"position {len(frame) + 1}: expected {more}, then nothing more came"
        )
    if len(frame) > size:
        raise Bad("overlong", f"position {size + 1}: expected the end, but it goes on")


_EXCEPTIONS = {
    1: "it does not know the function (modbus.function)",
    2: "it has no such registers (modbus.address, modbus.count)",
    3: "it does not accept the number of registers (modbus.count)",
    4: "it failed while reading",
    5: "it has begun and is not ready",
    6: "it is busy",
    8: "its memory is damaged",
    10: "the gateway has no way to it",
    11: "it does not answer the gateway",
}
"""Source: Modbus Application Protocol V1.1b3, 7 (from memory)."""
