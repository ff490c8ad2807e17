"""Ports in a process that lacks what only POSIX has: they open, read, write, wake and are lost."""

import socket
import subprocess
import sys
from collections.abc import Iterator

import pytest

from tests.places import ROOT

PATIENCE_S = 30.0
WITHOUT = """
import os, select, signal, socket, sys, threading, time
import serial, serial.serialposix, serial.rfc2217, pty  # what pyserial needs to load on this system
for name in ("termios", "fcntl", "tty", "pty", "pwd", "grp", "resource"):
    sys.modules[name] = None
for module, names in {
    os: ("fdatasync", "openpty", "getuid", "geteuid", "getgroups", "getegid", "set_blocking",
         "major", "minor", "ttyname", "O_NONBLOCK", "O_NOCTTY"),
    select: ("poll", "epoll", "POLLIN", "POLLOUT", "POLLHUP", "POLLERR"),
    signal: ("SIGHUP", "pthread_sigmask"),
    time: ("CLOCK_BOOTTIME", "clock_gettime_ns"),
}.items():
    for name in names:
        if hasattr(module, name):
            delattr(module, name)
from drivers.errors import PortLost
from drivers.ports import open_port
from drivers.profile.profile import Link
"""


def ran(program: str, *words: str) -> str:
    """What a program says in such a process."""
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT + program, *words],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.fixture
def server() -> Iterator[socket.socket]:
    with socket.create_server(("127.0.0.1", 0)) as made:
        made.settimeout(PATIENCE_S)
        yield made


def test_a_loop_gives_back_what_is_written_and_a_wake_up_ends_its_wait() -> None:
    program = """
port = open_port("loop://", Link())
port.write(b"1.5\\n")
got = b""
while len(got) < 4:
    got += port.read(1.0)
threading.Timer(0.05, port.wake).start()
began = time.monotonic()
assert port.read(None) == b""
assert time.monotonic() - began < 0.4, "it waited for the end of its slice"
port.close()
print(got)
"""
    assert ran(program) == repr(b"1.5\n")


def test_a_server_is_read_and_written_until_it_hangs_up(server: socket.socket) -> None:
    program = """
port = open_port(sys.argv[1], Link())
port.write(b"READ?\\n")
got = b""
try:
    while True:
        got += port.read(None)
except PortLost as lost:
    print(got, lost.reason)
port.close()
"""
    name = f"socket://127.0.0.1:{server.getsockname()[1]}"
    with subprocess.Popen(
        [sys.executable, "-c", WITHOUT + program, name],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    ) as child:
        link, _ = server.accept()
        with link:
            assert link.recv(100) == b"READ?\n"
            link.sendall(bytes(range(256)))
        said, _ = child.communicate(timeout=PATIENCE_S)
    closed = "the other end closed the connection. Check it"
    assert said.strip() == f"{bytes(range(256))!r} {closed}"


def test_what_is_attached_is_listed_and_rights_are_left_unexplained() -> None:
    program = """
from pathlib import Path
from drivers.attached.access import rights_on
from drivers.attached.discovery import attached
from drivers.attached.holders import holders_of
from drivers.attached.machine import Machine
from drivers.clock import Clock
os.access = lambda *_: False
rights = rights_on("/dev/null")
print(rights.exists, rights.may_open, repr(rights.group), holders_of(["/dev/null"]).keys())
assert Clock().now().mono_ns <= Clock().now().mono_ns
print(type(attached(Machine(sys=Path("/nowhere")))).__name__)
"""
    assert ran(program).split("\n") == [
        "True False '' dict_keys(['/dev/null'])",
        "tuple",
    ]


def test_every_module_of_drivers_and_of_the_simulator_loads() -> None:
    program = """
import importlib, pkgutil, drivers, simulator
names = [
    module.name
    for top in (drivers, simulator)
    for module in pkgutil.walk_packages(top.__path__, f"{top.__name__}.")
    if module.name != "drivers.ports.polled_line"
]
for name in names:
    importlib.import_module(name)
print(len(names) > 100)
"""
    assert ran(program) == "True"
