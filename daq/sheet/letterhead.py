"""The shop's name, address and logo for the head of a sheet: HOME/shop.toml to a record. Pure.

    schema = 1
    name = "Harbour Street Crankshafts"
    address = ["12 Harbour Street", "Port Town"]
    logo = "logo.png"
    paper = "letter"

`paper` (a4 or letter, a4 by default) is that of a PDF; a browser asks for it when it prints.
A logo is a PNG or JPEG picture, small in bytes and in the pixels that its head states, so that
nobody's browser is asked to unfold more. It is not passed on as it came: only what draws the
picture is taken over, so that no text, place or program within it reaches a customer.
"""

import base64
import struct
import zlib
from collections.abc import Iterator
from typing import Literal, TypeAlias

import msgspec

from drivers.toml_file import WrongKey, converted, need, table_in

MOST_NAME, MOST_LINES = 120, 6
MOST_LOGO_BYTES = 256 * 1024
MOST_PIXELS = 2000
"""Of a logo's width and of its height. Chosen by us: 25 mm at 2000 dots an inch."""

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset((b"IHDR", b"PLTE", b"tRNS", b"gAMA", b"sRGB", b"pHYs", b"IDAT", b"IEND"))
"""Chunks that draw the picture (ISO/IEC 15948); others may hold texts, profiles or frames."""

_JPEG_SIZES = frozenset({0xC0, 0xC1, 0xC2})
"""Frames with a size that browsers draw: baseline, extended, progressive (ITU-T T.81)."""

_JPEG_DROPPED = frozenset({0xFE, *range(0xE1, 0xF0)} - {0xEE})
"""Comments and what programs add, camera and place among it; the colour note stays."""


Paper: TypeAlias = Literal["a4", "letter"]


class ShopFile(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    rename={"file_schema": "schema"},
):
    """HOME/shop.toml as written; `logo` is a file beside it."""

    file_schema: int
    name: str
    address: tuple[str, ...] = ()
    logo: str | None = None
    paper: Paper = "a4"


class Letterhead(msgspec.Struct, frozen=True):
    """What stands at the head of a sheet, `logo` as a data address, empty for none; and the paper
    of the shop.
    """

    name: str
    address: tuple[str, ...] = ()
    logo: str = ""
    paper: Paper = "a4"


def parse_shop(text: str) -> ShopFile:
    """A shop file's text, checked; raises WrongKey."""
    found = converted(table_in(text, 1), ShopFile)
    _check_line(found.name, "name")
    need(bool(found.name.strip()), "name", "write the shop's name")
    need(len(found.address) <= MOST_LINES, "address", f"{MOST_LINES} lines at most")
    for number, line in enumerate(found.address, 1):
        _check_line(line, f"address[{number}]")
    if found.logo is not None:
        need(
            bool(found.logo) and not set(found.logo) & {"/", "\\", "\x00"} and found.logo != "..",
            "logo",
            "write the name of a file that lies beside shop.toml, without a folder",
        )
    return found


def _check_line(text: str, key: str) -> None:
    need(len(text) <= MOST_NAME, key, f"{MOST_NAME} characters at most")
    need(text.isprintable(), key, "control characters and line breaks cannot be printed")


def logo_address(data: bytes) -> str:
    """A logo as a data address. Raises WrongKey of `logo` for what is neither PNG nor JPEG, is cut
    off, or is too large.
    """
    need(len(data) <= MOST_LOGO_BYTES, "logo", f"{MOST_LOGO_BYTES // 1024} KiB at most")
    try:
        if data.startswith(_PNG):
            kind, kept = "png", _png(data)
        elif data.startswith(b"\xff\xd8\xff"):
            kind, kept = "jpeg", _jpeg(data)
        else:
            raise WrongKey("logo", "it is neither a PNG nor a JPEG picture; others are not taken")
    except (struct.error, IndexError) as error:
        raise WrongKey("logo", "the picture is cut off or damaged") from error
    return f"data:image/{kind};base64,{base64.b64encode(kept).decode('ascii')}"


def _check_size(width: int, height: int) -> None:
    need(width > 0 and height > 0, "logo", "the picture is cut off or damaged")
    need(
        max(width, height) <= MOST_PIXELS,
        "logo",
        f"it is {width} by {height} pixels; {MOST_PIXELS} each way at most",
    )


def _png(data: bytes) -> bytes:
    kept, names = [_PNG], list[bytes]()
    for name, body in _chunks(data):
        if not names:
            need(name == b"IHDR" and len(body) == 13, "logo", "the picture is cut off or damaged")
            _check_size(*struct.unpack(">II", body[:8]))
        names.append(name)
        if name in _PNG_KEPT:
            check = zlib.crc32(name + body)
            kept.append(struct.pack(">I", len(body)) + name + body + struct.pack(">I", check))
        if name == b"IEND":
            need(b"IDAT" in names, "logo", "the picture is cut off or damaged")
            return b"".join(kept)
    raise WrongKey("logo", "the picture is cut off or damaged")


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = len(_PNG)
    while at < len(data):
        (size,) = struct.unpack_from(">I", data, at)
        body = data[at + 8 : at + 8 + size]
        (check,) = struct.unpack_from(">I", data, at + 8 + size)
        name = data[at + 4 : at + 8]
        need(check == zlib.crc32(name + body), "logo", "the picture is cut off or damaged")
        yield name, body
        at += 12 + size


def _jpeg(data: bytes) -> bytes:
    kept, at, is_sized = [data[:2]], 2, False
    while True:
        need(data[at] == 0xFF, "logo", "the picture is cut off or damaged")
        marker = data[at + 1]
        if marker == 0xFF:  # one more fill byte
            at += 1
            continue
        (size,) = struct.unpack_from(">H", data, at + 2)
        segment = data[at : at + 2 + size]
        need(size >= 2 and len(segment) == 2 + size, "logo", "the picture is cut off or damaged")
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            need(marker in _JPEG_SIZES, "logo", "a JPEG of a kind that browsers do not draw")
            height, width = struct.unpack_from(">HH", segment, 5)
            _check_size(width, height)
            is_sized = True
        if marker == 0xDA:  # the picture itself, to the end
            need(is_sized and b"\xff\xd9" in data[at:], "logo", "the picture is cut off or damaged")
            return b"".join([*kept, data[at : data.rindex(b"\xff\xd9") + 2]])
        if marker not in _JPEG_DROPPED:
            kept.append(segment)
        at += 2 + size


__all__ = ["MOST_LOGO_BYTES", "Letterhead", "ShopFile", "logo_address", "parse_shop"]
