"""What .ci/system makes of a guest that ends well, badly or not at all, without a guest.

Its tests are in `kernel/`, which only the guest collects.
"""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from tests.system.machine import archive, environment, kernel, report
from tests.system.machine.qemu import Machine, TimedOut
from tests.system.machine.tree import System

ROOT = Path(__file__).resolve().parents[2]
SUITE = '<testsuites><testsuite tests="{}" failures="{}" errors="{}" skipped="{}"/></testsuites>'


def results(folder: Path, suite: str, status: str = "0") -> Path:
    """What a run called `tests` leaves."""
    (folder / "tests.xml").write_text(suite)
    (folder / "tests.status").write_text(f"{status}\n")
    return folder


def test_tests_that_all_passed_are_a_success(tmp_path: Path) -> None:
    there = results(tmp_path, SUITE.format(3, 0, 0, 0))
    assert report.shortcoming(there, ("tests",)) == ""
    assert str(report.counted(report.merged(there))) == (
        "3 tests ran in the guest, 0 failed, 0 skipped"
    )


@pytest.mark.parametrize(
    ("numbers", "status", "why"),
    [
        ((3, 1, 0, 0), "1", "pytest ended with 1"),
        ((3, 0, 1, 0), "0", "failed"),
        ((3, 0, 0, 1), "0", "skipped"),
        ((0, 0, 0, 0), "0", "no test ran"),
        ((0, 0, 0, 0), "5", "pytest ended with 5"),
    ],
)
def test_anything_else_is_none(
    tmp_path: Path, numbers: tuple[int, ...], status: str, why: str
) -> None:
    there = results(tmp_path, SUITE.format(*numbers), status)
    assert why in report.shortcoming(there, ("tests",))


def test_a_guest_that_left_nothing_is_no_success(tmp_path: Path) -> None:
    assert "no result" in report.shortcoming(tmp_path, ("tests",))
    (tmp_path / "tests.status").write_text("0\n")
    assert "no result" in report.shortcoming(tmp_path, ("tests",))


def test_each_of_several_runs_must_have_ended(tmp_path: Path) -> None:
    there = results(tmp_path, SUITE.format(3, 0, 0, 0))
    assert "alongside" in report.shortcoming(there, ("tests", "alongside"))


def without_tools(**more: str) -> subprocess.CompletedProcess[str]:
    """The suite where there is neither an emulator nor apt."""
    return subprocess.run(
        [sys.executable, "-m", "tests.system.machine"],
        cwd=ROOT,
        env={"PATH": "", "HOME": os.environ.get("HOME", "/"), **more},
        capture_output=True,
        text=True,
        check=False,
    )


def test_without_an_emulator_it_is_skipped_with_the_reason() -> None:
    done = without_tools()
    assert done.returncode == 0
    assert "skipped: qemu-system-x86 is not installed" in done.stdout


def test_a_skip_is_a_failure_where_the_suite_is_required() -> None:
    done = without_tools(JBRIDGE_SYSTEM="require")
    assert done.returncode == 1
    assert "cannot run: qemu-system-x86 is not installed" in done.stderr


def test_a_guest_that_never_ends_is_killed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    emulator = tmp_path / "qemu-system-x86_64"
    number = tmp_path / "pid"
    emulator.write_text(f"#!/bin/sh\necho $$ >{number}\nexec sleep 1000\n")
    emulator.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    system = System(tmp_path)
    system.files.write_bytes(b"")
    (tmp_path / "run").mkdir()
    machine = Machine(system, [], tmp_path / "run")
    with pytest.raises(TimedOut):
        machine.run({}, 1.0)
    with pytest.raises(ProcessLookupError):
        os.kill(int(number.read_text()), 0)


def test_only_folders_are_shared_and_never_the_root() -> None:
    folders = environment.shared_folders()
    assert ROOT in folders
    assert Path("/") not in folders
    assert Path("/usr") not in folders


def test_an_archive_holds_parents_before_children() -> None:
    tree = {"etc/a": archive.file("x"), "bin": archive.link("usr/bin")}
    data = archive.cpio(tree)
    names = [data.index(name) for name in (b"bin\0", b"etc\0", b"etc/a\0", b"TRAILER!!!\0")]
    assert names == sorted(names)
    assert len(data) % 4 == 0
    first = data[:110]  # the header of "bin", worked by hand: 13 fields of 8 hexadecimal digits
    assert first[:6] == b"070701"
    assert int(first[14:22], 16) == stat.S_IFLNK | 0o777
    assert int(first[54:62], 16) == len("usr/bin")
    assert int(first[94:102], 16) == len("bin\0")


def test_files_lie_where_merged_usr_has_them() -> None:
    assert archive.merged("lib/udev/rules.d") == "usr/lib/udev/rules.d"
    assert archive.merged("usr/lib/udev") == "usr/lib/udev"
    assert archive.merged("etc/udev") == "etc/udev"


def test_modules_bring_what_they_depend_on() -> None:
    base = "usr/lib/modules/6.1/kernel"
    tree = {
        f"{base}/cdc-acm.ko": archive.file(b"\0license=GPL\0depends=usb-core,usbbits\0name=x\0"),
        f"{base}/usb-core.ko": archive.file(b"\0depends=\0"),
        f"{base}/other.ko": archive.file(b"\0depends=\0"),
    }
    chosen = kernel.with_dependencies(("cdc_acm",), tree)
    assert sorted(chosen) == [f"{base}/cdc-acm.ko", f"{base}/usb-core.ko"]
