"""Where the page listens: the address as a person gives it, the socket, the links that lead there.

Nothing is sent to find out which address of this machine others reach it by.
"""

import errno
import ipaddress
import secrets
import socket
import sys
from contextlib import suppress

import msgspec

from daq.errors import NO_PORT, DaqError, UsageError

LOOPBACK = "127.0.0.1"
BACKLOG = 512
"""Beside a crowd a viewer waits here for less than a second (`daq/page/server/door.py`)."""

SECRET_BYTES = 16
"""128 bits: not to be guessed by trying."""

OPTION = "--board-on"
_EVERY = ("0.0.0.0", "::")
_ELSEWHERE = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))
"""Addresses that are nobody's. Source: RFC 5737, section 3; RFC 3849."""


class PageUnavailable(DaqError):
    """The page cannot be shown where it was asked for."""

    exit_code = NO_PORT

    def __init__(self, where: str, reason: str) -> None:
        self.where = where
        super().__init__(f"The page at the bench cannot listen on {where}: {reason}")


class Where(msgspec.Struct, frozen=True):
    """An address or name of this machine, and a port; 0 for a free one."""

    host: str
    port: int = 0

    @property
    def is_open(self) -> bool:
        """Others than this machine may reach it."""
        with suppress(ValueError):
            return not ipaddress.ip_address(self.host).is_loopback
        return self.host != "localhost"

    def __str__(self) -> str:
        return f"{in_brackets(self.host)}:{self.port}" if self.port else self.host


class Links(msgspec.Struct, frozen=True):
    """Where the page is found: `board` to look at, `press` to look at and press."""

    board: str
    press: str


class Secrets(msgspec.Struct, frozen=True):
    """The first segment of each link's path."""

    look: str
    press: str

    @classmethod
    def new(cls) -> "Secrets":
        """Two that nobody has seen."""
        return cls(secrets.token_urlsafe(SECRET_BYTES), secrets.token_urlsafe(SECRET_BYTES))


def where_of(text: str | None) -> Where:
    """The loopback and a free port for None, else ADDRESS[:PORT]. Raises UsageError."""
    if text is None:
        return Where(LOOPBACK)
    host = text.strip()
    if host.startswith("["):
        host, closed, rest = host[1:].partition("]")
        if not closed or (rest and not rest.startswith(":")) or ":" not in host:
            raise _refused(text)
        colon, port = rest[:1], rest[1:]
    elif host.count(":") > 1:
        raise UsageError(f"{OPTION} {text[:80]}: write an IPv6 address in brackets", OPTION)
    else:
        host, colon, port = host.partition(":")
    if not host or not host.isascii() or not all(char.isalnum() or char in ".-_:" for char in host):
        raise _refused(text)
    # A colon with nothing behind it is a port that was meant to be given.
    if colon and not (port.isascii() and port.isdigit() and int(port) <= 65535):
        raise _refused(text)
    return Where(host.lower(), int(port or 0))


def _refused(text: str) -> UsageError:
    return UsageError(
        f"{OPTION} {text[:80]!r} is not ADDRESS[:PORT], like 192.168.1.20:8080", OPTION
    )


def listening(where: Where) -> socket.socket:
    """A socket that listens there. Raises PageUnavailable."""
    try:
        found = socket.getaddrinfo(
            where.host, where.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )
    except (OSError, UnicodeError) as error:
        raise PageUnavailable(
            str(where), "nobody here knows that name. Give one of this machine's own addresses"
        ) from error
    why = OSError(errno.EADDRNOTAVAIL, "no address")
    for family, kind, protocol, _, address in found:
        sock = socket.socket(family, kind, protocol)
        try:
            _bind(sock, family, address)
        except OSError as error:
            sock.close()
            why = error
        else:
            return sock
    raise PageUnavailable(str(where), _reason(why)) from why


def _bind(sock: socket.socket, family: int, address: tuple[object, ...]) -> None:
    if sys.platform == "win32":
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:  # else the port of a run that ended a minute ago cannot be had again
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    if family == socket.AF_INET6 and address[0] == "::":
        with suppress(OSError):
            sock.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
    if _is_many(family, str(address[0])):
        raise OSError(errno.EADDRNOTAVAIL, "an address of many machines at once")
    sock.bind(address)
    sock.listen(BACKLOG)


def _is_many(family: int, address: str) -> bool:
    """An address of many machines at once: some systems let a socket listen there, and nobody ever
    reaches it.
    """
    if ipaddress.ip_address(address.partition("%")[0]).is_multicast:
        return True
    with suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect((address, 9))  # nothing is sent
        except PermissionError:  # a broadcast, which nobody asked for. Source: ip(7)
            return True
    return False


def _reason(error: OSError) -> str:
    match error.errno:
        case errno.EADDRINUSE:
            return (
                "another program has that port. Take another one, or leave the port out for a "
                "free one"
            )
        case errno.EADDRNOTAVAIL:
            return (
                "this machine does not have that address. Give one of its own, or 0.0.0.0 for all "
                "of them"
            )
        case errno.EACCES:
            return (
                "this port may not be opened. Take one from 1024 on, or leave the port out for a "
                "free one"
            )
        case _:
            return f"{error.strerror or error}. Give another address or port"


def netloc_of(where: Where, sock: socket.socket) -> str:
    """HOST:PORT as a browser that follows our links names it: of a socket that listens on all
    addresses one that others reach this machine by.
    """
    port: int = sock.getsockname()[1]
    host = reachable() if where.host in _EVERY else where.host
    # A browser leaves the usual port out. Source: Fetch, "serialize a request origin"; URL, 4.1.
    return in_brackets(host) if port == 80 else f"{in_brackets(host)}:{port}"


def links_of(netloc: str, known: Secrets) -> Links:
    """The two links."""
    return Links(f"http://{netloc}/{known.look}/", f"http://{netloc}/{known.press}/")


def in_brackets(host: str) -> str:
    """An address as it stands before a port."""
    return f"[{host}]" if ":" in host else host


def reachable() -> str:
    """An address of this machine that its network reaches it by; the loopback where there is none.
    The system says which one it would send from; nothing is sent.
    """
    for family, other in _ELSEWHERE:
        with suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as asking:
            asking.connect((other, 9))
            host: str = asking.getsockname()[0]
            if not host.startswith("fe80:"):
                return host
    with suppress(OSError):
        for _, _, _, _, address in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            return str(address[0])
    return LOOPBACK


__all__ = [
    "BACKLOG",
    "Links",
    "PageUnavailable",
    "Secrets",
    "Where",
    "links_of",
    "listening",
    "netloc_of",
    "where_of",
]
