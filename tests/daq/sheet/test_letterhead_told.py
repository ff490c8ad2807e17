"""The shop's file as the guide shows it."""

import re

import msgspec

from daq.guide.topics import text_of
from daq.sheet.letterhead import MOST_LINES, MOST_LOGO_BYTES, MOST_PIXELS, ShopFile, parse_shop


def test_the_file_shown_is_one_with_every_key() -> None:
    text = text_of("data")
    (shown,) = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    found = parse_shop(shown)
    assert found.paper == "letter"
    keys = set(re.findall(r"^(\w+) =", shown, re.MULTILINE))
    assert keys == {field.encode_name for field in msgspec.structs.fields(ShopFile)}


def test_its_bounds_are_told() -> None:
    assert (MOST_LINES, MOST_LOGO_BYTES, MOST_PIXELS) == (6, 256 * 1024, 2000)
