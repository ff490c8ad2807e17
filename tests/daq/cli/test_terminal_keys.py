"""Which keys a terminal is read by."""

import os
import sys
import termios
from collections.abc import Iterator
from types import ModuleType

import pytest
from pytest_mock import MockerFixture

from daq.cli.posix_keys import PosixKeys
from daq.cli.terminal_keys import terminal_keys
from daq.cli.windows_keys import WindowsKeys


@pytest.fixture
def slave(mocker: MockerFixture) -> Iterator[int]:
    """stdin is a terminal."""
    master, slave = os.openpty()
    mocker.patch.object(sys, "stdin", mocker.Mock(fileno=lambda: slave))
    yield slave
    os.close(slave)
    os.close(master)


def test_with_termios_the_terminal_stops_echoing_until_it_is_given_back(slave: int) -> None:
    before = termios.tcgetattr(slave)
    keys = terminal_keys()
    assert isinstance(keys, PosixKeys)
    assert not termios.tcgetattr(slave)[3] & (termios.ECHO | termios.ICANON)
    keys.stop()
    assert termios.tcgetattr(slave) == before


def test_without_termios_msvcrt_is_asked(slave: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "termios", None)
    monkeypatch.delitem(sys.modules, "daq.cli.posix_keys")
    monkeypatch.setitem(sys.modules, "msvcrt", ModuleType("msvcrt"))
    assert isinstance(terminal_keys(), WindowsKeys)
