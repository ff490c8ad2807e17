"""Keys of a POSIX terminal, as bytes come out of it."""

import os
import sys
from collections.abc import Iterator

import pytest
from pytest_mock import MockerFixture

from daq.cli.posix_keys import PosixKeys


@pytest.fixture
def master(mocker: MockerFixture) -> Iterator[int]:
    """Where keys are pressed; stdin is the other end."""
    master, slave = os.openpty()
    mocker.patch.object(sys, "stdin", mocker.Mock(fileno=lambda: slave))
    yield master
    os.close(slave)
    os.close(master)


def test_a_character_of_two_bytes_is_one_key_however_it_comes(master: int) -> None:
    keys = PosixKeys()
    os.write(master, "\u00b0".encode()[:1])
    os.write(master, "\u00b0".encode()[1:] + b"C")
    heard = ""
    while len(heard) < 2:
        heard += keys.read() or pytest.fail("the input ended")
    assert heard == "\u00b0C"
    keys.stop()


def test_ctrl_d_alone_ends_the_input(master: int) -> None:
    keys = PosixKeys()
    os.write(master, b"\x04")
    assert keys.read() == ""
    keys.stop()


def test_a_stop_ends_the_reading(master: int) -> None:
    keys = PosixKeys()
    keys.stop()
    assert keys.read() is None
