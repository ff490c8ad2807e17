"""Facts of a machine: those of one made of folders, and of a home that is tried and left alone."""

import errno
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.services.doctor.look import home_facts, look, newest_session
from tests.drivers.fake_machine import FakeMachine

RULE = 'ATTRS{idVendor}=="1209", ATTRS{idProduct}=="0001", TAG+="uaccess"\n'


@pytest.fixture
def fake(tmp_path: Path) -> FakeMachine:
    return FakeMachine(tmp_path / "machine")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    folder.mkdir()
    return folder


def test_each_device_comes_with_its_gauge_file_and_its_rules(fake: FakeMachine, home: Path) -> None:
    fake.tty_usb(fake.usb("1-2", serial="A1"), "ttyUSB0")
    fake.keyboard("1-3", product="0002", serial="K7")
    (home / "gauges").mkdir()
    text = 'schema = 1\nprofile = "p"\nidentity = "usb:1209:0001:A1"\n'
    (home / "gauges/mike.toml").write_text(text)
    (home / "gauges/bad.toml").write_text("rubbish")
    for folder in fake.machine.rules[:1]:
        folder.mkdir(parents=True)
        (folder / "70-x.rules").write_text(RULE)
    facts = look(str(home), fake.machine).devices
    serial, keyboard = facts.attached
    assert (serial.device.identity, serial.gauges) == ("usb:1209:0001:A1", ("mike",))
    assert [Path(rule.path).name for rule in serial.rules] == ["70-x.rules"]
    assert (keyboard.gauges, keyboard.rules) == ((), ())
    assert len(facts.faults) == 1
    assert facts.has_udev


def test_a_machine_with_nothing_gives_facts(fake: FakeMachine, home: Path) -> None:
    facts = look(str(home), fake.machine)
    assert facts.devices.attached == ()
    assert facts.devices.others == ()
    assert facts.devices.faults == ()
    assert facts.home.fault == ""
    assert facts.python.missing <= {"openpyxl", "pyarrow", "weasyprint"}  # the extras
    assert list(home.iterdir()) == []


def test_a_package_that_is_not_installed_is_named(
    fake: FakeMachine, home: Path, mocker: MockerFixture
) -> None:
    mocker.patch("daq.services.doctor.look.EXTRAS", ("json", "no_such_package"))
    assert look(str(home), fake.machine).python.missing == {"no_such_package"}


def test_a_keyboard_by_radio_is_among_the_facts(fake: FakeMachine, home: Path) -> None:
    fake.input_list("I: Bus=0005 Vendor=1209 Product=0003 Version=1\nB: KEY=fffffffffffffffe\n\n")
    assert [one.port for one in look(str(home), fake.machine).devices.others] == ["typed:"]


def test_a_home_of_nobody_is_a_fact_and_no_error(fake: FakeMachine) -> None:
    facts = look("~no-such-user-here/x", fake.machine)
    assert facts.home.path == ""
    assert "no such user" in facts.home.fault


def test_without_the_package_for_usb_the_look_goes_on(
    fake: FakeMachine, home: Path, mocker: MockerFixture
) -> None:
    mocker.patch.dict("sys.modules", {"drivers.ports.usb_bus": None})
    assert "pip install pyusb" in look(str(home), fake.machine).devices.library_trouble


# --- the home ---


def test_a_home_that_is_there_is_tried_and_left_as_it_was(home: Path) -> None:
    facts = home_facts(home)
    assert (facts.path, facts.place, facts.exists, facts.fault) == (str(home), str(home), True, "")
    assert facts.sync_s is not None
    assert facts.free_bytes is not None
    assert list(home.iterdir()) == []


def test_a_home_that_is_not_there_is_not_made(home: Path) -> None:
    facts = home_facts(home / "a" / "b")
    assert (facts.place, facts.exists, facts.fault) == (str(home), False, "")
    assert list(home.iterdir()) == []


def test_a_file_in_the_place_of_the_home_or_above_it_is_told(home: Path) -> None:
    (home / "file").write_text("x")
    (home / "loose").symlink_to(home / "gone")
    assert home_facts(home / "file").fault.startswith("it is not a folder")
    assert home_facts(home / "loose").fault.startswith("it is not a folder")
    assert f"{home / 'file'} is not a folder" in home_facts(home / "file" / "b").fault


@pytest.mark.parametrize("name", ["x" * 300, "/x" * 3000])
def test_a_name_that_no_folder_can_have_is_told(home: Path, name: str) -> None:
    assert "no such folder can be made" in home_facts(Path(f"{home}/{name}")).fault


def test_a_home_in_a_folder_that_is_gone_is_told(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(home)
    home.rmdir()
    assert "no such folder can be made" in home_facts(Path("relative")).fault


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "no permission"),
        (errno.EROFS, "read-only disk"),
        (errno.ENOSPC, "Free some space"),
        (errno.EIO, "mend the disk"),
    ],
)
def test_what_cannot_be_written_says_what_to_do(
    home: Path, mocker: MockerFixture, number: int, words: str
) -> None:
    error = OSError(number, os.strerror(number))
    mocker.patch("daq.services.doctor.probe.sync_data", side_effect=error)
    facts = home_facts(home)
    assert words in facts.fault
    assert facts.fault.startswith(f"it cannot be written to ({os.strerror(number)})")
    assert home_facts(home / "new").fault.startswith(f"it cannot be made in {home}")


def test_the_kind_of_file_system_is_looked_up(fake: FakeMachine, home: Path) -> None:
    (fake.machine.proc / "self").mkdir(parents=True)
    (fake.machine.proc / "self/mountinfo").write_text("1 0 0:1 / / rw - xfs /dev/a rw\n")
    assert home_facts(home, fake.machine).filesystem == "xfs"


# --- sessions ---


def test_the_newest_session_is_found_by_its_id_and_other_names_are_left_alone() -> None:
    names = ["20261125T080000Z-kqwe", "20261126T093015Z-abcd", "notes", "20269999T000000Z-x", ""]
    assert newest_session(names) == datetime(2026, 11, 26, 9, 30, 15, tzinfo=UTC)
    assert newest_session(["notes"]) is None
