"""The shop's file and its logo: what is taken, what is refused, what is left out of a picture."""

import base64
import struct
import zlib

import pytest

from daq.sheet.letterhead import MOST_LOGO_BYTES, logo_address, parse_shop
from drivers.toml_file import WrongKey

SHOP = """\
schema = 1
name = "Harbour Street Crankshafts"
address = ["12 Harbour Street", "Port Town"]
logo = "logo.png"
"""


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png(width: int = 2, height: int = 1, *more: bytes) -> bytes:
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    drawn = chunk(b"IDAT", zlib.compress(b"\x00\x00\xff"))  # no filter, one black, one white
    parts = [chunk(b"IHDR", head), *more, drawn, chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def segment(marker: int, body: bytes) -> bytes:
    return bytes((0xFF, marker)) + struct.pack(">H", len(body) + 2) + body


FRAME = struct.pack(">BHHB", 8, 3, 4, 1) + b"\x01\x11\x00"  # 8 bits, 3 high, 4 wide, one part


def jpeg(*more: bytes, frame: bytes = FRAME, marker: int = 0xC0) -> bytes:
    head = b"\xff\xd8" + segment(0xE0, b"JFIF\x00")
    scan = segment(0xDA, b"\x01\x01\x00\x00\x3f\x00") + b"\x12\x34"
    return head + b"".join(more) + segment(marker, frame) + scan + b"\xff\xd9"


def taken(data: bytes) -> bytes:
    """What reaches the page."""
    return base64.b64decode(logo_address(data).partition("base64,")[2])


def test_a_shop_has_a_name_an_address_and_a_logo() -> None:
    found = parse_shop(SHOP)
    assert found.name == "Harbour Street Crankshafts"
    assert found.address == ("12 Harbour Street", "Port Town")
    assert (found.logo, found.paper) == ("logo.png", "a4")
    assert parse_shop('schema = 1\nname = "A"\npaper = "letter"\n').paper == "letter"


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("name = 'A'", "schema"),
        ("schema = 1", "name"),
        ("schema = 1\nname = ' '", "name"),
        ("schema = 1\nname = 7", "name"),
        (f"schema = 1\nname = '{'M' * 121}'", "name"),
        ('schema = 1\nname = "A\\nB"', "name"),
        ('schema = 1\nname = "A\\u202eB"', "name"),
        ("schema = 1\nname = 'A'\nphone = '1'", "phone"),
        (f"schema = 1\nname = 'A'\naddress = {['x'] * 7}", "address"),
        (f"schema = 1\nname = 'A'\naddress = ['a', '{'x' * 121}']", "address[2]"),
        ("schema = 1\nname = 'A'\nlogo = '../logo.png'", "logo"),
        ("schema = 1\nname = 'A'\nlogo = '/etc/passwd'", "logo"),
        ("schema = 1\nname = 'A'\nlogo = 'a\\b.png'", "logo"),
        ("schema = 1\nname = 'A'\nlogo = ''", "logo"),
        ("schema = 1\nname = 'A'\npaper = 'a3'", "paper"),
        ("name", ""),
    ],
)
def test_what_is_wrong_in_the_file_is_named_by_its_key(text: str, key: str) -> None:
    with pytest.raises(WrongKey) as caught:
        parse_shop(text)
    assert caught.value.key == key


def test_a_png_is_taken_without_what_does_not_draw() -> None:
    hidden = [
        chunk(b"tEXt", b"Comment\x00<script>alert(1)</script>"),
        chunk(b"eXIf", b"where it was taken"),
        chunk(b"acTL", b"\x00\x00\x00\x02\x00\x00\x00\x00"),
    ]
    assert taken(png(2, 1, *hidden) + b"<script>behind the end</script>") == png()
    assert logo_address(png()).startswith("data:image/png;base64,")


def test_a_jpeg_is_taken_without_comments_and_what_a_camera_adds() -> None:
    hidden = [segment(0xE1, b"Exif\x00\x00where it was taken"), segment(0xFE, b"<script>")]
    assert taken(jpeg(*hidden) + b"behind the end") == jpeg()
    assert logo_address(jpeg()).startswith("data:image/jpeg;base64,")


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "neither a PNG nor"),
        (b"<script>alert(1)</script>", "neither a PNG nor"),
        (b"GIF89a\x01\x00\x01\x00", "neither a PNG nor"),
        (b"", "neither a PNG nor"),
        (png(30_000, 30_000), "30000 by 30000 pixels"),
        (png(2001, 1), "2001 by 1 pixels"),
        (png(0, 1), "damaged"),
        (png()[:40], "cut off"),
        (png()[:-12], "cut off"),  # without its end
        (png().replace(b"\x08\x00\x00\x00\x00", b"\x08\x02\x00\x00\x00"), "damaged"),  # its sum
        (b"\x89PNG\r\n\x1a\n" + chunk(b"IEND", b""), "damaged"),
        (jpeg(frame=struct.pack(">BHHB", 8, 3, 5000, 1) + b"\x01\x11\x00"), "5000 by 3 pixels"),
        (jpeg(marker=0xC3), "of a kind"),  # lossless
        (jpeg()[:-2], "cut off"),
        (jpeg()[:12], "cut off"),
        (b"\xff\xd8\xff", "cut off"),
        (b"\xff\xd8\xff\xda\x00\x02\xff\xd9", "damaged"),  # a scan before any size
        (png() + b"\x00" * MOST_LOGO_BYTES, "256 KiB at most"),
    ],
)
def test_a_logo_that_is_a_script_a_bomb_or_broken_is_refused(data: bytes, why: str) -> None:
    with pytest.raises(WrongKey, match=why) as caught:
        logo_address(data)
    assert caught.value.key == "logo"


def test_no_cut_picture_does_more_than_to_be_refused() -> None:
    for whole in (png(), jpeg()):
        for length in range(len(whole) - 1):
            with pytest.raises(WrongKey):
                logo_address(whole[:length])
