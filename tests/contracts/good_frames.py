"""A good frame of any profile, written from its layout, and the vectors' frames."""

import json
import struct
from functools import reduce
from operator import xor

from drivers.profile import bcd_spec
from drivers.profile.bcd_spec import Bcd
from drivers.profile.layout_spec import (
    Bits,
    Channel,
    Exponent,
    Flag,
    Lit,
    Number,
    Sign,
    Spaces,
    Unit,
)
from drivers.profile.modbus_spec import Modbus
from drivers.profile.profile import Profile
from tests.places import VECTORS


def vector_bytes() -> dict[str, list[bytes]]:
    """The bytes of the single-frame vectors, by profile."""
    found: dict[str, list[bytes]] = {}
    for line in (VECTORS / "frames.jsonl").read_text(encoding="utf-8").splitlines():
        vector = json.loads(line)
        found.setdefault(vector["profile"], []).append(bytes.fromhex(vector["bytes_hex"]))
    return found


VECTOR_BYTES = vector_bytes()


def low(width: int | tuple[int, int] | None) -> int:
    return width[0] if isinstance(width, tuple) else width or 1


def number_text(token: Number) -> str:
    sign = "+" if token.sign == "required" else ""
    sep = token.sep or "."
    part = "5".ljust(token.decimals or 1, "0")
    text = {
        "int": "15".rjust(low(token.width), "0")[: max(low(token.width), 2)],
        "fixed": f"1{sep}{part}",
        "exp": f"1{sep}{part}E+0",
        "nrf": f"1{sep}5",
        "dms": f"0{sep}0{sep}1",
        "fraction": "1 1/2",
    }[token.form]
    return sign + ("0" * (low(token.width) - len(sign + text)) if token.width else "") + text


def good_frame(profile: Profile) -> bytes:
    """One frame of the profile that is a reading, with its check and its marks."""
    if profile.modbus is not None:
        return good_reply(profile.modbus)
    if profile.bcd is not None:
        return profile.frame.start + good_nibbles(profile.bcd)
    return good_text(profile)


def good_reply(modbus: Modbus) -> bytes:
    if modbus.type == "float32":
        data = struct.pack(">f", 1.5)
    else:
        data = (15).to_bytes(2 * modbus.count, "big")
    data = data[2:] + data[:2] if modbus.little else data
    frame = bytes([modbus.unit_id, modbus.function, len(data)]) + data
    crc = 0xFFFF
    for byte in frame:
        crc ^= byte
        for _ in range(8):
            crc = crc // 2 ^ 0xA001 if crc % 2 else crc // 2
    return frame + bytes([crc % 256, crc // 256])


def good_nibbles(bcd: Bcd) -> bytes:
    nibbles: list[int] = []
    for token in bcd.tokens:
        match token:
            case bcd_spec.BcdStatus():
                nibbles += [0] * token.nibbles
            case bcd_spec.Digits():
                nibbles += [
                    int(digit) for digit in "15".rjust(token.nibbles, "0")[-token.nibbles :]
                ]
            case bcd_spec.BcdSign() | bcd_spec.BcdUnit():
                nibbles.append(int(next(iter(token.map)), 16))
            case bcd_spec.XorCheck():
                nibbles.append(reduce(xor, nibbles, 0))
            case _:
                nibbles.append(1)
    pairs = zip(nibbles[::2], nibbles[1::2], strict=True)
    if bcd.order == "low-first":
        pairs = zip(nibbles[1::2], nibbles[::2], strict=True)
    return bytes(16 * high + low for high, low in pairs)


def good_text(profile: Profile) -> bytes:
    text = ""
    for token in profile.layout:
        match token:
            case Lit():
                text += token.lit
            case Spaces():
                text += " " * (token.sp[0] if isinstance(token.sp, tuple) else token.sp)
            case Channel():
                name = {"digit": "1", "alpha": "A", "alnum": "A"}[token.chars] * low(token.width)
                text += token.allowed[0] if token.allowed else name
            case Number():
                text += number_text(token)
            case Exponent():
                text += "+0" if token.sign == "required" else "0"
            case Sign() | Unit():
                text += next(iter(token.map))
            case Flag():
                text += next(key for key, name in token.map.items() if name[:1] != "!")
            case Bits():
                text += "0" * token.width
    payload, frame, check = text.encode(), profile.frame, profile.check
    end = frame.ends[0] if frame.ends else b""
    tail = b"?" * frame.tail
    if check is not None:
        summed = payload + (end if check.over == "payload+end" else b"")
        due = reduce(xor, summed, 0) if check.kind == "xor8" else sum(summed) % 256
        if check.form == "raw":
            tail = bytes([due])
        else:
            payload += f"{check.sep}{due:02X}".encode()
    return frame.start + payload + end + tail


def known_frames(profile: Profile) -> list[bytes]:
    """A good frame and the vectors, whose cutting must not matter."""
    return [good_frame(profile), *VECTOR_BYTES.get(profile.id, [])]
