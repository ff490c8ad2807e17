"""Links over real pseudo-terminals and real sockets."""

from __future__ import annotations

import os
import select
import socket
import termios
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.errors import LinkError
from simulator.links import Link, PtyLink, TcpLink

PATIENCE_S = 5.0
SHORT_S = 0.05


@contextmanager
def opened(port: str) -> Iterator[int]:
    """The reader's end of a terminal."""
    descriptor = os.open(port, os.O_RDWR | os.O_NOCTTY)
    try:
        yield descriptor
    finally:
        os.close(descriptor)


def take(descriptor: int, count: int) -> bytes:
    """Read so many bytes, failing when they do not come."""
    got = b""
    while len(got) < count:
        ready, _, _ = select.select([descriptor], [], [], PATIENCE_S)
        assert ready, f"only {got!r} came"
        got += os.read(descriptor, count - len(got))
    return got


def nothing_waits(descriptor: int) -> bool:
    return not select.select([descriptor], [], [], SHORT_S)[0]


def connect(link: TcpLink) -> socket.socket:
    """A client of the link, not yet let in."""
    host, _, port = link.port.removeprefix("socket://").partition(":")
    return socket.create_connection((host, int(port)), timeout=PATIENCE_S)


# --- pseudo-terminal ---


def test_pty_is_a_terminal_and_carries_bytes_to_its_reader() -> None:
    with PtyLink() as link, opened(link.port) as reader:
        assert os.isatty(reader)
        assert link.send(b"+59.982 mm\r\n") is True
        assert take(reader, 12) == b"+59.982 mm\r\n"


def test_pty_is_raw_so_that_nothing_is_echoed_or_translated() -> None:
    with PtyLink() as link, opened(link.port) as reader:
        local_modes = termios.tcgetattr(reader)[3]
        assert not local_modes & (termios.ECHO | termios.ICANON | termios.ISIG)
        every_byte = bytes(range(256))
        link.send(every_byte)
        assert take(reader, 256) == every_byte
        assert link.receive(SHORT_S) == b""


def test_pty_keeps_bytes_until_a_reader_opens_it() -> None:
    with PtyLink() as link:
        link.send(b"early\r\n")
        with opened(link.port) as reader:
            assert take(reader, 7) == b"early\r\n"


def test_pty_outlives_its_readers() -> None:
    with PtyLink() as link:
        for word in (b"one", b"two"):
            with opened(link.port) as reader:
                link.send(word)
                assert take(reader, 3) == word


def test_pty_hears_its_reader() -> None:
    with PtyLink() as link, opened(link.port) as reader:
        os.write(reader, b"?\r")
        assert link.receive(PATIENCE_S) == b"?\r"
        assert link.receive(0.0) == b""


@given(chunks=st.lists(st.binary(max_size=300), max_size=12))
def test_pty_any_chunks_arrive_whole_and_in_order(chunks: list[bytes]) -> None:
    sent = b"".join(chunks)
    with PtyLink() as link, opened(link.port) as reader:
        for chunk in chunks:
            assert link.send(chunk)
        assert take(reader, len(sent)) == sent


def test_pty_unplugged_hangs_up_on_its_reader() -> None:
    with PtyLink() as link, opened(link.port) as reader:
        link.unplug()
        poll = select.poll()
        poll.register(reader, select.POLLIN)
        events = poll.poll(PATIENCE_S * 1000)
        assert events
        assert events[0][1] & select.POLLHUP
        # Some systems report the hang-up as an error instead of an end.
        with suppress(OSError):
            assert os.read(reader, 10) == b""
        assert link.send(b"lost") is False
        with pytest.raises(LinkError, match="unplugged"):
            link.receive(0.0)
        link.unplug()


def test_pty_closed_sends_no_more() -> None:
    link = PtyLink()
    link.close()
    link.close()
    with pytest.raises(LinkError, match="closed"):
        link.send(b"x")


def test_pty_gives_up_on_a_reader_that_does_not_read() -> None:
    with PtyLink(send_timeout_s=SHORT_S) as link, pytest.raises(LinkError, match="the reader took"):
        link.send(bytes(1_000_000))


def test_pty_gives_its_descriptors_back() -> None:
    before = len(os.listdir("/proc/self/fd")) if os.path.isdir("/proc/self/fd") else None
    if before is None:
        pytest.skip("this system does not list open descriptors")
    for _ in range(5):
        with PtyLink() as link:
            link.unplug()
    assert len(os.listdir("/proc/self/fd")) == before


def test_pty_link_path_is_made_and_removed(tmp_path: Path) -> None:
    path = tmp_path / "gauge"
    with PtyLink(path) as link:
        assert os.readlink(path) == link.port
        with opened(str(path)) as reader:
            link.send(b"hi")
            assert take(reader, 2) == b"hi"
    assert not path.is_symlink()


def test_pty_link_path_goes_with_the_cable(tmp_path: Path) -> None:
    path = tmp_path / "gauge"
    with PtyLink(path) as link:
        link.unplug()
        assert not path.is_symlink()
        with PtyLink(path) as again:
            assert os.readlink(path) == again.port


def test_pty_link_path_left_dangling_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "gauge"
    path.symlink_to("/dev/pts/999999")
    with PtyLink(path) as link:
        assert os.readlink(path) == link.port


def test_a_link_of_somebody_elses_is_left_alone_also_where_it_points_nowhere(
    tmp_path: Path,
) -> None:
    path, elsewhere = tmp_path / "gauge", tmp_path / "not mounted" / "file"
    path.symlink_to(elsewhere)
    with pytest.raises(LinkError, match="cannot make the link"):
        PtyLink(path)
    assert os.readlink(path) == str(elsewhere)


def test_pty_link_path_in_use_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "gauge"
    path.write_text("mine")
    with pytest.raises(LinkError, match="cannot make the link"):
        PtyLink(path)
    assert path.read_text() == "mine"


def test_pty_link_path_taken_over_by_another_is_not_removed(tmp_path: Path) -> None:
    path = tmp_path / "gauge"
    with PtyLink(path):
        path.unlink()
        path.write_text("mine")
    assert path.read_text() == "mine"


# --- socket ---


def test_tcp_port_is_an_address_of_its_own() -> None:
    with TcpLink() as one, TcpLink() as other:
        assert one.port.startswith("socket://127.0.0.1:")
        assert one.port != other.port


def test_tcp_discards_while_nobody_is_connected() -> None:
    with TcpLink() as link:
        assert link.wait_for_client(0.0) is False
        assert link.send(b"lost") is False
        with closing(connect(link)) as client:
            assert link.wait_for_client(PATIENCE_S)
            assert link.send(b"heard") is True
            assert take(client.fileno(), 5) == b"heard"


def test_tcp_new_client_replaces_the_old() -> None:
    with TcpLink() as link, closing(connect(link)) as old:
        assert link.wait_for_client(PATIENCE_S)
        with closing(connect(link)) as new:
            assert link.send(b"x") is True
            assert take(new.fileno(), 1) == b"x"
            assert old.recv(10) == b""


def test_tcp_notices_that_its_client_has_left() -> None:
    with TcpLink() as link:
        with closing(connect(link)) as client:
            assert link.wait_for_client(PATIENCE_S)
            client.sendall(b"good bye")
        # Both ends are on this machine: the close has arrived when close() returns.
        assert link.send(b"lost") is False


def test_tcp_unplugged_hangs_up_and_may_be_plugged_in_again() -> None:
    with TcpLink() as link:
        with closing(connect(link)) as client:
            assert link.wait_for_client(PATIENCE_S)
            link.send(b"last")
            link.unplug()
            assert take(client.fileno(), 4) == b"last"
            assert client.recv(10) == b""
        assert link.send(b"lost") is False
        with closing(connect(link)) as client:
            assert link.wait_for_client(PATIENCE_S)
            link.send(b"back")
            assert take(client.fileno(), 4) == b"back"


def test_tcp_gives_up_on_a_client_that_does_not_read() -> None:
    with TcpLink(send_timeout_s=SHORT_S) as link, closing(connect(link)):
        assert link.wait_for_client(PATIENCE_S)
        with pytest.raises(LinkError, match="the reader took"):
            link.send(bytes(50_000_000))
        assert link.send(b"lost") is False


def test_tcp_is_not_held_up_by_a_client_that_talks() -> None:
    with TcpLink() as link, closing(connect(link)) as client:
        assert link.wait_for_client(PATIENCE_S)
        client.sendall(bytes(1000))
        assert link.send(b"x") is True
        assert take(client.fileno(), 1) == b"x"


@given(chunks=st.lists(st.binary(max_size=3000), max_size=8))
def test_tcp_any_chunks_arrive_whole_and_in_order(chunks: list[bytes]) -> None:
    sent = b"".join(chunks)
    with TcpLink() as link, closing(connect(link)) as client:
        assert link.wait_for_client(PATIENCE_S)
        for chunk in chunks:
            assert link.send(chunk)
        assert take(client.fileno(), len(sent)) == sent


def test_tcp_closed_listens_and_sends_no_more() -> None:
    link = TcpLink()
    link.close()
    link.close()
    link.unplug()
    with pytest.raises(LinkError, match="closed"):
        link.send(b"x")
    with pytest.raises(LinkError, match="closed"):
        link.wait_for_client(0.0)
    with pytest.raises(ConnectionRefusedError):
        connect(link)


def test_tcp_address_in_use() -> None:
    with TcpLink() as link:
        port = int(link.port.rpartition(":")[2])
        with pytest.raises(LinkError, match="cannot listen"):
            TcpLink(port=port)


def test_tcp_port_that_is_none() -> None:
    with pytest.raises(LinkError, match="cannot listen"):
        TcpLink(port=70000)


def test_both_are_links() -> None:
    with PtyLink() as pty, TcpLink() as tcp:
        links: list[Link] = [pty, tcp]
        assert all(link.port for link in links)


# --- plugged in again, and heard ---


def test_pty_comes_back_as_a_new_terminal_under_its_link(tmp_path: Path) -> None:
    path = tmp_path / "gauge"
    with PtyLink(path) as link, opened(link.port) as reader:
        before = link.port
        link.replug()
        assert link.is_plugged
        # The old terminal is still held open by its reader, so the new one has another name.
        assert link.port != before
        assert os.readlink(path) == link.port
        with suppress(OSError):
            assert os.read(reader, 10) == b""
        with opened(str(path)) as again:
            assert link.send(b"back")
            assert take(again, 4) == b"back"
            os.write(again, b"?")
            assert link.receive(PATIENCE_S) == b"?"
    assert not path.is_symlink()


def test_pty_comes_back_under_another_link(tmp_path: Path) -> None:
    path, other = tmp_path / "gauge", tmp_path / "gauge-2"
    with PtyLink(path) as link:
        link.unplug()
        assert not link.is_plugged
        link.replug(other)
        assert not path.is_symlink()
        assert os.readlink(other) == link.port
        link.replug()
        assert os.readlink(other) == link.port
    assert not other.is_symlink()


def test_pty_stays_unplugged_where_it_cannot_come_back(tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("mine")
    with PtyLink() as link:
        with pytest.raises(LinkError, match="cannot make the link"):
            link.replug(taken)
        assert not link.is_plugged
        assert link.send(b"x") is False
        link.replug()
        assert link.send(b"x") is True
    with pytest.raises(LinkError, match="closed"):
        link.replug()


def test_waiting_for_a_reader_ends_with_a_wake_up() -> None:
    near, far = os.pipe()
    os.write(far, b"x")
    with PtyLink() as pty, TcpLink() as tcp:
        began_s = time.monotonic()
        assert pty.receive(PATIENCE_S, near) == b""
        assert tcp.receive(PATIENCE_S, near) == b""
        assert time.monotonic() - began_s < PATIENCE_S / 2
    os.close(near)
    os.close(far)


def test_tcp_hears_its_client_and_the_next_one() -> None:
    with TcpLink() as link:
        for word in (b"?\r", b"READ?\n"):
            with closing(connect(link)) as client:
                client.sendall(word)
                assert heard(link, len(word)) == word
                assert link.receive(0.0) == b""
        assert link.receive(SHORT_S) == b""


def test_tcp_keeps_what_was_said_before_it_listened_but_not_for_ever() -> None:
    with TcpLink() as link, closing(connect(link)) as client:
        client.sendall(b"first")
        assert link.wait_for_client(PATIENCE_S)
        assert link.send(b"x")
        assert heard(link, 5) == b"first"
        client.sendall(bytes(100_000))
        assert link.send(b"x")
        assert len(link.receive(SHORT_S)) <= 4096


def test_tcp_forgets_what_a_client_said_who_has_left() -> None:
    with TcpLink() as link:
        with closing(connect(link)) as old:
            old.sendall(b"old")
            assert link.wait_for_client(PATIENCE_S)
        with closing(connect(link)) as new:
            assert link.wait_for_client(PATIENCE_S)
            new.sendall(b"new")
            assert heard(link, 3) == b"new"


def test_tcp_needs_no_replug_and_has_no_path(tmp_path: Path) -> None:
    with TcpLink() as link:
        link.unplug()
        assert link.is_plugged
        link.replug()
        with pytest.raises(LinkError, match="a path is for a terminal"):
            link.replug(tmp_path / "gauge")


def heard(link: TcpLink, count: int) -> bytes:
    """So many bytes from whoever is connected; an empty answer may be somebody coming."""
    got = b""
    until_s = time.monotonic() + PATIENCE_S
    while len(got) < count and time.monotonic() < until_s:
        got += link.receive(PATIENCE_S)
    return got
