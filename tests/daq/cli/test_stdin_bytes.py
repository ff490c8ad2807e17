"""stdin read by one thread until another says stop: by waiting on POSIX, by blocking elsewhere."""

import os
import select
import sys
import threading
from collections.abc import Iterator

import pytest
from pytest_mock import MockerFixture

from daq.cli.stdin_bytes import BlockingBytes, InputBytes, WaitedBytes, stdin_bytes

PATIENCE_S = 5.0
WAYS = (WaitedBytes, BlockingBytes)


@pytest.fixture
def pipe() -> Iterator[tuple[int, int]]:
    """What is read, and where it is written."""
    ends = os.pipe()
    yield ends
    for fd in ends:
        try:
            os.close(fd)
        except OSError:
            continue  # the test closed it


@pytest.mark.parametrize("way", WAYS)
def test_bytes_come_as_they_are_and_the_end_is_empty(
    way: type[WaitedBytes | BlockingBytes], pipe: tuple[int, int]
) -> None:
    near, far = pipe
    source: InputBytes = way(near)
    os.write(far, b"back\r\nsk")
    assert source.read() == b"back\r\nsk"
    os.close(far)
    assert source.read() == b""


def test_where_it_can_be_waited_for_a_stop_ends_the_waiting(pipe: tuple[int, int]) -> None:
    source, heard = WaitedBytes(pipe[0]), list[bytes | None]()
    thread = threading.Thread(target=lambda: heard.append(source.read()))
    thread.start()
    source.stop()
    thread.join(PATIENCE_S)
    assert heard == [None]


def test_elsewhere_what_comes_after_a_stop_is_nobodys(pipe: tuple[int, int]) -> None:
    near, far = pipe
    source, heard = BlockingBytes(near), list[bytes | None]()
    thread = threading.Thread(target=lambda: heard.append(source.read()))
    thread.start()
    source.stop()
    os.write(far, b"stop\n")
    thread.join(PATIENCE_S)
    assert heard == [None]


@pytest.mark.parametrize("way", WAYS)
def test_a_terminal_that_is_gone_is_the_end_of_input(
    way: type[WaitedBytes | BlockingBytes],
) -> None:
    """Linux gives EIO once the other end of a pseudo-terminal is closed."""
    master, slave = os.openpty()
    source: InputBytes = way(slave)
    os.close(master)
    assert source.read() == b""
    os.close(slave)


def test_the_way_is_chosen_by_what_the_system_can_wait_for(
    pipe: tuple[int, int], monkeypatch: pytest.MonkeyPatch, mocker: MockerFixture
) -> None:
    mocker.patch.object(sys, "stdin", mocker.Mock(fileno=lambda: pipe[0]))
    assert isinstance(stdin_bytes(), WaitedBytes)
    monkeypatch.delattr(select, "poll")
    assert isinstance(stdin_bytes(), BlockingBytes)
