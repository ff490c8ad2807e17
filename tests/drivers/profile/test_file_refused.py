"""A profile with a mistake is refused with its file, its key and the reason."""

from pathlib import Path

import pytest

from drivers.errors import ProfileError
from drivers.profile.file import parse_profile, read_profile

TOP = 'schema = 1\nid = "t"\nkind = "text"\n'
NUMBER = '[[layout]]\nname = "number"\nform = "fixed"\n'
GOOD = TOP + '[frame]\nend = "\\r\\n"\n' + NUMBER


def frame(keys: str) -> str:
    return TOP + f"[frame]\n{keys}\n" + NUMBER


def number(keys: str) -> str:
    return TOP + f'[[layout]]\nname = "number"\n{keys}\n'


def also(text: str) -> str:
    return GOOD + text + "\n"


def token(keys: str) -> str:
    return also(f"[[layout]]\n{keys}")


REFUSED: dict[str, tuple[str, str, str]] = {
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
    "title number": ("title = 1\n" + GOOD, "title", "str"),
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
    "tail true": (frame('end = "x"\ntail = true'), "frame.tail", "int"),
    "end number": (frame("end = 13"), "frame.end", "int"),
    "end list number": (frame('end = ["x", 13]'), "frame.end[2]", "int"),
    "frame text": ('frame = "x"\n' + TOP + NUMBER, "frame", "str"),
    "layout number": ("layout = [1]\n" + TOP, "layout[1]", "int"),
    "sentinel number": (also('[[sentinel]]\nvalue = 5\nname = "a"'), "sentinel[1].value", "int"),
    "min number": (also("[value]\nmin = 5"), "value.min", "int"),
    "width float": (number('form = "int"\nwidth = 1.5'), "layout[1].width", "float"),
    "baud text": (also('[link]\nbaud = "9600"'), "link.baud", "str"),
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
