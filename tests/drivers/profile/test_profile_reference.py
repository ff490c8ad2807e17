"""The reference of profile schema 1, the docstring of its package, against the program."""

import ast
import inspect
import re
import tomllib
from typing import Any, Literal, get_args, get_origin

import msgspec
import pytest

import drivers.profile
from drivers.dialects.codec import codec_for
from drivers.profile import file as profile_file
from drivers.profile.bcd_checks import BcdKeys
from drivers.profile.bcd_spec import NIBBLES
from drivers.profile.file import parse_profile
from drivers.profile.frame_checks import FrameKeys, TriggerKeys
from drivers.profile.kinds import KINDS, check_keys
from drivers.profile.layout_spec import NAMED, Lit, Number, Spaces
from drivers.profile.modbus_checks import ModbusKeys
from drivers.profile.profile import CheckCharacter, Link, Profile
from drivers.reading import Instant, Outcome, Reading, Reject, plain
from drivers.toml_file import WrongKey
from tests.places import ROOT

REFERENCE = inspect.cleandoc(drivers.profile.__doc__ or "")
LEFT_OUT, REQUIRED = "may be left out", "required"

Key = tuple[str, str]
"""What it is if left out, and the kinds that it goes with ("" for all)."""


def keys_in(text: str) -> dict[str, Key]:
    """The keys that a part of the reference lists."""
    found = re.findall(r"^- `(\w+)` \(([^;)]*)(?:; ([^)]*))?\):", text, re.MULTILINE)
    return {key: (default, kinds) for key, default, kinds in found}


def parts() -> dict[str, str]:
    """Headings to what stands below them; tokens as `text lit`, `bcd digits`."""
    found: dict[str, str] = {}
    kind = ""
    for part in re.split(r"^##", REFERENCE, flags=re.MULTILINE)[1:]:
        heading, _, text = part.partition("\n")
        if heading.startswith("#"):
            heading = f"{kind} {heading[1:].strip()}"
        elif "layout" in heading:
            kind = heading.split()[-1]
        found[heading.strip()] = text
    return found


PARTS = parts()
TABLES = {
    "`[link]`": Link,
    "`[trigger]`": TriggerKeys,
    "`[frame]`": FrameKeys,
    "`[check]`": CheckCharacter,
    "`[bcd]`": BcdKeys,
    "`[modbus]`": ModbusKeys,
    "`[[sentinel]]`": profile_file.SentinelKeys,
    "`[value]`": profile_file.ValueKeys,
    "`[repeat]`": profile_file.RepeatKeys,
}
TOKENS = (
    {"text lit": Lit, "text sp": Spaces}
    | {f"text {name}": kind for name, kind in NAMED.items()}
    | {f"bcd {name}": kind for name, kind in NIBBLES.items()}
)
WITHOUT_KEYS = {
    *("`[[layout]]`, kind text", "`[[layout]]`, kind bcd", "`[conditions]`, kind text"),
    *("Order of tests", "Codes"),
}
GIVEN_LATER = {"max_bytes": 64, "decimals": 0, "sep": ".", "send": REQUIRED}
"""Keys that the records leave open, because the kind or another key decides."""


def test_every_part_is_one_of_the_programs_and_the_other_way_round() -> None:
    assert set(PARTS) == {"File", *TABLES, *TOKENS, *WITHOUT_KEYS}
    assert all(not keys_in(PARTS[heading]) for heading in WITHOUT_KEYS - {"Order of tests"})


@pytest.mark.parametrize("heading", [*TABLES, *TOKENS])
def test_the_keys_are_those_that_are_read_and_no_other(heading: str) -> None:
    record = (TABLES | TOKENS)[heading]
    assert set(keys_in(PARTS[heading])) == set(record.__struct_fields__) - {"name"} | (
        {"name"} if heading == "`[[sentinel]]`" else set()
    )


def test_the_files_own_keys_and_tables_are_those_that_are_read() -> None:
    tables = {re.findall(r"\w+", heading)[0] for heading in PARTS if "[" in heading}
    assert {*keys_in(PARTS["File"]), *tables} == set(profile_file.ProfileKeys.__struct_fields__)


@pytest.mark.parametrize("heading", ["File", *TABLES, *TOKENS])
def test_what_a_key_is_if_left_out_is_what_is_read_then(heading: str) -> None:
    record: Any = profile_file.ProfileKeys if heading == "File" else (TABLES | TOKENS)[heading]
    fields = {field.name: field for field in msgspec.structs.fields(record)}
    for key, (said, _) in keys_in(PARTS[heading]).items():
        field = fields[key]
        if field.required:
            assert said == REQUIRED, key
        elif field.default is None and key in GIVEN_LATER and said != LEFT_OUT:
            assert said in (GIVEN_LATER[key], _toml(GIVEN_LATER[key])), key
        elif field.default is None:
            assert said == LEFT_OUT, key
        else:
            assert tomllib.loads(f"x = {said}") == {"x": field.default}, key


def _toml(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


@pytest.mark.parametrize("heading", ["File", *TABLES, *TOKENS])
def test_every_word_that_a_key_may_say_is_named(heading: str) -> None:
    record: Any = profile_file.ProfileKeys if heading == "File" else (TABLES | TOKENS)[heading]
    items = re.split(r"^- ", PARTS[heading], flags=re.MULTILINE)
    for field in msgspec.structs.fields(record):
        said = next((item for item in items if item.startswith(f"`{field.name}`")), "")
        words = get_args(field.type) if get_origin(field.type) is Literal else ()
        if field.name not in ("name", "form", "bits"):  # the heading, a table and a range
            assert [str(word) for word in words if str(word) not in said] == [], field.name


def test_what_is_decided_later_is_decided_as_the_reference_says() -> None:
    number = '[[layout]]\nname = "number"\nform = "fixed"\n'
    profile = parse_profile(f'schema = 1\nid = "t"\nkind = "text"\n{number}', "t")
    assert profile.frame.max_bytes == 64
    (only,) = closed(profile, b"1.5")  # a point
    assert isinstance(only, Reading)
    registers = 'unit_id = 1\nfunction = 3\naddress = 0\ncount = 1\ntype = "int16"\n'
    text = f'schema = 1\nid = "t"\nkind = "modbus-rtu"\n[modbus]\n{registers}'
    profile = parse_profile(text, "t")
    assert profile.modbus is not None
    assert (profile.modbus.decimals, profile.link.baud, profile.link.parity) == (0, 19200, "E")


def closed(profile: Profile, data: bytes) -> list[Outcome]:
    """The outcomes of bytes and a long silence."""
    codec = codec_for(profile)
    return [*codec.feed(data, Instant(0, 0)), *codec.idle(Instant(0, 10**12))]


@pytest.mark.parametrize("heading", ["File", *TABLES])
def test_a_key_goes_with_the_kinds_that_the_reference_names(heading: str) -> None:
    outer = re.findall(r"\w+", heading)[0]
    for key, (_, said) in keys_in(PARTS[heading]).items():
        fits = set(KINDS)
        for kind in KINDS:
            table: dict[str, Any] = {"bcd": {}} if kind == "bcd" else {}
            table |= {"modbus": {}} if kind == "modbus-rtu" else {}
            if heading != "File":
                table.setdefault(outer, {})[key] = 1
            try:
                check_keys(table, kind)
            except WrongKey:
                fits.discard(kind)
        assert fits == (set(said.split(", ")) if said else set(KINDS)), key


def test_the_forms_of_numbers_are_those_that_are_read() -> None:
    listed = re.findall(r"^\| (\w+) \|", PARTS["text number"], re.MULTILINE)
    hints = msgspec.structs.fields(Number)
    (form,) = [field.type for field in hints if field.name == "form"]
    assert listed[1:] == list(get_args(form))


def test_the_codes_are_those_that_the_dialects_give() -> None:
    given: set[str] = set()
    for path in (ROOT / "drivers").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args:
                if node.func.id in ("Bad", "Miss", "Flaw", "_Skip", "Reject"):
                    given |= set(_texts(node.args[0]))
                elif node.func.id == "rejected":
                    given |= set(_texts(node.args[1]))
    listed = re.findall(r"`([\w.-]+)`", PARTS["Codes"].split("Sources")[0])
    assert given - {"gauge.not-a-number"} == {re.sub("(NAME|NN)$", "", code) for code in listed}


def _texts(node: ast.expr) -> list[str]:
    """The words that an expression can be: of an f-string its beginning."""
    match node:
        case ast.Constant(value=str(text)):
            return [text]
        case ast.JoinedStr(values=[ast.Constant(value=str(text)), *_]):
            return [text]
    return []


EXAMPLE = parse_profile(REFERENCE.split("```toml\n")[1].split("```")[0], "reference")


@pytest.mark.parametrize(
    ("payload", "outcome"),
    [
        (b"#1  +   12.345", "12.345 mm 1"),
        (b"#2  +   12.345 in H", "12.345 in 2 hold"),
        (b"#1  +    0.000", "0.000 mm 1"),  # the least value, itself allowed
        (b"#1  +  100.000", "100.000 mm 1"),  # and the greatest
        (b"#1  +  100.001", "range"),
        (b"#3  +   12.345", "channel"),
        (b"#1   +   12.345", "12.345 mm 1"),
        (b"#1    +   12.345", "syntax"),  # four spaces
        (b"#1  +   12,345", "separator"),
        (b"#1  +   12.345 E", "gauge.no-signal"),
    ],
)
def test_the_example_reads_what_it_says(payload: bytes, outcome: str) -> None:
    (only,) = closed(EXAMPLE, payload + b"\r\n")
    if isinstance(only, Reject):
        assert only.code == outcome
    else:
        told = (plain(only.value), only.unit, only.channel or "", *only.flags)
        assert " ".join(told) == outcome


@pytest.mark.parametrize(
    ("text", "value", "resolution"),
    [
        ("3/8", "0.375", "0.125"),
        ("1 3/8", "1.375", "0.125"),
        ("2/8", "0.25", "0.125"),
        ("2", "2", "1"),
    ],
)
def test_the_resolution_of_a_fraction_is_one_part_of_the_denominator_sent(
    text: str, value: str, resolution: str
) -> None:
    number = '[[layout]]\nname = "number"\nform = "fraction"\n'
    profile = parse_profile(f'schema = 1\nid = "t"\nkind = "text"\n{number}', "t")
    (only,) = closed(profile, text.encode())
    assert isinstance(only, Reading)
    assert (plain(only.value), plain(only.resolution)) == (value, resolution)
