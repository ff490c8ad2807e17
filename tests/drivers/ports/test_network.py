"""Network serial: peers that die without a word, servers that refuse, telnet in the wrong place."""

import ctypes
import os
import socket
import struct
import termios
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from typing import Protocol

import pytest

from drivers.errors import PortBusy, PortError, PortLost, PortUnavailable
from drivers.ports import network, open_port
from drivers.ports.serial_port import SerialPort
from drivers.profile.profile import Link

LINK = Link()
PATIENCE_S = 10.0
ANSWER_S = 0.6
"""So long pyserial waits for a server's answers here, instead of 3 s."""

pytestmark = pytest.mark.filterwarnings(
    "ignore:set(Daemon|Name).. is deprecated:DeprecationWarning"
)
"""pyserial 3.5 starts the thread of an rfc2217 client in a way that Python calls outdated."""

# RFC 854 (telnet) and RFC 2217, from memory
IAC, DONT, DO, WONT, WILL, SB, SE = 255, 254, 253, 252, 251, 250, 240
BINARY, ECHO, SGA, COM_PORT = 0, 1, 3, 44
SET_BAUDRATE, SET_DATASIZE, SET_PARITY, SET_STOPSIZE, SET_CONTROL, PURGE = 1, 2, 3, 4, 5, 12
SERVER = 100
"""A server's answer to a command has the command's number and this."""

SO_ATTACH_FILTER = 26
"""Source: Linux, asm-generic/socket.h."""


class Pty(Protocol):
    path: str


def drop_everything(link: socket.socket) -> None:
    """From now on the system drops whatever arrives for this connection: like a cut cable.

    A filter program of one instruction, "return 0 bytes". Source: socket(7), SO_ATTACH_FILTER;
    linux/filter.h, struct sock_filter {u16 code; u8 jt, jf; u32 k}, BPF_RET | BPF_K = 6.
    """
    program = ctypes.create_string_buffer(struct.pack("HBBI", 6, 0, 0, 0))
    pointer = struct.pack("HL", 1, ctypes.addressof(program))
    link.setsockopt(socket.SOL_SOCKET, SO_ATTACH_FILTER, pointer)


class Server:
    """A telnet server typed by hand. `answer` says what it answers to a command of RFC 2217."""

    def __init__(self, answer: Callable[[int, bytes], bytes | None]) -> None:
        self._answer = answer
        self._server = socket.create_server(("127.0.0.1", 0))
        port = self._server.getsockname()[1]
        self.name = f"rfc2217://127.0.0.1:{port}?timeout={ANSWER_S}"
        self.links: list[socket.socket] = []
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        with suppress(OSError):
            while True:
                link, _ = self._server.accept()
                self.links.append(link)
                with suppress(OSError):
                    self._talk(link)

    def _talk(self, link: socket.socket) -> None:
        waiting = b""
        while data := link.recv(4096):
            waiting += data
            while len(waiting) >= 3:
                if waiting[0] != IAC:
                    waiting = waiting[1:]
                elif waiting[1] != SB:
                    word, option = waiting[1], waiting[2]
                    agreed = option in (BINARY, SGA, COM_PORT)
                    yes, no = (WILL, WONT) if word in (DO, DONT) else (DO, DONT)
                    link.sendall(bytes((IAC, yes if agreed else no, option)))
                    waiting = waiting[3:]
                elif (end := waiting.find(bytes((IAC, SE)))) < 0:
                    break
                else:
                    command, value = waiting[3], waiting[4:end]
                    answer = self._answer(command, value)
                    if answer is not None:
                        head = bytes((IAC, SB, COM_PORT, command + SERVER))
                        link.sendall(head + answer + bytes((IAC, SE)))
                    waiting = waiting[end + 2 :]

    def close(self) -> None:
        for link in (self._server, *self.links):
            with suppress(OSError):
                link.shutdown(socket.SHUT_RDWR)
            link.close()
        self._thread.join(PATIENCE_S)


@pytest.fixture
def plain() -> Iterator[socket.socket]:
    with socket.create_server(("127.0.0.1", 0)) as made:
        yield made


def address(server: socket.socket) -> str:
    return f"socket://127.0.0.1:{server.getsockname()[1]}"


def telnet_address(server: socket.socket) -> str:
    return f"rfc2217://127.0.0.1:{server.getsockname()[1]}?timeout={ANSWER_S}"


def willing(command: int, value: bytes) -> bytes | None:
    return value


def refused(name: str, link: Link = LINK) -> PortError:
    with pytest.raises(PortError) as caught:
        open_port(name, link)
    return caught.value


def opened(name: str) -> SerialPort:
    port = open_port(name, LINK)
    assert isinstance(port, SerialPort)
    return port


def read_long(port: SerialPort) -> None:
    for _ in range(30):
        port.read(1.0)


def read_to_the_end(port: SerialPort) -> tuple[bytes, str]:
    """All bytes until the port is lost, and why it was."""
    got = b""
    for _ in range(1000):
        try:
            got += port.read(1.0)
        except PortLost as lost:
            return got, lost.reason
    raise AssertionError(f"not lost: {got[:80]!r}")


# --- a peer that is gone without a word ---


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("IDLE_S", "EVERY_S", "PROBES"):
        monkeypatch.setattr(network, name, 1)


def test_the_system_is_told_to_ask_a_silent_peer_within_30_seconds(plain: socket.socket) -> None:
    with closing(opened(address(plain))) as port:
        link = getattr(port._device, "_socket", None)
        assert isinstance(link, socket.socket)
        assert link.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE) == 1
        idle_s, every_s, probes, user_ms = (
            link.getsockopt(socket.IPPROTO_TCP, option)
            for option in (
                socket.TCP_KEEPIDLE,
                socket.TCP_KEEPINTVL,
                socket.TCP_KEEPCNT,
                socket.TCP_USER_TIMEOUT,
            )
        )
    assert idle_s + every_s * probes <= 30
    assert user_ms <= 30_000


@pytest.mark.usefixtures("quick")
def test_a_dead_peer_is_noticed_and_says_what_to_check(plain: socket.socket) -> None:
    with closing(opened(address(plain))) as port:
        link, _ = plain.accept()
        with link:
            drop_everything(link)
            began = time.monotonic()
            with pytest.raises(PortLost, match=r"not answered for 2 s\. Check its power"):
                port.read(PATIENCE_S)
    assert 1.0 < time.monotonic() - began < PATIENCE_S


@pytest.mark.usefixtures("quick")
def test_a_dead_rfc2217_server_is_noticed() -> None:
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        drop_everything(server.links[0])
        with pytest.raises(PortLost, match="has not answered for 2 s"):
            read_long(port)


def test_a_peer_that_lives_and_is_silent_is_not_lost(
    plain: socket.socket, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("IDLE_S", "EVERY_S", "PROBES"):
        monkeypatch.setattr(network, name, 1)
    with closing(opened(address(plain))) as port:
        link, _ = plain.accept()
        with link:
            assert port.read(3.5) == b""
            link.sendall(b"1.5\r\n")
            assert port.read(PATIENCE_S) == b"1.5\r\n"


# --- servers of RFC 2217 that do not do as they should ---


def test_a_willing_server_is_opened_without_a_word() -> None:
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        assert port.notices() == ()


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (SET_BAUDRATE, "baud 9600"),
        (SET_DATASIZE, "bits 8"),
        (SET_PARITY, "parity N"),
        (SET_STOPSIZE, "stop 1"),
    ],
)
def test_a_setting_that_the_server_refuses_is_named(command: int, words: str) -> None:
    def unwilling(got: int, value: bytes) -> bytes:
        return bytes(len(value) - 1) + b"\x09" if got == command else value

    with closing(Server(unwilling)) as server:
        error = refused(server.name)
    assert isinstance(error, PortUnavailable)
    assert f"does not accept {words}. " in error.reason
    assert "[link]" in error.reason


def test_a_server_that_speaks_telnet_only_is_told_apart() -> None:
    with closing(Server(lambda command, value: None)) as server:
        error = refused(server.name)
    assert isinstance(error, PortUnavailable)
    assert "takes no settings by RFC 2217" in error.reason


def test_a_server_without_modem_lines_is_opened_and_says_so_once() -> None:
    def lineless(command: int, value: bytes) -> bytes | None:
        return None if command == SET_CONTROL else value

    with closing(Server(lineless)) as server, closing(opened(server.name)) as port:
        assert port.name == server.name
        assert port.identity.text == server.name
        assert port.notices() == ("no-modem-lines",)
        assert port.notices() == ()
        server.links[-1].sendall(b"1.5\r\n")
        assert port.read(PATIENCE_S)


def test_a_server_that_never_answers_a_purge_is_refused_in_words() -> None:
    with closing(Server(lambda command, value: None if command == PURGE else value)) as server:
        error = refused(server.name)
    assert isinstance(error, PortUnavailable)
    assert "stopped answering while" in error.reason


def test_the_own_option_of_the_address_is_taken() -> None:
    def lineless(command: int, value: bytes) -> bytes | None:
        return None if command == SET_CONTROL else value

    with (
        closing(Server(lineless)) as server,
        closing(opened(f"{server.name}&ign_set_control")) as port,
    ):
        assert len(server.links) == 1
        assert port.notices() == ()


def test_an_unknown_option_of_the_address_is_refused() -> None:
    error = refused("rfc2217://127.0.0.1:9?colour=red")
    assert isinstance(error, PortUnavailable)
    assert "colour" in error.reason


@pytest.mark.parametrize(
    "garbage",
    [
        bytes((IAC, SE)),  # the end of what never began
        bytes((IAC, SB, IAC, SE)),
        bytes((IAC, SB, COM_PORT, IAC, SE)),
        bytes((IAC, SB, COM_PORT, SERVER + SET_BAUDRATE, IAC, SE)),
        bytes((IAC, WILL, 200, IAC, DO, 200, IAC, 7)),
        bytes(range(256)),
    ],
    ids=lambda garbage: garbage[:8].hex(),
)
def test_what_telnet_does_not_allow_ends_at_most_the_connection(garbage: bytes) -> None:
    """A traceback of pyserial's thread would fail this test."""
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        server.links[0].sendall(garbage + b"1.5\r\n")
        with suppress(PortLost):
            for _ in range(3):
                port.read(0.2)


def endless() -> bytes:
    """A suboption that begins and goes on."""
    return bytes((IAC, SB, COM_PORT)) + b"x" * 2000


def test_a_suboption_without_end_is_a_broken_server() -> None:
    """The bound is ours: 1 KiB."""
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        server.links[0].sendall(b"1.5\r\n" + endless())
        got, why = read_to_the_end(port)
    assert got == b"1.5\r\n"
    assert "breaks RFC 2217" in why
    assert "more than 1024 bytes" in why


def test_an_end_without_a_beginning_is_a_broken_server_too() -> None:
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        server.links[0].sendall(bytes((IAC, SE)))
        with pytest.raises(PortLost, match=r"breaks RFC 2217.*never began"):
            read_long(port)


def test_a_server_that_answers_without_end_while_it_is_opened_is_refused() -> None:
    with closing(Server(lambda command, value: endless())) as server:
        assert isinstance(refused(server.name), PortUnavailable)


def flood(link: socket.socket) -> int:
    """How much a peer takes of a flood before it takes no more, or 64 MB."""
    link.settimeout(0.5)
    sent, block = 0, b"0123456789abcdef" * 4096
    with suppress(TimeoutError):
        while sent < 64_000_000:
            sent += link.send(block)
    return sent


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "MOST_WAITING_BYTES", 1000)


@pytest.mark.usefixtures("narrow")
def test_a_flood_waits_in_bounded_memory_and_closing_does_not_wait_for_it() -> None:
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        assert flood(server.links[0]) < 64_000_000
        assert isinstance(port._device, network.TelnetClient)
        assert port._device.in_waiting == 1000
        taken = b""
        while len(taken) < 2000:  # what one read gives is what has come by then
            more = port.read(1.0)
            assert more
            taken += more
        assert taken[:2000] == (b"0123456789abcdef" * 200)[:2000]
        began = time.monotonic()
        port.close()
        assert time.monotonic() - began < 2.0
    assert not [thread for thread in threading.enumerate() if "RFC 2217" in thread.name]


@pytest.mark.usefixtures("narrow")
def test_no_byte_of_a_flood_is_lost_and_the_end_shows_behind_it() -> None:
    sent = b"0123456789abcdef" * 4096
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        server.links[0].sendall(sent)
        server.links[0].shutdown(socket.SHUT_RDWR)
        got, why = read_to_the_end(port)
    assert got == sent
    assert "closed the connection" in why


@pytest.mark.usefixtures("narrow")
def test_a_flood_while_it_is_opened_does_not_keep_it_from_opening() -> None:
    def chatty(command: int, value: bytes) -> bytes:
        # the value, the end of the answer, then data that the next answers wait behind
        return value + bytes((IAC, SE)) + b"x" * 3000 + bytes((IAC, SB, COM_PORT, 99))

    with closing(Server(chatty)) as server, closing(opened(server.name)) as port:
        assert port.name == server.name


def serve_once(server: socket.socket, words: bytes, wait_s: float = 0.0) -> threading.Thread:
    """What a server of one client does with a second one: it says so and hangs up."""

    def run() -> None:
        with suppress(OSError):
            link, _ = server.accept()
            with link:
                link.sendall(words)
                time.sleep(wait_s)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    return thread


def test_a_raw_port_in_use_says_so(plain: socket.socket) -> None:
    """The words are ser2net's, version 4.3.11."""
    thread = serve_once(plain, b"Port already in use\r\n")
    with closing(opened(address(plain))) as port:
        assert port.read(PATIENCE_S) == b"Port already in use\r\n"
        with pytest.raises(PortLost, match="another program is connected"):
            port.read(PATIENCE_S)
    thread.join(PATIENCE_S)


def test_an_rfc2217_port_in_use_is_busy(plain: socket.socket) -> None:
    thread = serve_once(plain, b"Port already in use\r\n", wait_s=0.3)
    error = refused(telnet_address(plain))
    assert isinstance(error, PortBusy), error
    thread.join(PATIENCE_S)


def test_a_server_that_hangs_up_at_once_is_refused_in_words(plain: socket.socket) -> None:
    thread = serve_once(plain, b"")
    error = refused(telnet_address(plain))
    assert isinstance(error, PortUnavailable)
    assert "hung up at once" in error.reason or "rfc2217://" in error.reason
    thread.join(PATIENCE_S)


def test_an_rfc2217_server_that_takes_no_bytes_is_lost_in_bounded_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("drivers.ports.serial_port.WRITE_TIMEOUT_S", 0.3)
    with closing(Server(willing)) as server, closing(opened(server.name)) as port:
        drop_everything(server.links[0])
        began = time.monotonic()
        with pytest.raises(PortLost, match="did not take what was sent"):
            port.write(b"x" * 20_000_000)
        assert time.monotonic() - began < PATIENCE_S


# --- the machine's own ports ---


def test_closing_leaves_the_lines_as_they_are(pty: Pty) -> None:
    """HUPCL drops DTR at the last close. Source: termios(3)."""
    with open(pty.path, "rb", buffering=0, opener=_no_controlling_terminal) as watcher:
        settings = termios.tcgetattr(watcher)
        settings[2] |= termios.HUPCL  # as a serial adapter has it
        termios.tcsetattr(watcher, termios.TCSANOW, settings)
        with closing(opened(pty.path)):
            assert not termios.tcgetattr(watcher)[2] & termios.HUPCL


def _no_controlling_terminal(path: str, flags: int) -> int:
    return os.open(path, flags | os.O_NOCTTY)
