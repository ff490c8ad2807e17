"""Serial ports behind a network, socket:// and rfc2217://: opening, and how a dead peer shows.

Source: RFC 2217 (from memory); what servers do was tried with ser2net 4.3.11 and pyserial 3.5.
"""

import contextlib
import errno
import queue
import select
import socket
import time
from collections.abc import Iterator
from itertools import islice
from urllib.parse import urlsplit

import serial
from serial import rfc2217
from serial.serialutil import PortNotOpenError, SerialException
from serial.urlhandler import protocol_socket

from drivers.ports.line import READ_BYTES, Ended
from drivers.ports.telnet import NotTelnet, Suboption, Telnet, Wish

IDLE_S, EVERY_S, PROBES = 10, 5, 3
"""A silent peer is asked after IDLE_S, then every EVERY_S; after PROBES without answer it counts as
dead: 25 s in all. Chosen by us: longer than a wireless link stumbles, short for who waits."""

NO_MODEM_LINES = "no-modem-lines"
"""The server did not answer the setting of DTR and RTS, so these do not reach the gauge."""

FIRST_BYTES = 64
"""So much of what comes first is kept, to tell a server's own words from a gauge's."""

_IN_USE = b"already in use"
"""What ser2net says to a second client, then it hangs up. Source: tried with 4.3.11."""

MOST_WAITING_BYTES = 64 * 1024
"""So many unread bytes of an RFC 2217 server are kept, then the connection is read no further and
TCP holds the server back. Chosen by us: some seconds of the fastest line."""

_ROOM_WAIT_S = 0.1
"""So often a thread that waits for room looks whether the port was closed."""

_ENDED = "the connection ended"
_NOT_TELNET = "not telnet"
"""How the error begins that names what a server sent."""

_AGAIN_AFTER_S = 0.5
"""A server of one client needs a moment to notice that the first connection is closed."""


class _Closed:
    """pyserial leaves the socket open where the other end has reset the connection."""

    _socket: socket.socket | None

    def close(self) -> None:
        """Close the connection, whatever state it is in."""
        link = self._socket
        super().close()  # type: ignore[misc] # of the client that this is mixed into
        if link is not None:
            link.close()


class RawClient(_Closed, protocol_socket.Serial):
    """pyserial's client of a plain TCP port, which keeps what comes right after connecting.

    There is nothing stale in a new connection, and the first words tell whose port it is.
    """

    def reset_input_buffer(self) -> None:
        """Nothing is thrown away."""

    def take(self, wait_s: float) -> bytes:
        """What is there; else what comes first, waiting so long. Raises Ended, OSError."""
        link = self._socket
        if link is None:
            raise PortNotOpenError
        if not select.select([link], [], [], wait_s)[0]:
            return b""
        data = link.recv(READ_BYTES)
        if not data:
            raise Ended
        return data


class TelnetClient(_Closed, rfc2217.Serial):
    """pyserial's client of RFC 2217, whose reading thread keeps its memory bounded and ends in
    silence, whatever a server sends.

    As it is, what is unread grows without bound, and the thread writes a traceback to the terminal.
    """

    _read_buffer: "queue.Queue[bytes | None]"
    _broken = ""
    _has_ended = False
    _is_opening = False

    def open(self) -> None:
        """Connect and agree on the settings; raises what pyserial raises."""
        self._broken, self._has_ended, self._is_opening = "", False, True
        try:
            super().open()
        finally:
            self._is_opening = False

    def take(self, wait_s: float) -> bytes:
        """What is there; else what comes first, waiting so long. Raises SerialException once all is
        read and the connection has ended.

        pyserial's `read` loses the rest then, and negotiates anew at each change of its timeout.
        """
        if not self.is_open:
            raise PortNotOpenError
        there = self._there(READ_BYTES)
        if there:
            return there
        if self._has_ended:
            raise SerialException(f"{_NOT_TELNET}: {self._broken}" if self._broken else _ENDED)
        try:
            first = self._read_buffer.get(timeout=wait_s)
        except queue.Empty:
            return b""
        return b"" if first is None else first + self._there(READ_BYTES - 1)

    def _there(self, most: int) -> bytes:
        """What is there now, not what comes meanwhile: a flood never lets go."""
        return b"".join(islice(self._unread(), min(most, self._read_buffer.qsize())))

    def reset_input_buffer(self) -> None:
        """Throw away what has come until now; pyserial goes on as long as more comes."""
        self.rfc2217_send_purge(rfc2217.PURGE_RECEIVE_BUFFER)
        with contextlib.suppress(queue.Empty):
            for _ in range(self._read_buffer.qsize()):
                self._read_buffer.get_nowait()

    def _telnet_read_loop(self) -> None:
        """What the thread runs: until the connection ends, is closed, or is no telnet."""
        self._read_buffer.maxsize = MOST_WAITING_BYTES
        try:
            self._take_all()
        except OSError:
            pass  # the connection is gone
        except NotTelnet as error:
            self._broken = str(error)
        except Exception as error:  # pyserial trips over answers in various ways
            self._broken = f"an answer that makes no sense ({error})"
        self._has_ended = True
        self._keep(None)  # what a read that waits takes for the end

    def _take_all(self) -> None:
        link, telnet = self._socket, Telnet()
        while self.is_open and link is not None:
            try:
                data = link.recv(1024)
            except TimeoutError:
                continue
            if not data:
                return
            for piece in telnet.feed(data):
                if isinstance(piece, int):
                    self._keep(bytes((piece,)))
                elif isinstance(piece, Wish):
                    self._telnet_negotiate_option(  # type: ignore[attr-defined] # not in the stubs
                        piece.command, piece.option
                    )
                elif isinstance(piece, Suboption):
                    self._telnet_process_subnegotiation(  # type: ignore[attr-defined] # as above
                        piece.data
                    )

    def _keep(self, byte: bytes | None) -> None:
        """Put it where `read` finds it, once there is room; nowhere if the port is closed."""
        while self.is_open:
            # Opening throws all of it away at the end, and waits for answers behind it: no waiting.
            is_patient = not self._is_opening
            with contextlib.suppress(queue.Full):
                self._read_buffer.put(byte, is_patient, _ROOM_WAIT_S)
                return
            if not is_patient:
                return

    def said_at_first(self) -> bytes:
        """What came before the opening failed."""
        return b"".join(islice(self._unread(), FIRST_BYTES))

    def _unread(self) -> Iterator[bytes]:
        """What is there, without waiting; nothing if it never was connected."""
        with contextlib.suppress(AttributeError, queue.Empty):
            while True:
                yield self._read_buffer.get_nowait() or b""


def client(name: str) -> RawClient | TelnetClient:
    """A client for this address, not yet connected; raises ValueError for options it has not."""
    made = TelnetClient(None) if name.startswith("rfc2217") else RawClient(None)
    made.port = name
    return made


def is_in_use(said: bytes) -> bool:
    """The server's words mean that another program is connected to its port."""
    return _IN_USE in said.lower()


def is_network(name: str) -> bool:
    """The port is behind a TCP connection."""
    return name.startswith(("socket://", "rfc2217://"))


def watch_over(device: serial.SerialBase, write_timeout_s: float) -> None:
    """Let the system ask a silent peer whether it lives, and bound the wait of a write.

    pyserial sets neither; without them a peer that lost its power is silent for ever.
    """
    link: socket.socket | None = getattr(device, "_socket", None)
    if link is None:
        return
    link.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
    for name, value in (
        ("TCP_KEEPIDLE", IDLE_S),
        ("TCP_KEEPALIVE", IDLE_S),  # what macOS calls it
        ("TCP_KEEPINTVL", EVERY_S),
        ("TCP_KEEPCNT", PROBES),
        ("TCP_USER_TIMEOUT", (IDLE_S + EVERY_S * PROBES) * 1000),
    ):
        option = getattr(socket, name, None)
        if option is not None:
            with contextlib.suppress(OSError):
                link.setsockopt(socket.IPPROTO_TCP, option, value)
    if link.gettimeout():  # rfc2217 writes by it; socket:// is polled
        link.settimeout(write_timeout_s)


def open_rfc2217(device: TelnetClient, name: str) -> tuple[str, ...]:
    """Open; once more without waiting for DTR and RTS where the server does not answer for these.

    So do servers whose own port has no such lines. Returns notices; raises what pyserial raises.
    """
    try:
        device.open()
    except SerialException as error:
        if "option 'control'" not in str(error) or "ign_set_control" in name:
            raise
    else:
        return ()
    time.sleep(_AGAIN_AFTER_S)
    # pyserial reads its options from the address alone.
    device.port = name + ("&" if urlsplit(name).query else "?") + "ign_set_control"
    device.open()
    return (NO_MODEM_LINES,)


def why_not_open(device: serial.SerialBase | None, words: str) -> str:
    """Why a network port could not be opened and what to do, of pyserial's `words`."""
    if "does not seem to support RFC2217" in words:
        return (
            "the other end does not answer as an rfc2217:// server. It may be a plain TCP "
            "port: try socket://. Or another program is connected to it: close that one"
        )
    if "Broken pipe" in words or "reset by peer" in words:
        return (
            "the server hung up at once. If another program is connected to it, close that "
            "one; else see the server's own log"
        )
    refused = _refused_settings(device)
    if "does not accept parameter change" in words and len(refused) == len(_SETTINGS):
        return (
            "the server takes no settings by RFC 2217. Switch that on at the server (in "
            "ser2net: telnet(rfc2217)), or have it serve plain TCP and use socket://"
        )
    if "does not accept parameter change" in words or "rejected value" in words:
        return (
            f"the server does not accept {', '.join(refused) or 'the settings'}. Set its port as "
            "the gauge needs it and let clients set it, or correct [link] in the profile"
        )
    if "timeout while waiting for option" in words:
        return (
            f"the server stopped answering while the port was being opened ({words}). Try "
            "again; else see the server's own log"
        )
    if "refused" in words:
        return (
            "the other machine refused the connection: nothing serves that port. Start the "
            f"serial server there, and check host and port ({words})"
        )
    if "timed out" in words:
        return (
            "the other machine does not answer. Check its power, its network and the address "
            f"({words})"
        )
    return ""


def why_lost(error: Exception | None, said: bytes = b"") -> str:
    """Why a network port went away, and what to do; `said` is what came first."""
    if is_in_use(said):
        return "another program is connected to the server. Close that one"
    number = getattr(error, "errno", None)
    if number in (errno.ETIMEDOUT, errno.EHOSTUNREACH, errno.ENETUNREACH, errno.ENETDOWN):
        return (
            f"the other machine has not answered for {IDLE_S + EVERY_S * PROBES} s. Check its "
            "power and the network between"
        )
    if _NOT_TELNET in str(error):
        return (
            "what the server sends breaks RFC 2217, so it cannot be trusted. See that a "
            "serial server is at this address; if it serves plain TCP, use socket://"
        )
    if _ENDED in str(error):
        return (
            "the other end closed the connection, or has not answered for "
            f"{IDLE_S + EVERY_S * PROBES} s. Check it, and the network between"
        )
    return "the other end closed the connection. Check it"


_SETTINGS = {
    "baudrate": ("baud", "baudrate"),
    "datasize": ("bits", "bytesize"),
    "parity": ("parity", "parity"),
    "stopsize": ("stop", "stopbits"),
}
"""pyserial's names of what is negotiated: the profile's word, and the attribute with the value."""


def _refused_settings(device: serial.SerialBase | None) -> list[str]:
    """The settings that the server did not confirm, with the values asked for."""
    settings = getattr(device, "_rfc2217_port_settings", None) or {}
    return [
        f"{word} {getattr(device, attribute, '?')}"
        for name, (word, attribute) in _SETTINGS.items()
        if name in settings and not _is_confirmed(settings[name])
    ]


def _is_confirmed(setting: rfc2217.TelnetSubnegotiation) -> bool:
    try:
        return setting.is_ready()
    except ValueError:  # rejected
        return False
