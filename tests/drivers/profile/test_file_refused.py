"""A profile with a mistake is refused with its file, its key and the reason."""

from pathlib import Path
from typing import TypeAlias

import pytest

from drivers.errors import ProfileError
from drivers.profile.file import parse_profile, read_profile
from tests.drivers.profile.texts import (
    BCD,
    GOOD,
    MODBUS,
    NUMBER,
    TEXT,
    TOP,
    UNIT,
    also,
    bcd,
    entry,
    frame,
    modbus,
    number,
    token,
)

Mistake: TypeAlias = tuple[str, str, str]
"""A profile, the key at fault, and words of the reason."""

IN_TABLES: dict[str, Mistake] = {
    # the head
    "no schema": (GOOD.replace("schema = 1\n", ""), "schema", "schema 1"),
    "schema 2": (GOOD.replace("schema = 1", "schema = 2"), "schema", "schema 1"),
    "schema true": (GOOD.replace("schema = 1", "schema = true"), "schema", "schema 1"),
    "schema text": (GOOD.replace("schema = 1", 'schema = "1"'), "schema", "schema 1"),
    "schema 1.0": (GOOD.replace("schema = 1", "schema = 1.0"), "schema", "int"),
    "no id": (GOOD.replace('id = "t"\n', ""), "id", "required"),
    "id capital": (GOOD.replace('"t"', '"T"'), "id", "a-z"),
    "id slash": (GOOD.replace('"t"', '"../t"'), "id", "a-z"),
    "id newline": (GOOD.replace('"t"', '"t\\n"'), "id", "a-z"),
    "id empty": (GOOD.replace('"t"', '""'), "id", "a-z"),
    "no kind": (GOOD.replace('kind = "text"\n', ""), "kind", "required"),
    "kind unknown": (GOOD.replace('"text"', '"binary"'), "kind", "'text', 'bcd', 'modbus-rtu'"),
    "kind list": (GOOD.replace('"text"', '["text"]'), "kind", "not read by this version"),
    "title number": ("title = 1\n" + GOOD, "title", "write text in quotes"),
    # unknown keys, at each level
    "unknown top": ("speed = 1\n" + GOOD, "speed", "unknown key"),
    "unknown table": (also("[binary]\norder = 1"), "binary", "unknown key"),
    "unknown link": (also("[link]\nspeed = 1"), "link.speed", "unknown key"),
    "unknown trigger": (also('[trigger]\nsend = "Q"\nx = 1'), "trigger.x", "unknown key"),
    "unknown frame": (frame("stop = 1"), "frame.stop", "unknown key"),
    "unknown check": (
        also('[check]\nkind = "xor8"\nform = "hex2"\nx = 1'),
        "check.x",
        "unknown key",
    ),
    "unknown value": (also("[value]\nx = 1"), "value.x", "unknown key"),
    "unknown repeat": (also("[repeat]\nwindow_ms = 1\nx = 1"), "repeat.x", "unknown key"),
    "unknown sentinel": (
        also('[[sentinel]]\nvalue = "1"\nname = "a"\nx = 1'),
        "sentinel[1].x",
        "unknown key",
    ),
    "unknown in lit": (token('lit = "#"\nx = 1'), "layout[2].x", "unknown key"),
    "unknown in sp": (token("sp = 1\noptional = true"), "layout[2].optional", "unknown key"),
    "unknown in unit": (token('name = "unit"\nmap = {m = "m"}\nx = 1'), "layout[2].x", "unknown"),
    # unknown words
    "unknown token": (token('name = "colour"'), "layout[2].name", "unknown"),
    "token number": (token("name = 1"), "layout[2].name", "unknown"),
    "no token": (token("optional = true"), "layout[2]", "exactly one of"),
    "two tokens": (token('lit = "#"\nsp = 1'), "layout[2]", "exactly one of"),
    "unknown form": (number('form = "roman"'), "layout[1].form", "roman"),
    "unknown sign": (number('form = "int"\nsign = "maybe"'), "layout[1].sign", "maybe"),
    "unknown check kind": (
        also('[check]\nkind = "crc"\nform = "hex2"'),
        "check.kind",
        "crc",
    ),
    "unknown transport": (also('[link]\ntransport = "ble"'), "link.transport", "ble"),
    "unknown parity": (also('[link]\nparity = "even"'), "link.parity", "even"),
    "bits 9": (also("[link]\nbits = 9"), "link.bits", "9"),
    "stop 3": (also("[link]\nstop = 3"), "link.stop", "1.5"),
    "baud 0": (also("[link]\nbaud = 0"), "link.baud", "between"),
    # wrong types
    "tail true": (
        frame('end = "x"\ntail = true'),
        "frame.tail",
        "write a whole number, not true or false",
    ),
    "end number": (frame("end = 13"), "frame.end", "not a number"),
    "end list number": (frame('end = ["x", 13]'), "frame.end[2]", "write text in quotes"),
    "frame text": ('frame = "x"\n' + TOP + NUMBER, "frame", "write a table, not text"),
    "layout number": ("layout = [1]\n" + TOP, "layout[1]", "write a table, not a number"),
    "sentinel number": (
        also('[[sentinel]]\nvalue = 5\nname = "a"'),
        "sentinel[1].value",
        "write text in quotes",
    ),
    "min number": (also("[value]\nmin = 5"), "value.min", "write text in quotes"),
    "width float": (
        number('form = "int"\nwidth = 1.5'),
        "layout[1].width",
        "not a number with a point",
    ),
    "baud text": (also('[link]\nbaud = "9600"'), "link.baud", "write a whole number, not text"),
    # frames whose keys do not fit together
    "length end": (frame('length = 9\nend = "x"'), "frame.length", "without end"),
    "length max_bytes": (frame("length = 9\nmax_bytes = 9"), "frame.max_bytes", "not used"),
    "length of start": (frame('length = 2\nstart = "ab"'), "frame.length", "3 to 4096"),
    "length huge": (frame("length = 4097"), "frame.length", "1 to 4096"),
    "tail no end": (frame("tail = 1"), "frame.tail", "need an end"),
    "tail length": (frame("length = 9\ntail = 1"), "frame.tail", "need an end"),
    "two starts": (frame('start = "a"\nstart_hex = "61"'), "frame.start_hex", "start is given"),
    "start empty": (frame('start = ""'), "frame.start", "1 to 16"),
    "start_hex empty": (frame('start_hex = ""'), "frame.start_hex", "1 to 16"),
    "start_hex odd": (frame('start_hex = "A"'), "frame.start_hex", "hex digits"),
    "start_hex mask7": (frame('start_hex = "AA"\nmask7 = true'), "frame.start_hex", "mask7"),
    "end empty": (frame('end = ""'), "frame.end", "1 to 16"),
    "end empty list": (frame("end = []"), "frame.end", "empty list"),
    "end twice": (frame('end = ["\\r", "\\r"]'), "frame.end", "twice"),
    "idle 0": (frame("idle_ms = 0"), "frame.idle_ms", "between"),
    "max_bytes 0": (frame("max_bytes = 0"), "frame.max_bytes", "1 to 4096"),
    "max_bytes huge": (frame("max_bytes = 4097"), "frame.max_bytes", "1 to 4096"),
    # check
    "raw no tail": (also('[check]\nkind = "xor8"\nform = "raw"'), "check.form", "frame.tail = 1"),
    "raw two tails": (
        frame('end = "x"\ntail = 2') + '[check]\nkind = "xor8"\nform = "raw"\n',
        "check.form",
        "frame.tail = 1",
    ),
    "raw sep": (
        frame('end = "x"\ntail = 1') + '[check]\nkind = "xor8"\nform = "raw"\nsep = "*"\n',
        "check.sep",
        "hex2",
    ),
    "hex2 over end": (
        also('[check]\nkind = "xor8"\nform = "hex2"\nover = "payload+end"'),
        "check.over",
        "form raw",
    ),
    "hex2 sep ascii": (
        also('[check]\nkind = "xor8"\nform = "hex2"\nsep = "§"'),
        "check.sep",
        "ASCII",
    ),
    # request
    "send missing": (also("[trigger]\necho = true"), "trigger.send", "required"),
    "send empty": (also('[trigger]\nsend = ""'), "trigger.send", "1 to 256"),
    "send wide": (also('[trigger]\nsend = "€"'), "trigger.send", "U+00FF"),
    "echo of nothing": (also('[trigger]\nsend = "\\r"\necho = true'), "trigger.echo", "line ends"),
    "reply 0": (also('[trigger]\nsend = "Q"\nreply_ms = 0'), "trigger.reply_ms", "between"),
}

IN_TOKENS_AND_VALUES: dict[str, Mistake] = {
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

IN_OTHER_KINDS: dict[str, Mistake] = {
    # keys of another kind
    "text bcd": (TEXT + '[bcd]\norder = "low-first"\n', "bcd", "goes with kind bcd, not with text"),
    "text modbus": (TEXT + "[modbus]\ncount = 1\n", "modbus", "goes with kind modbus-rtu"),
    "bcd modbus": (BCD + "[modbus]\ncount = 1\n", "modbus", "goes with kind modbus-rtu"),
    "bcd check": (BCD + '[check]\nkind = "xor8"\nform = "hex2"\n', "check", "layout token"),
    "bcd conditions": (BCD + '[conditions]\nE = "e"\n', "conditions", "goes with kind text"),
    "bcd end": (bcd("length = 8", 'end = "x"'), "frame.end", "its length is fixed"),
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
    "bcd no length": (bcd("length = 8\n", ""), "frame.length", "needs the number of bytes"),
    "modbus no table": (MODBUS.split("[modbus]", maxsplit=1)[0], "modbus", "needs this table"),
    "modbus table": (
        "modbus = 1\n" + MODBUS.split("[modbus]", maxsplit=1)[0],
        "modbus",
        "write a table, not a number",
    ),
    "modbus unknown": (modbus("count", "x = 1\ncount"), "modbus.x", "unknown key"),
    "link text": ("link = 1\n" + MODBUS, "link", "write a table, not a number"),
    "frame text": ("frame = 1\n" + MODBUS, "frame", "write a table, not a number"),
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
        "the layout says them too",
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
    "address 40001 text": (
        modbus("65534", '"40001"'),
        "modbus.address",
        "write a whole number, not text",
    ),
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
    "sentinel number": (
        modbus('"8000000A"', "80000000"),
        "modbus.sentinel_hex",
        "write text in quotes",
    ),
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

REFUSED = {
    f"{part}: {name}": mistake
    for part, mistakes in (
        ("tables", IN_TABLES),
        ("tokens", IN_TOKENS_AND_VALUES),
        ("kinds", IN_OTHER_KINDS),
    )
    for name, mistake in mistakes.items()
}


@pytest.mark.parametrize(("text", "key", "reason"), REFUSED.values(), ids=REFUSED.keys())
def test_a_mistake_is_refused_with_file_key_and_reason(text: str, key: str, reason: str) -> None:
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "bench/t.toml")
    assert caught.value.key == key
    assert reason in caught.value.reason
    assert "bench/t.toml" in str(caught.value)
    assert f"key {key}:" in str(caught.value)


@pytest.mark.parametrize("text", [GOOD, TEXT, BCD, MODBUS])
def test_the_profiles_that_the_mistakes_are_made_in_are_good(text: str) -> None:
    assert parse_profile(text, "t.toml").id == "t"


# --- files that are no profile at all ---


def refused(path: Path) -> ProfileError:
    with pytest.raises(ProfileError) as caught:
        read_profile(path)
    assert str(path) in str(caught.value)
    return caught.value


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    assert "No such file" in refused(tmp_path / "missing.toml").reason


def test_a_folder_is_no_profile(tmp_path: Path) -> None:
    assert "cannot be read" in refused(tmp_path).reason


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"title = '\xff'\n", "not UTF-8"),
        (b"schema = \n", "not a TOML file"),
        (b"schema = 1\nschema = 1\n", "not a TOML file"),
        (b"x = " + b"[" * 30_000, "not a TOML file"),  # deeper than the parser can follow
        (b"x = " + b"9" * 5000, "not a TOML file"),  # longer than Python turns into a number
        (b"#" * 65_537, "longer than 64 KiB"),
    ],
    ids=["latin-1", "no value", "key twice", "deep", "long number", "long file"],
)
def test_a_file_that_is_no_profile_says_why(tmp_path: Path, data: bytes, reason: str) -> None:
    path = tmp_path / "t.toml"
    path.write_bytes(data)
    assert reason in refused(path).reason


def test_a_file_of_the_greatest_length_is_read(tmp_path: Path) -> None:
    path = tmp_path / "t.toml"
    path.write_text(GOOD + "#" * (65_536 - len(GOOD)))
    assert read_profile(path).id == "t"


def test_an_unreadable_file_names_itself_and_no_key(tmp_path: Path) -> None:
    error = refused(tmp_path / "missing.toml")
    assert (error.file, error.key) == (str(tmp_path / "missing.toml"), "")
