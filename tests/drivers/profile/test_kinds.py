"""Profiles of the kinds bcd and modbus-rtu: what they say, and what is refused by file and key."""

import pytest

from drivers.errors import ProfileError
from drivers.profile.bcd_spec import (
    Bcd,
    BcdChannel,
    BcdSign,
    BcdStatus,
    BcdUnit,
    Decimals,
    Digits,
    XorCheck,
)
from drivers.profile.file import parse_profile
from drivers.profile.modbus_spec import Modbus
from drivers.profile.profile import Link, Trigger

TEXT = 'schema = 1\nid = "t"\nkind = "text"\n[[layout]]\nname = "number"\nform = "fixed"\n'
BCD = """schema = 1
id = "t"
kind = "bcd"
[frame]
start_hex = "AA55"
length = 8
[bcd]
order = "low-first"
[[layout]]
name = "status"
bits = { "0" = "hold", "3" = "!sensor" }
[[layout]]
name = "channel"
[[layout]]
name = "decimals"
[[layout]]
name = "digits"
nibbles = 6
[[layout]]
name = "sign"
map = { "0" = "+", "b" = "-" }
[[layout]]
name = "unit"
map = { "0" = "mm", "A" = "in" }
[[layout]]
name = "check"
kind = "xor"
"""
MODBUS = """schema = 1
id = "t"
kind = "modbus-rtu"
[modbus]
unit_id = 247
function = 4
address = 65534
count = 2
type = "int32"
words = "little"
decimals = 4
sentinel_hex = "8000000A"
sentinel_name = "no-signal"
[value]
unit = "mm"
"""


def bcd(old: str, new: str) -> str:
    assert BCD.count(old) == 1, old
    return BCD.replace(old, new)


def modbus(old: str, new: str) -> str:
    assert MODBUS.count(old) == 1, old
    return MODBUS.replace(old, new)


def entry(keys: str) -> str:
    """The BCD profile with one more entry, the eighth, at the end."""
    return BCD + f"[[layout]]\n{keys}\n"


# --- what they say ---


def test_a_bcd_profile_is_as_written() -> None:
    profile = parse_profile(BCD, "t")
    assert profile.kind == "bcd"
    assert profile.bcd == Bcd(
        "low-first",
        (
            BcdStatus(name="status", bits={"0": "hold", "3": "!sensor"}),
            BcdChannel(name="channel"),
            Decimals(name="decimals"),
            Digits(name="digits", nibbles=6, first="msd"),
            BcdSign(name="sign", map={"0": "+", "b": "-"}),
            BcdUnit(name="unit", map={"0": "mm", "A": "in"}),
            XorCheck(name="check", kind="xor"),
        ),
    )
    assert (profile.frame.start, profile.frame.length) == (b"\xaa\x55", 8)
    assert (profile.layout, profile.modbus, profile.check) == ((), None, None)


def test_a_modbus_profile_is_as_written() -> None:
    profile = parse_profile(MODBUS, "t")
    assert profile.kind == "modbus-rtu"
    assert profile.modbus == Modbus(
        unit_id=247,
        function=4,
        address=65534,
        count=2,
        type="int32",
        little=True,
        decimals=4,
        sentinel=(b"\x80\x00\x00\x0a", "no-signal"),
    )
    assert (profile.layout, profile.bcd, profile.frame.idle_ms) == ((), None, 500)


def test_they_know_what_their_readings_can_carry() -> None:
    nibbles, registers = parse_profile(BCD, "t"), parse_profile(MODBUS, "t")
    assert nibbles.units() == ("in", "mm")
    assert nibbles.statuses() == {"hold"}
    assert nibbles.has_channel()
    assert registers.units() == ("mm",)
    assert (registers.statuses(), registers.has_channel()) == (frozenset(), False)
    no_unit = bcd('[[layout]]\nname = "unit"\nmap = { "0" = "mm", "A" = "in" }\n', "")
    no_unit = no_unit.replace("nibbles = 6", "nibbles = 7") + '[value]\nunit = "um"\n'
    assert parse_profile(no_unit, "t").units() == ("um",)


def test_who_is_asked() -> None:
    asked = '[trigger]\nsend = "Q"\n'
    assert [
        parse_profile(text, "t").is_asked for text in (TEXT, TEXT + asked, BCD, BCD + asked, MODBUS)
    ] == [False, True, False, True, True]


def test_modbus_has_a_reply_time_and_no_text_to_send() -> None:
    assert parse_profile(MODBUS, "t").trigger == Trigger(b"", 1000, False)
    text = MODBUS + "[trigger]\nreply_ms = 300\n"
    assert parse_profile(text, "t").trigger == Trigger(b"", 300, False)


def test_a_modbus_link_is_the_standards_where_the_profile_is_silent() -> None:
    assert parse_profile(MODBUS, "t").link == Link(baud=19200, parity="E")
    own = MODBUS + "[link]\nbaud = 9600\n"
    assert parse_profile(own, "t").link == Link(baud=9600, parity="E")
    assert parse_profile(BCD, "t").link == Link()


@pytest.mark.parametrize("kind", ["int16", "uint16"])
@pytest.mark.parametrize("words", ["", 'words = "big"\n'])
def test_one_register_needs_no_word_order(kind: str, words: str) -> None:
    text = modbus("count = 2", "count = 1").replace('words = "little"\n', words)
    text = text.replace("int32", kind).replace("8000000A", "8000")
    assert parse_profile(text, "t").modbus is not None


# --- what is refused ---

REFUSED: dict[str, tuple[str, str, str]] = {
    # keys of another kind
    "text bcd": (TEXT + '[bcd]\norder = "low-first"\n', "bcd", "goes with kind bcd, not with text"),
    "text modbus": (TEXT + "[modbus]\ncount = 1\n", "modbus", "goes with kind modbus-rtu"),
    "bcd modbus": (BCD + "[modbus]\ncount = 1\n", "modbus", "goes with kind modbus-rtu"),
    "bcd check": (BCD + '[check]\nkind = "xor8"\nform = "hex2"\n', "check", "layout token"),
    "bcd conditions": (BCD + '[conditions]\nE = "e"\n', "conditions", "goes with kind text"),
    "bcd end": (bcd("length = 8", 'end = "x"'), "frame.end", "fixed length"),
    "bcd tail": (bcd("length = 8", "length = 8\ntail = 1"), "frame.tail", "kind text"),
    "bcd max_bytes": (bcd("length = 8", "max_bytes = 8"), "frame.max_bytes", "kind text"),
    "bcd mask7": (bcd("length = 8", "length = 8\nmask7 = false"), "frame.mask7", "kind text"),
    "bcd trim": (bcd("length = 8", "length = 8\ntrim = true"), "frame.trim", "kind text"),
    "bcd echo": (BCD + '[trigger]\nsend = "Q"\necho = true\n', "trigger.echo", "kind text"),
    "bcd keyboard": (BCD + '[link]\nkeyboard = "us"\n', "link.keyboard", "kind text"),
    "bcd typed": (BCD + '[link]\ntransport = "usb-hid-keyboard"\n', "link.transport", "text only"),
    "bcd 7 bits": (BCD + "[link]\nbits = 7\n", "link.bits", "8 data bits"),
    "modbus bcd": (MODBUS + '[bcd]\norder = "low-first"\n', "bcd", "goes with kind bcd"),
    "modbus layout": (MODBUS + '[[layout]]\nlit = "x"\n', "layout", "the modbus table says"),
    "modbus check": (MODBUS + '[check]\nkind = "xor8"\n', "check", "CRC"),
    "modbus conditions": (MODBUS + '[conditions]\nE = "e"\n', "conditions", "kind text"),
    "modbus send": (MODBUS + '[trigger]\nsend = "Q"\n', "trigger.send", "the modbus table says"),
    "modbus echo": (MODBUS + "[trigger]\necho = true\n", "trigger.echo", "kind text"),
    "modbus 7 bits": (MODBUS + "[link]\nbits = 7\n", "link.bits", "8 data bits"),
    **{
        f"modbus {key.split()[0]}": (
            MODBUS + f"[frame]\n{key}\n",
            f"frame.{key.split()[0]}",
            "not with modbus-rtu",
        )
        for key in (
            'end = "x"',
            'start = "x"',
            'start_hex = "AA"',
            "length = 9",
            "tail = 1",
            "max_bytes = 9",
            "mask7 = true",
            "trim = true",
        )
    },
    # missing and unknown
    "bcd no table": (bcd('[bcd]\norder = "low-first"\n', ""), "bcd", "needs this table"),
    "bcd no order": (bcd('order = "low-first"\n', ""), "bcd.order", "required"),
    "bcd order": (bcd('"low-first"', '"first"'), "bcd.order", "first"),
    "bcd unknown": (bcd("[bcd]\n", "[bcd]\nx = 1\n"), "bcd.x", "unknown key"),
    "bcd no length": (bcd("length = 8\n", ""), "frame.length", "needs the fixed length"),
    "modbus no table": (MODBUS.split("[modbus]", maxsplit=1)[0], "modbus", "needs this table"),
    "modbus table": ("modbus = 1\n" + MODBUS.split("[modbus]", maxsplit=1)[0], "modbus", "int"),
    "modbus unknown": (modbus("count", "x = 1\ncount"), "modbus.x", "unknown key"),
    "link text": ("link = 1\n" + MODBUS, "link", "int"),
    "frame text": ("frame = 1\n" + MODBUS, "frame", "int"),
    # BCD tokens; places count from 1
    "text token": (bcd('"channel"', '"number"'), "layout[2].name", "channel, decimals, digits"),
    "bcd token in text": (TEXT + '[[layout]]\nname = "digits"\n', "layout[2].name", "kind text"),
    "bcd lit": (entry('lit = "x"'), "layout[8].lit", "text"),
    "bcd sp": (entry("sp = 1"), "layout[8].sp", "text"),
    "bcd no name": (entry("nibbles = 1"), "layout[8].name", "required"),
    "bcd name list": (entry('name = ["status"]'), "layout[8].name", "unknown"),
    "bcd chars": (bcd('"channel"', '"channel"\nchars = "digit"'), "layout[2].chars", "unknown key"),
    "bcd optional": (bcd('"channel"', '"channel"\noptional = true'), "layout[2].optional", "unkn"),
    "wide channel": (bcd('"channel"', '"channel"\nnibbles = 2'), "layout[2].nibbles", "one nibble"),
    "wide decimals": (bcd('"decimals"', '"decimals"\nnibbles = 2'), "layout[3].nibbles", "one nib"),
    "wide sign": (bcd('"sign"', '"sign"\nnibbles = 2'), "layout[5].nibbles", "one nibble"),
    "wide check": (bcd('"check"', '"check"\nnibbles = 0'), "layout[7].nibbles", "one nibble"),
    "no digits count": (bcd("nibbles = 6\n", ""), "layout[4].nibbles", "required"),
    "0 digits": (bcd("nibbles = 6", "nibbles = 0"), "layout[4].nibbles", "1 to 40"),
    "41 digits": (bcd("nibbles = 6", "nibbles = 41"), "layout[4].nibbles", "1 to 40"),
    "first": (bcd("nibbles = 6", 'nibbles = 6\nfirst = "left"'), "layout[4].first", "left"),
    "wide status": (bcd('"status"', '"status"\nnibbles = 17'), "layout[1].nibbles", "1 to 16"),
    "status bit": (bcd('"3" =', '"4" ='), "layout[1].bits", "'4' is not 0 to 3"),
    "status bit 03": (bcd('"3" =', '"03" ='), "layout[1].bits", "'03' is not 0 to 3"),
    "status name": (bcd("!sensor", "!sen sor"), "layout[1].bits", "letters"),
    "no bits": (bcd('bits = { "0" = "hold", "3" = "!sensor" }', ""), "layout[1].bits", "required"),
    "sign digit": (bcd('"b" =', '"g" ='), "layout[5].map", "'g' is not one hex digit"),
    "sign digits": (bcd('"b" =', '"0b" ='), "layout[5].map", "'0b' is not one hex digit"),
    "sign said": (bcd('"b" = "-"', '"b" = "minus"'), "layout[5].map[...]", "minus"),
    "sign twice": (bcd('"0" = "+"', '"B" = "+"'), "layout[5].map", "the same digit twice"),
    "sign empty": (bcd('{ "0" = "+", "b" = "-" }', "{}"), "layout[5].map", "empty"),
    "unit wide": (bcd('"in"', '"µm"'), "layout[6].map", "ASCII"),
    "check kind": (bcd('kind = "xor"', 'kind = "sum"'), "layout[7].kind", "sum"),
    # BCD tokens that do not fit together
    "more nibbles": (entry('name = "status"\nbits = {}'), "layout", "names 13 nibbles"),
    "fewer nibbles": (bcd("length = 8", "length = 9"), "layout", "names 12 nibbles"),
    "odd nibbles": (bcd("nibbles = 6", "nibbles = 5"), "layout", "leaves 12"),
    "start taken": (bcd('start_hex = "AA55"\n', ""), "layout", "leaves 16"),
    "no digits": (
        bcd('name = "digits"\nnibbles = 6', 'name = "status"\nnibbles = 6\nbits = {}'),
        "layout",
        'no token with name = "digits"',
    ),
    "two digits": (entry('name = "digits"\nnibbles = 2'), "layout", "more than one digits"),
    "two signs": (entry('name = "sign"\nmap = { "0" = "+" }'), "layout", "more than one sign"),
    "two units": (entry('name = "unit"\nmap = { "0" = "mm" }'), "layout", "more than one unit"),
    "two channels": (entry('name = "channel"'), "layout", "more than one channel"),
    "two decimals": (entry('name = "decimals"'), "layout", "more than one decimals"),
    "two checks": (entry('name = "check"\nkind = "xor"'), "layout", "more than one check"),
    "decimals twice": (
        bcd("nibbles = 6", "nibbles = 6\ndecimals = 3"),
        "layout[4].decimals",
        "the frame says them too",
    ),
    "decimals over": (
        bcd("nibbles = 6", "nibbles = 6\ndecimals = 7"),
        "layout[4].decimals",
        "0 to 6",
    ),
    "check first": (
        BCD.replace('[[layout]]\nname = "check"\nkind = "xor"\n', "").replace(
            '[[layout]]\nname = "status"',
            '[[layout]]\nname = "check"\nkind = "xor"\n[[layout]]\nname = "status"',
        ),
        "layout[1]",
        "does not cover",
    ),
    "resolution unit": (
        BCD + '[value]\nresolution = { mm = "0.001" }\n',
        "value.resolution",
        "'in'",
    ),
    # Modbus values
    "unit 0": (modbus("247", "0"), "modbus.unit_id", "none answers"),
    "unit 248": (modbus("247", "248"), "modbus.unit_id", "1 to 247"),
    "function 6": (modbus("function = 4", "function = 6"), "modbus.function", "6"),
    "address below": (modbus("65534", "-1"), "modbus.address", "0 to 65534"),
    "address over": (modbus("65534", "65535"), "modbus.address", "0 to 65534"),
    "address 40001 text": (modbus("65534", '"40001"'), "modbus.address", "str"),
    "count 1": (modbus("count = 2", "count = 1"), "modbus.count", "takes 2 registers, not 1"),
    "count 4": (modbus("count = 2", "count = 4"), "modbus.count", "takes 2 registers, not 4"),
    "count 16": (modbus("int32", "int16"), "modbus.count", "takes 1 register, not 2"),
    "no count": (modbus("count = 2\n", ""), "modbus.count", "required"),
    "type": (modbus("int32", "int64"), "modbus.type", "int64"),
    "words": (modbus("little", "middle"), "modbus.words", "middle"),
    "no words": (modbus('words = "little"\n', ""), "modbus.words", "no standard says"),
    "one word little": (
        modbus("count = 2", "count = 1").replace("int32", "uint16"),
        "modbus.words",
        "one word",
    ),
    "decimals 41": (modbus("decimals = 4", "decimals = 41"), "modbus.decimals", "0 to 40"),
    "decimals below": (modbus("decimals = 4", "decimals = -1"), "modbus.decimals", "0 to 40"),
    "float decimals": (
        modbus("decimals = 4\n", "").replace("int32", "float32"),
        "modbus.decimals",
        "required",
    ),
    "sentinel short": (modbus("8000000A", "8000"), "modbus.sentinel_hex", "8 hex digits"),
    "sentinel long": (modbus("8000000A", "8000000000"), "modbus.sentinel_hex", "8 hex digits"),
    "sentinel 0x": (modbus("8000000A", "0x800000"), "modbus.sentinel_hex", "8 hex digits"),
    "sentinel spaces": (modbus("8000000A", "80 00 00"), "modbus.sentinel_hex", "8 hex digits"),
    "sentinel number": (modbus('"8000000A"', "80000000"), "modbus.sentinel_hex", "int"),
    "sentinel no name": (
        modbus('sentinel_name = "no-signal"\n', ""),
        "modbus.sentinel_name",
        "needs a name",
    ),
    "sentinel only name": (
        modbus('sentinel_hex = "8000000A"\n', ""),
        "modbus.sentinel_name",
        "missing",
    ),
    "sentinel name": (modbus("no-signal", "no signal"), "modbus.sentinel_name", "not a name"),
    "reply 0": (MODBUS + "[trigger]\nreply_ms = 0\n", "trigger.reply_ms", "between"),
    "idle 0": (MODBUS + "[frame]\nidle_ms = 0\n", "frame.idle_ms", "between"),
}


@pytest.mark.parametrize(("text", "key", "reason"), REFUSED.values(), ids=REFUSED.keys())
def test_a_mistake_is_refused_with_file_key_and_reason(text: str, key: str, reason: str) -> None:
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "bench/t.toml")
    assert caught.value.key == key
    assert reason in caught.value.reason
    assert "bench/t.toml" in str(caught.value)
