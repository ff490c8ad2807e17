"""A profile file becomes a checked record: what it says, and what stands where it says nothing."""

from decimal import Decimal
from pathlib import Path

import pytest

from drivers.profile.file import parse_profile, read_profile
from drivers.profile.layout_spec import Lit, Number, Spaces
from drivers.profile.profile import SHIPPED, Link, Trigger

LEAST = 'schema = 1\nid = "least"\nkind = "text"\n[[layout]]\nname = "number"\nform = "fixed"\n'
FULL = r"""
schema = 1
id = "full-1"
title = "Messuhr für Wellen"
kind = "text"
[link]
transport = "rfc2217"
baud = 4800
bits = 7
parity = "E"
stop = 1.5
dtr = true
rts = false
[trigger]
send = "\u00ffQ\r\n"
reply_ms = 250
echo = true
[frame]
start_hex = "AA 01"
end = ["\r", "\n"]
tail = 1
idle_ms = 40
max_bytes = 16
trim = true
[check]
kind = "sum8"
form = "raw"
over = "payload+end"
[[layout]]
lit = "#"
[[layout]]
name = "channel"
chars = "digit"
width = [1, 2]
[[layout]]
sp = 1
[[layout]]
name = "number"
form = "fixed"
sep = ","
[[layout]]
name = "unit"
map = { M = "mm", I = "in" }
optional = true
[[layout]]
name = "flag"
map = { G = "in-tol", N = "", E = "!fault" }
[[layout]]
name = "bits"
width = 1
bits = { "0" = "hold", "3" = "!sensor" }
[conditions]
"ERR?" = "error"
"ERR1" = "overrange"
[[sentinel]]
value = "9.91E37"
name = "not-a-number"
[value]
unit = "um"
resolution = { mm = "0.001", in = "0.00005", um = "1" }
min = "-1.50"
max = "+2e1"
[repeat]
window_ms = 300
"""


def test_the_least_profile_has_the_defaults_of_the_schema() -> None:
    profile = parse_profile(LEAST, "least.toml")
    frame = profile.frame
    assert (frame.start, frame.ends, frame.tail, frame.length) == (b"", (), 0, None)
    assert (frame.idle_ms, frame.max_bytes, frame.mask7, frame.trim) == (500, 64, False, False)
    assert profile.link == Link(transport="serial", baud=9600, bits=8, parity="N", stop=1)
    assert profile.trigger == Trigger(b"", 1000, False)
    assert (profile.check, profile.conditions, profile.sentinels) == (None, (), ())
    assert (profile.unit, profile.least, profile.most) == ("", None, None)
    assert profile.repeat_window_ms == 0
    assert profile.resolution_in("") is None


def test_frame_and_link_are_as_written() -> None:
    profile = parse_profile(FULL, "full-1.toml")
    frame, link = profile.frame, profile.link
    assert (profile.id, profile.title) == ("full-1", "Messuhr für Wellen")
    assert (frame.start, frame.ends, frame.listed) == (b"\xaa\x01", (b"\r", b"\n"), True)
    assert (frame.tail, frame.idle_ms, frame.max_bytes, frame.trim) == (1, 40, 16, True)
    assert (link.transport, link.baud, link.bits, link.parity) == ("rfc2217", 4800, 7, "E")
    assert (link.stop, link.dtr, link.rts) == (1.5, True, False)


def test_a_request_is_taken_as_latin_1_bytes() -> None:
    assert parse_profile(FULL, "f").trigger == Trigger(b"\xffQ\r\n", 250, True)


def test_a_single_end_is_no_list() -> None:
    text = LEAST.replace("[[layout]]", '[frame]\nend = "\\r"\n[[layout]]')
    frame = parse_profile(text, "f").frame
    assert (frame.ends, frame.listed) == ((b"\r",), False)


def test_values_are_exact_decimals() -> None:
    profile = parse_profile(FULL, "f")
    assert (profile.least, profile.most) == (Decimal("-1.50"), Decimal(20))
    assert profile.sentinels == ((Decimal("9.91E37"), "not-a-number"),)
    assert profile.resolution_in("in") == Decimal("0.00005")


def test_tokens_stand_in_the_order_of_the_file() -> None:
    layout = parse_profile(FULL, "f").layout
    assert layout[0] == Lit(lit="#")
    assert layout[2] == Spaces(sp=1)
    assert layout[3] == Number(name="number", form="fixed", sep=",")
    assert len(layout) == 7


def test_a_profile_knows_what_its_readings_can_carry() -> None:
    full, least = parse_profile(FULL, "f"), parse_profile(LEAST, "f")
    assert full.units() == ("in", "mm", "um")
    assert full.statuses() == {"in-tol", "hold"}
    assert full.has_channel()
    assert (least.units(), least.statuses(), least.has_channel()) == (("",), frozenset(), False)


def test_a_unit_that_is_always_sent_leaves_no_room_for_the_declared_one() -> None:
    sent = FULL.replace("optional = true\n", "")
    assert parse_profile(sent, "f").units() == ("in", "mm")


def test_the_most_literal_condition_is_tried_first() -> None:
    profile = parse_profile(FULL, "f")
    assert profile.condition("ERR1") == "overrange"
    assert profile.condition("ERR2") == "error"
    assert profile.condition("ERR") is None
    assert profile.condition("ERR12") is None


def test_the_text_of_the_file_is_kept_for_the_record(tmp_path: Path) -> None:
    path = tmp_path / "full-1.toml"
    path.write_text(FULL, encoding="utf-8")
    assert read_profile(path).text == FULL
    assert read_profile(path) == parse_profile(FULL, str(path))


@pytest.mark.parametrize("form", ["int", "fixed", "exp", "nrf", "fraction"])
def test_every_form_needs_nothing_but_its_name(form: str) -> None:
    text = LEAST.replace("fixed", form)
    assert parse_profile(text, "f").layout == (Number(name="number", form=form),)  # type: ignore[arg-type]  # one of the forms by the table above


def test_profiles_come_with_the_program_and_bear_the_name_of_their_file() -> None:
    files = sorted(SHIPPED.glob("*.toml"))
    assert files
    assert [read_profile(file).id for file in files] == [file.stem for file in files]
