"""The file of one gauge: what it may say, and what it is refused for."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.equipment.gauge import Gauge, parse_gauge, read_gauge
from daq.errors import SettingsError
from daq.lengths import Length

WHOLE = """\
schema = 1
profile = "number-unit-crlf"
port = "/dev/ttyUSB0"
identity = "1209:0001:A17"
resolution = "0.001 mm"
permitted_error = "0.00015 in"
range = ["50 mm", "75 mm"]
certificate = "K-2026-114"
due = 2027-03-31
"""
SHORT = 'schema = 1\nprofile = "p"\nport = "/dev/ttyUSB0"\n'


def test_a_whole_gauge_file_reads_as_it_says() -> None:
    assert parse_gauge(WHOLE, "m50-75", "m50-75.toml") == Gauge(
        name="m50-75",
        text=WHOLE,
        profile="number-unit-crlf",
        port="/dev/ttyUSB0",
        identity="1209:0001:A17",
        resolution=Length(Decimal("0.001"), "mm"),
        permitted_error=Length(Decimal("0.00015"), "in"),
        range=(Length(Decimal(50), "mm"), Length(Decimal(75), "mm")),
        certificate="K-2026-114",
        due=date(2027, 3, 31),
    )


def test_a_profile_and_a_port_are_enough() -> None:
    gauge = parse_gauge(SHORT, "g", "g.toml")
    assert (gauge.profile, gauge.port) == ("p", "/dev/ttyUSB0")
    assert (gauge.resolution, gauge.permitted_error, gauge.range) == (None, None, None)
    assert (gauge.identity, gauge.certificate, gauge.due) == (None, None, None)
    assert gauge.pitch is None


def test_where_a_person_types_no_profile_is_needed() -> None:
    gauge = parse_gauge('schema = 1\nport = "typed:"\n', "g", "g.toml")
    assert (gauge.profile, gauge.port) == ("typed-by-hand", "typed:")


@pytest.mark.parametrize("where", ['port = "/dev/ttyUSB0"', 'identity = "usb:1209:0001"', ""])
def test_elsewhere_a_missing_profile_is_refused(where: str) -> None:
    with pytest.raises(SettingsError, match="key profile: this key is required"):
        parse_gauge(f"schema = 1\n{where}\n", "g", "g.toml")


@pytest.mark.parametrize(
    ("text", "mm"), [("0.1 mm", "0.1"), ("0.5 mm", "0.5"), ("0.025 in", "0.635"), ("5 mm", "5")]
)
def test_the_pitch_of_the_screw_is_a_length(text: str, mm: str) -> None:
    pitch = parse_gauge(f'{SHORT}pitch = "{text}"\n', "g", "g.toml").pitch
    assert pitch is not None
    assert pitch.mm == Decimal(mm)


def test_a_recorded_pitch_that_nobody_would_write_is_read_all_the_same() -> None:
    assert str(read_gauge(SHORT + 'pitch = "9 mm"\n', "g", "x").pitch) == "9 mm"


def test_an_identity_may_stand_in_place_of_a_port() -> None:
    gauge = parse_gauge('schema = 1\nprofile = "p"\nidentity = "A17"\n', "g", "g.toml")
    assert (gauge.port, gauge.identity) == (None, "A17")


def test_a_permitted_error_in_inches_is_exact_mm() -> None:
    # 0.00015 x 25.4
    gauge = parse_gauge(WHOLE, "g", "g.toml")
    assert gauge.permitted_error is not None
    assert gauge.permitted_error.mm == Decimal("0.00381")


def test_a_range_may_be_written_in_two_units() -> None:
    # 3 in = 76.2 mm, above 50 mm
    text = SHORT + 'range = ["50 mm", "3 in"]\n'
    found = parse_gauge(text, "g", "g.toml").range
    assert found is not None
    assert found[1].mm == Decimal("76.2")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("schema = 1", "", "schema"),
        ("schema = 1", "schema = 2", "schema"),
        ("schema = 1", "schema = true", "schema"),
        ("schema = 1", 'schema = "1"', "schema"),
        ('profile = "p"', "", "profile"),
        ('profile = "p"', "profile = 1", "profile"),
        ('port = "/dev/ttyUSB0"', "", "key port: write a port or an identity"),
        ('port = "/dev/ttyUSB0"', "port = 0", "port"),
        ("", "colour = 1", "key colour: unknown key"),
        ("", "[check]\nx = 1", "key check: unknown key"),
        ("", 'resolution = "0.001"', "key resolution: '0.001' is not a length with its unit"),
        ("", 'resolution = "0 mm"', "key resolution: 0 mm is not above zero"),
        ("", "resolution = 0.001", "resolution"),
        ("", 'pitch = "0.5"', "key pitch: '0.5' is not a length with its unit"),
        ("", 'pitch = "0.0999 mm"', "key pitch: 0.0999 mm is no pitch of a measuring screw"),
        ("", 'pitch = "5.1 mm"', "(0.1 to 5 mm): how far one turn goes"),
        ("", 'pitch = "-0.5 mm"', "key pitch: -0.5 mm is no pitch"),
        ("", "pitch = 0.5", "pitch"),
        ("", 'permitted_error = "-1 um"', "key permitted_error: -1 um is not above zero"),
        ("", 'permitted_error = "nan mm"', "key permitted_error"),
        ("", 'range = ["50 mm"]', "range"),
        ("", 'range = ["50 mm", "75 mm", "100 mm"]', "range"),
        ("", 'range = "50 mm"', "range"),
        ("", 'range = ["75 mm", "50 mm"]', "key range: 75 mm is not under 50 mm"),
        ("", 'range = ["50 mm", "50 mm"]', "key range: 50 mm is not under 50 mm"),
        ("", 'range = ["0 mm", "25 mm"]', "key range: 0 mm is not above zero"),
        ("", 'due = "soon"', "due"),
        ("", "due = 1", "due"),
        ("", "certificate = 114", "certificate"),
        ("", "x = [", "not a TOML file"),
        ("", "x = " + "[" * 10_000, "not a TOML file"),
        ("", "x = " + "9" * 10_000, "not a TOML file"),
    ],
)
def test_a_gauge_file_is_refused_naming_the_file_and_the_key(old: str, new: str, said: str) -> None:
    text = SHORT.replace(old, new) if old else SHORT + new + "\n"
    with pytest.raises(SettingsError) as caught:
        parse_gauge(text, "g", "shop/g.toml")
    assert "shop/g.toml" in str(caught.value)
    assert said in str(caught.value)


@pytest.mark.parametrize("text", [WHOLE, SHORT, SHORT + "continuous = true\n"])
def test_a_recorded_gauge_file_reads_as_the_checked_one(text: str) -> None:
    assert read_gauge(text, "g", "x") == parse_gauge(text, "g", "x")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('port = "/dev/ttyUSB0"', ""),
        ("", "colour = 1"),
        ("", 'resolution = "0 mm"'),
        ("", 'permitted_error = "-1 um"'),
        ("", 'range = ["75 mm", "50 mm"]'),
        ("", 'range = ["0 mm", "25 mm"]'),
    ],
)
def test_what_a_rule_refuses_is_read_of_a_record_nevertheless(old: str, new: str) -> None:
    text = SHORT.replace(old, new) if old else f"{SHORT}{new}\n"
    assert read_gauge(text, "g", "x").profile == "p"
    with pytest.raises(SettingsError):
        parse_gauge(text, "g", "x")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("schema = 1", "schema = 2", "key schema"),
        ('profile = "p"', "", "key profile: this key is required"),
        ('port = "/dev/ttyUSB0"', "port = 0", "key port"),
        ('port = "/dev/ttyUSB0"', 'resolution = "0.001"', "key resolution: '0.001' is not a leng"),
        ('port = "/dev/ttyUSB0"', 'range = ["50", "75 mm"]', "key range: '50' is not a length"),
        ('port = "/dev/ttyUSB0"', "x = [", "not a TOML file"),
    ],
)
def test_what_is_no_gauge_file_is_not_read(old: str, new: str, said: str) -> None:
    with pytest.raises(SettingsError) as caught:
        read_gauge(SHORT.replace(old, new), "g", "the gauge file in the ledger")
    assert str(caught.value).startswith("the gauge file in the ledger")
    assert said in str(caught.value)


@given(st.integers(0, len(WHOLE)), st.integers(0, 20), st.text(max_size=6))
def test_a_spoiled_gauge_file_is_a_gauge_or_a_settings_error(
    start: int, length: int, piece: str
) -> None:
    text = WHOLE[:start] + piece + WHOLE[start + length :]
    said = text
    try:
        said = parse_gauge(text, "g", "g.toml").text
    except SettingsError as error:
        said = str(error)
        text = "g.toml"
    assert text in said
