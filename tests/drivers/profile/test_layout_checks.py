"""Tokens, conditions and values that do not fit are refused with file, key and reason."""

import pytest

from drivers.errors import ProfileError
from drivers.profile.file import parse_profile

TOP = 'schema = 1\nid = "t"\nkind = "text"\n'
NUMBER = '[[layout]]\nname = "number"\nform = "fixed"\n'
UNIT = '[[layout]]\nname = "unit"\nmap = { mm = "mm", in = "in" }\n'
GOOD = TOP + '[frame]\nend = "\\r\\n"\n' + NUMBER


def number(keys: str) -> str:
    return TOP + f'[[layout]]\nname = "number"\n{keys}\n'


def also(text: str) -> str:
    return GOOD + text + "\n"


def token(keys: str) -> str:
    return also(f"[[layout]]\n{keys}")


REFUSED: dict[str, tuple[str, str, str]] = {
    # numbers
    "gap no sign": (number('form = "fixed"\ngap = true'), "layout[1].gap", "sign"),
    "int sep": (number('form = "int"\nsep = "."'), "layout[1].sep", "no separator"),
    "fraction sep": (number('form = "fraction"\nsep = "/"'), "layout[1].sep", "no separator"),
    "fixed sep": (number('form = "fixed"\nsep = ";"'), "layout[1].sep", "','"),
    "dms no sep": (number('form = "dms"'), "layout[1].sep", "one character"),
    "dms digit sep": (number('form = "dms"\nsep = "0"'), "layout[1].sep", "one character"),
    "fraction decimals": (number('form = "fraction"\ndecimals = 1'), "layout[1].decimals", "none"),
    "nrf decimals": (number('form = "nrf"\ndecimals = 1'), "layout[1].decimals", "none"),
    "dms decimals": (
        number('form = "dms"\nsep = ":"\ndecimals = 1'),
        "layout[1].decimals",
        "none",
    ),
    "decimals below": (number('form = "int"\ndecimals = -1'), "layout[1].decimals", "0 to 40"),
    "width 0": (number('form = "int"\nwidth = 0'), "layout[1].width", "not a width"),
    "width turned": (number('form = "int"\nwidth = [3, 2]'), "layout[1].width", "not a width"),
    "sp turned": (token("sp = [3, 2]"), "layout[2].sp", "not a width"),
    "sp below": (token("sp = [-1, 2]"), "layout[2].sp", "not a width"),
    # layouts whose tokens do not fit together
    "no layout": (TOP, "layout", "number"),
    "no number": (TOP + UNIT, "layout", "number"),
    "two numbers": (also(NUMBER), "layout", "more than one number"),
    "two units": (also(UNIT + UNIT), "layout", "more than one unit"),
    "two exponents": (also('[[layout]]\nname = "exponent"\n' * 2), "layout", "exponent"),
    "two signs": (
        number('form = "int"\nsign = "optional"')
        + '[[layout]]\nname = "sign"\nmap = { "-" = "-" }\n',
        "layout",
        "a sign token and a number with its own sign",
    ),
    "exp exponent": (
        number('form = "exp"') + '[[layout]]\nname = "exponent"\n',
        "layout",
        "form exp",
    ),
    "nrf exponent": (
        number('form = "nrf"') + '[[layout]]\nname = "exponent"\n',
        "layout",
        "form nrf",
    ),
    # channel, sign, unit, status
    "channel twice": (
        also('[[layout]]\nname = "channel"\nchars = "digit"\nwidth = 1\n' * 2),
        "layout",
        "more than one channel",
    ),
    "channel chars": (
        token('name = "channel"\nchars = "hex"\nwidth = 1'),
        "layout[2].chars",
        "hex",
    ),
    "channel no width": (
        token('name = "channel"\nchars = "digit"'),
        "layout[2].width",
        "required",
    ),
    "channel width 0": (
        token('name = "channel"\nchars = "digit"\nwidth = [0, 2]'),
        "layout[2].width",
        "not a width",
    ),
    "channel allowed": (
        token('name = "channel"\nchars = "alpha"\nwidth = 1\nallowed = ["ä"]'),
        "layout[2].allowed",
        "ASCII",
    ),
    "lit empty": (token('lit = ""'), "layout[2].lit", "empty"),
    "lit ascii": (token('lit = "°"'), "layout[2].lit", "ASCII"),
    "sign ascii": (token('name = "sign"\nmap = { "\\u2212" = "-" }'), "layout[2].map", "ASCII"),
    "sign word": (token('name = "sign"\nmap = { "-" = "minus" }'), "layout[2].map[...]", "minus"),
    "sign empty": (token('name = "sign"\nmap = {}'), "layout[2].map", "empty"),
    "unit empty": (token('name = "unit"\nmap = {}'), "layout[2].map", "empty"),
    "unit key ascii": (token('name = "unit"\nmap = { "µ" = "um" }'), "layout[2].map", "ASCII"),
    "unit ascii": (token('name = "unit"\nmap = { u = "µm" }'), "layout[2].map", "ASCII"),
    "flag name": (token('name = "flag"\nmap = { E = "no good" }'), "layout[2].map", "no good"),
    "flag only !": (token('name = "flag"\nmap = { E = "!" }'), "layout[2].map", "'!'"),
    "flag two !": (token('name = "flag"\nmap = { E = "!!x" }'), "layout[2].map", "'!!x'"),
    "flag key ascii": (token('name = "flag"\nmap = { "é" = "e" }'), "layout[2].map", "ASCII"),
    "bits width": (token('name = "bits"\nwidth = 9\nbits = {}'), "layout[2].width", "1 to 8"),
    "bit 8 of 8": (
        token('name = "bits"\nwidth = 2\nbits = { "8" = "x" }'),
        "layout[2].bits",
        "not 0 to 7",
    ),
    "bit 07": (
        token('name = "bits"\nwidth = 2\nbits = { "07" = "x" }'),
        "layout[2].bits",
        "not 0 to 7",
    ),
    "bit name": (
        token('name = "bits"\nwidth = 2\nbits = { "7" = "a,b" }'),
        "layout[2].bits",
        "a,b",
    ),
    # conditions, sentinels, values
    "condition name": (also('[conditions]\nE = "a b"'), "conditions.'E'", "not a name"),
    "condition !": (also('[conditions]\nE = "!x"'), "conditions.'E'", "not a name"),
    "condition ascii": (also('[conditions]\n"É" = "e"'), "conditions.'É'", "ASCII"),
    "condition empty": (also('[conditions]\n"" = "e"'), "conditions", "empty pattern"),
    "sentinel word": (
        also('[[sentinel]]\nvalue = "nan"\nname = "a"'),
        "sentinel[1].value",
        "not a number",
    ),
    "sentinel second": (
        also('[[sentinel]]\nvalue = "1"\nname = "a"\n[[sentinel]]\nvalue = "1_0"\nname = "b"'),
        "sentinel[2].value",
        "not a number",
    ),
    "sentinel name": (
        also('[[sentinel]]\nvalue = "1"\nname = "a b"'),
        "sentinel[1].name",
        "not a name",
    ),
    "sentinel no name": (also('[[sentinel]]\nvalue = "1"'), "sentinel[1].name", "required"),
    "min over max": (also('[value]\nmin = "2"\nmax = "1.9"'), "value.min", "larger"),
    "min infinite": (also('[value]\nmin = "-inf"'), "value.min", "not a number"),
    "max space": (also('[value]\nmax = " 1"'), "value.max", "not a number"),
    "max digits": (also('[value]\nmax = "\u0661"'), "value.max", "not a number"),
    "value unit ascii": (also('[value]\nunit = "µm"'), "value.unit", "ASCII"),
    "resolution 0": (also('[value]\nresolution = "0.0"'), "value.resolution", "positive"),
    "resolution below": (also('[value]\nresolution = "-1"'), "value.resolution", "positive"),
    "resolution power": (also('[value]\nresolution = "1e-3"'), "value.resolution", "positive"),
    "resolution lacks a unit": (
        also(UNIT + '[value]\nresolution = { mm = "0.001" }'),
        "value.resolution",
        "no entry for 'in'",
    ),
    "resolution lacks the declared unit": (
        also(UNIT + 'optional = true\n[value]\nunit = "um"\nresolution = { mm = "1", in = "1" }'),
        "value.resolution",
        "no entry for 'um'",
    ),
    "resolution lacks no unit": (
        also('[value]\nresolution = { mm = "1" }'),
        "value.resolution",
        "no entry for ''",
    ),
    "resolution of a unit": (
        also(UNIT + '[value]\nresolution = { mm = "1", in = "x" }'),
        "value.resolution.in",
        "positive",
    ),
    "window 0": (also("[repeat]\nwindow_ms = 0"), "repeat.window_ms", "between"),
    "window missing": (also("[repeat]"), "repeat.window_ms", "required"),
}


@pytest.mark.parametrize(("text", "key", "reason"), REFUSED.values(), ids=REFUSED.keys())
def test_a_mistake_is_refused_with_file_key_and_reason(text: str, key: str, reason: str) -> None:
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "bench/t.toml")
    assert caught.value.key == key
    assert reason in caught.value.reason
    assert "bench/t.toml" in str(caught.value)
    assert f"key {key}:" in str(caught.value)


def test_the_profile_that_the_mistakes_are_made_in_is_good() -> None:
    assert parse_profile(GOOD, "t.toml").id == "t"
