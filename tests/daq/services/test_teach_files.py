"""The files that `teach` writes."""

from pathlib import Path

import pytest

from daq.errors import SettingsError
from daq.services.home import load_gauge, load_profile
from daq.services.teach_files import gauge_text, refuse_existing, target, write
from drivers.errors import ProfileError

PROFILE = 'schema = 1\nid = "bore-2-x"\nkind = "text"\n[[layout]]\nname = "number"\nform = "nrf"\n'


def test_both_files_are_found_again_under_the_gauges_name(tmp_path: Path) -> None:
    where = target("Bore_2.x", tmp_path)
    write(where, PROFILE, gauge_text(where.profile_id, "/dev/ttyUSB0", None))
    gauge = load_gauge("Bore_2.x", tmp_path)
    assert (gauge.profile, gauge.port, gauge.identity) == ("bore-2-x", "/dev/ttyUSB0", None)
    assert load_profile(gauge.profile, tmp_path).text == PROFILE
    assert sorted(path.name for path in tmp_path.rglob("*.*")) == ["Bore_2.x.toml", "bore-2-x.toml"]


def test_a_serial_number_counts_more_than_the_port(tmp_path: Path) -> None:
    where = target("bore-2-x", tmp_path)
    write(where, PROFILE, gauge_text(where.profile_id, "/dev/ttyUSB0", 'usb:1234:0001:"\\'))
    gauge = load_gauge("bore-2-x", tmp_path)
    assert (gauge.port, gauge.identity) == (None, 'usb:1234:0001:"\\')


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    where = target("bore", tmp_path)
    refuse_existing(where)
    where.gauge.parent.mkdir()
    where.gauge.write_text("mine")
    with pytest.raises(SettingsError, match=r"bore\.toml exists.*--replace"):
        refuse_existing(where)


def test_a_text_that_would_not_be_read_again_is_not_written(tmp_path: Path) -> None:
    where = target("bore", tmp_path)
    with pytest.raises(ProfileError):
        write(where, "schema = 1", gauge_text("bore", "/dev/ttyUSB0", None))
    with pytest.raises(SettingsError):
        write(where, PROFILE, "schema = 1\nprofile = 'bore'\n")
    assert list(tmp_path.iterdir()) == []


def test_a_failed_write_leaves_the_old_file(tmp_path: Path) -> None:
    where = target("bore-2-x", tmp_path)
    gauge = gauge_text(where.profile_id, "/dev/ttyUSB0", None)
    write(where, PROFILE, gauge)
    where.gauge.unlink()
    where.gauge.mkdir()  # a folder cannot be replaced by a file
    with pytest.raises(OSError, match="bore-2-x"):
        write(where, PROFILE, gauge)
    assert [path.name for path in where.gauge.parent.iterdir()] == ["bore-2-x.toml"]


@pytest.mark.parametrize("name", ["", "../x", ".hidden", "a/b", "a b", "x" * 81, "ä"])
def test_a_name_that_is_no_file_name_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be the name of a gauge"):
        target(name, tmp_path)
