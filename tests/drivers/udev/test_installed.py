"""Which installed rules give rights on a gauge, and whether they come in time."""

from pathlib import Path

import pytest

from drivers.udev.installed import InstalledRule, installed_files, rules_for
from tests.drivers.fake_machine import FakeMachine

IDS = 'ATTRS{idVendor}=="1209", ATTRS{idProduct}=="000a"'
RIGHTS = f'SUBSYSTEM=="tty", {IDS}, TAG+="uaccess"\n'


def found(name: str, text: str) -> tuple[InstalledRule, ...]:
    return rules_for("1209", "000a", {f"/etc/udev/rules.d/{name}": text})


def test_a_rule_in_time_is_in_force() -> None:
    (rule,) = found("70-gauge.rules", RIGHTS)
    assert rule == InstalledRule("/etc/udev/rules.d/70-gauge.rules")


def test_a_late_rule_has_no_effect() -> None:
    """Source: systemd's issue 39206 and the order of files in udev(7)."""
    (rule,) = found("99-gauge.rules", RIGHTS)
    assert "too late" in rule.fault


def test_a_mode_is_never_late() -> None:
    (rule,) = found("99-gauge.rules", f'{IDS}, MODE="0660", GROUP="dialout"\n')
    assert rule.fault == ""


def test_ids_in_capital_letters_never_match() -> None:
    (rule,) = found("70-gauge.rules", RIGHTS.replace("000a", "000A"))
    assert "capital" in rule.fault


def test_a_good_line_makes_up_for_a_bad_one() -> None:
    (rule,) = found("70-gauge.rules", RIGHTS.replace("000a", "000A") + RIGHTS)
    assert rule.fault == ""


@pytest.mark.parametrize(
    "text",
    [
        "",
        "# " + RIGHTS,
        RIGHTS.replace("1209", "1208"),
        RIGHTS.replace('"000a"', '"000b"'),
        f'{IDS}, ENV{{ID_MM_DEVICE_IGNORE}}="1"\n',
        'SUBSYSTEM=="tty", TAG+="uaccess"\n',
    ],
)
def test_a_file_without_rights_for_the_device_is_none(text: str) -> None:
    assert found("70-gauge.rules", text) == ()


def test_a_line_that_goes_on_is_one_line() -> None:
    assert found("70-gauge.rules", RIGHTS.replace(", TAG", ", \\\nTAG"))


def test_of_two_files_of_one_name_the_machines_own_counts(tmp_path: Path) -> None:
    fake = FakeMachine(tmp_path)
    own, shipped = fake.machine.rules
    for folder in (own, shipped):
        folder.mkdir(parents=True)
    (shipped / "70-a.rules").write_text(RIGHTS)
    (own / "70-a.rules").symlink_to("/dev/null")
    (shipped / "70-b.rules").write_bytes(RIGHTS.encode() + b"\xff")
    (shipped / "README").write_text(RIGHTS)
    files = installed_files(fake.machine)
    assert sorted(files) == [str(own / "70-a.rules"), str(shipped / "70-b.rules")]
    assert [rule.path for rule in rules_for("1209", "000a", files)] == [str(shipped / "70-b.rules")]
