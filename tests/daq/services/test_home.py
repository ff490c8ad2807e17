"""The home folder: where things live, what a session is called, and names that stay inside it."""

import re
from pathlib import Path

import pytest

from daq.errors import SettingsError
from daq.services.home import home_folder, load_gauge, load_profile, new_session_id, saved_stack
from drivers.errors import ProfileError
from drivers.profile.profile import SHIPPED

GAUGE = 'schema = 1\nprofile = "number-unit-crlf"\nport = "/dev/ttyUSB0"\n'

HOSTILE = [
    "",
    ".",
    "..",
    "../m1",
    "a/b",
    "/etc/passwd",
    "a\x00b",
    "m1\n",
    ".hidden",
    "-x",
    "a" * 81,
]


def put(path: Path, text: str | bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_the_option_goes_before_the_environment(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("JBRIDGE_HOME", str(tmp_path / "variable"))
    assert home_folder(str(tmp_path / "option")) == tmp_path / "option"
    assert home_folder(None) == tmp_path / "variable"


def test_without_either_home_is_the_platforms_data_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("JBRIDGE_HOME", raising=False)
    monkeypatch.setattr("platformdirs.user_data_dir", lambda name, appauthor: str(tmp_path / name))
    assert home_folder(None) == tmp_path / "journalbridge"


def test_a_tilde_is_the_users_own_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    assert home_folder("~/gauges") == tmp_path / "gauges"


def test_a_session_is_called_by_utc_time_and_four_letters() -> None:
    # 2026-11-25 is day 20 782 after 1970-01-01: 56 years x 365 = 20 440, 14 leap days from 1972 to
    # 2024, and 328 days from 1 January to 25 November. 20 782 x 86 400 s + 8 h = 1 795 593 600 s.
    name = new_session_id(1_795_593_600_000_000)
    assert re.fullmatch(r"20261125T080000Z-[a-z]{4}", name)


def test_two_sessions_of_one_second_have_different_names() -> None:
    # 26^4 = 456 976 endings: forty times the same one does not happen by chance
    assert len({new_session_id(0) for _ in range(40)}) > 1


def test_a_gauge_is_read_from_its_file(tmp_path: Path) -> None:
    put(tmp_path / "gauges" / "m50.75-a_1.toml", GAUGE)
    gauge = load_gauge("m50.75-a_1", tmp_path)
    assert (gauge.name, gauge.text, gauge.port) == ("m50.75-a_1", GAUGE, "/dev/ttyUSB0")


def test_an_unknown_gauge_names_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="none yet"):
        load_gauge("m1", tmp_path)
    put(tmp_path / "gauges" / "m2.toml", GAUGE)
    put(tmp_path / "gauges" / "m1.toml", GAUGE)
    with pytest.raises(SettingsError, match="known: m1, m2"):
        load_gauge("m3", tmp_path)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_gauges_name_never_leads_out_of_its_folder(name: str, tmp_path: Path) -> None:
    put(tmp_path / "m1.toml", GAUGE)
    put(tmp_path / "gauges" / "a" / "b.toml", GAUGE)
    put(tmp_path / "gauges" / ".hidden.toml", GAUGE)
    with pytest.raises(SettingsError, match="There is no gauge"):
        load_gauge(name, tmp_path)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\xff\xfe", "not UTF-8 text"),
        (b"#" * (64 * 1024 + 1), "longer than 64 KiB"),
        (b"schema = 1", "profile"),
    ],
)
def test_a_bad_gauge_file_is_refused_naming_it(data: bytes, said: str, tmp_path: Path) -> None:
    path = put(tmp_path / "gauges" / "m1.toml", data)
    with pytest.raises(SettingsError) as caught:
        load_gauge("m1", tmp_path)
    assert str(path) in str(caught.value)
    assert said in str(caught.value)


def test_a_saved_stack_is_its_size_as_written(tmp_path: Path) -> None:
    put(tmp_path / "stacks" / "bench.toml", 'schema = 1\nsize = "2.3610 in"\n')
    assert saved_stack("bench", tmp_path) == "2.3610 in"


@pytest.mark.parametrize("name", ["59.97 mm", "none", *HOSTILE])
def test_what_is_not_saved_is_no_stack(name: str, tmp_path: Path) -> None:
    put(tmp_path / "m1.toml", 'schema = 1\nsize = "1 mm"\n')
    assert saved_stack(name, tmp_path) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('schema = 1\nsize = "60"', "key size: '60' is not a length with its unit"),
        ('schema = 1\nsize = "0 mm"', "key size: 0 mm is not above zero"),
        ("schema = 1\nsize = 60", "size"),
        ("schema = 1", "size"),
        ('size = "60 mm"', "schema"),
        ('schema = 2\nsize = "60 mm"', "key schema"),
        ('schema = 1\nsize = "60 mm"\nblocks = ["60 mm"]', "blocks"),
    ],
)
def test_a_bad_stack_file_is_refused_naming_it(text: str, said: str, tmp_path: Path) -> None:
    path = put(tmp_path / "stacks" / "bench.toml", text)
    with pytest.raises(SettingsError) as caught:
        saved_stack("bench", tmp_path)
    assert str(path) in str(caught.value)
    assert said in str(caught.value)


def test_a_shipped_profile_is_found_by_its_name(tmp_path: Path) -> None:
    assert load_profile("number-unit-crlf", tmp_path).id == "number-unit-crlf"


def test_a_profile_in_home_goes_before_the_shipped_one(tmp_path: Path) -> None:
    shipped = (SHIPPED / "number-unit-crlf.toml").read_text(encoding="utf-8")
    put(tmp_path / "profiles" / "number-unit-crlf.toml", "# the shop's own\n" + shipped)
    assert load_profile("number-unit-crlf", tmp_path).text.startswith("# the shop's own\n")


def test_a_profile_may_be_a_file_anywhere(tmp_path: Path) -> None:
    shipped = (SHIPPED / "number-unit-crlf.toml").read_text(encoding="utf-8")
    path = put(tmp_path / "elsewhere" / "other name.toml", shipped)
    assert load_profile(str(path), tmp_path).id == "number-unit-crlf"


def test_a_profile_in_home_must_be_called_like_its_file(tmp_path: Path) -> None:
    shipped = (SHIPPED / "number-unit-crlf.toml").read_text(encoding="utf-8")
    path = put(tmp_path / "profiles" / "mine.toml", shipped)
    with pytest.raises(SettingsError, match="key id") as caught:
        load_profile("mine", tmp_path)
    assert str(path) in str(caught.value)


@pytest.mark.parametrize("word", ["none", "", "..", "a\x00b", "a/\x00b", "-x"])
def test_an_unknown_profile_names_the_shipped_ones(word: str, tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="number-unit-crlf"):
        load_profile(word, tmp_path)


def test_a_profile_file_that_is_not_there_is_a_profile_error(tmp_path: Path) -> None:
    with pytest.raises(ProfileError):
        load_profile(str(tmp_path / "none.toml"), tmp_path)
