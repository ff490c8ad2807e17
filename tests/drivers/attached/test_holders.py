"""Who holds a port, and which services take ports: of real processes and of a tree made for it."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

import pytest

from drivers.attached.holders import Holder, command_of, holders_of, processes
from drivers.attached.services import BRAILLE, MODEM, grabbers, is_kept_from_modems
from tests.drivers.fake_machine import FakeMachine


class Pty(Protocol):
    path: str


@contextmanager
def holding(path: str, lock: bool = False) -> Iterator[subprocess.Popen[bytes]]:
    """Another process that has `path` open."""
    code = (
        "import fcntl, os, sys; fd = os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY);"
        "sys.argv[2] == 'True' and fcntl.flock(fd, fcntl.LOCK_EX);"
        "print('held', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, path, str(lock)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"held\n"
        yield process
        process.communicate()


def test_a_process_that_has_the_port_open_is_named(pty: Pty) -> None:
    with holding(pty.path) as process:
        (holder,) = holders_of([pty.path])[pty.path]
    assert holder.pid == process.pid
    assert holder.command.startswith("python")
    assert str(holder) == f"{holder.command} (process {process.pid})"
    assert holders_of([pty.path])[pty.path] == ()


def test_the_port_is_known_by_another_name(pty: Pty, tmp_path: Path) -> None:
    link = tmp_path / "bench1"
    link.symlink_to(pty.path)
    with holding(pty.path) as process:
        assert [one.pid for one in holders_of([str(link)])[str(link)]] == [process.pid]


def test_a_lock_shows_the_holder_whose_files_are_hidden(pty: Pty, tmp_path: Path) -> None:
    fake = FakeMachine(tmp_path)
    other = fake.process(4711, "screen")
    (other / "fd").rmdir()  # as for another user's process
    about = os.stat(pty.path)
    device = f"{os.major(about.st_dev):02x}:{os.minor(about.st_dev):02x}:{about.st_ino}"
    (fake.machine.proc / "locks").write_text(
        f"1: FLOCK  ADVISORY  WRITE 4711 {device} 0 EOF\n"
        "2: POSIX  ADVISORY  READ  99 00:01:2 0 EOF\n"
        f"2: -> FLOCK  ADVISORY  WRITE 12 {device} 0 EOF\n"
        "rubbish\n"
    )
    assert holders_of([pty.path], fake.machine)[pty.path] == (Holder(4711, "screen"),)


def test_the_real_list_of_locks_is_read(pty: Pty, tmp_path: Path) -> None:
    fake = FakeMachine(tmp_path)
    fake.machine.proc.mkdir()
    (fake.machine.proc / "locks").symlink_to("/proc/locks")
    with holding(pty.path, lock=True) as process:
        holders = holders_of([pty.path], fake.machine)[pty.path]
    assert [one.pid for one in holders] == [process.pid]


def test_a_node_that_is_gone_has_no_holder(tmp_path: Path) -> None:
    gone = str(tmp_path / "ttyUSB0")
    assert holders_of([gone]) == {gone: ()}
    assert holders_of([]) == {}


def test_this_process_is_not_told_of_itself(pty: Pty) -> None:
    descriptor = os.open(pty.path, os.O_RDWR | os.O_NOCTTY)
    try:
        assert holders_of([pty.path])[pty.path] == ()
    finally:
        os.close(descriptor)


def test_a_commands_name_is_harmless(tmp_path: Path) -> None:
    fake = FakeMachine(tmp_path)
    fake.process(7, "x\x1b[2J\n")
    assert command_of(7, fake.machine) == "x\\x1b[2J"
    assert command_of(8, fake.machine) == "?"
    assert list(processes(fake.machine)) == [7]


def test_services_that_take_ports_are_found_by_their_name(tmp_path: Path) -> None:
    fake = FakeMachine(tmp_path)
    assert grabbers(fake.machine) == frozenset()
    fake.process(1, "systemd")
    fake.process(20, "ModemManager")
    fake.process(30, "brltty")
    assert grabbers(fake.machine) == {MODEM, BRAILLE}


@pytest.mark.parametrize(
    ("record", "is_kept"),
    [
        ("E:ID_MM_DEVICE_IGNORE=1\n", True),
        ("S:gauges/x\nE:ID_MM_PORT_IGNORE=1\nG:uaccess\n", True),
        ("E:ID_MM_DEVICE_IGNORE=0\n", False),
        ("E:ID_MM_CANDIDATE=1\n", False),
        (None, False),
    ],
)
def test_udevs_record_says_whether_modem_software_lets_a_port_be(
    tmp_path: Path, pty: Pty, record: str | None, is_kept: bool
) -> None:
    fake = FakeMachine(tmp_path)
    device = os.stat(pty.path).st_rdev
    folder = fake.machine.run / "udev/data"
    folder.mkdir(parents=True)
    if record is not None:
        (folder / f"c{os.major(device)}:{os.minor(device)}").write_text(record)
    assert is_kept_from_modems(pty.path, fake.machine) is is_kept
    assert is_kept_from_modems(str(tmp_path / "gone"), fake.machine) is False
