"""Telnet as RFC 2217 needs it: the bytes of a connection, taken apart. Pure; memory is bounded.

Source: RFC 854, "Telnet Protocol Specification", and RFC 855 for suboptions (from memory).
"""

from collections.abc import Iterator

import msgspec

MOST_SUBOPTION_BYTES = 1024
"""Those of RFC 2217 have a few bytes, but for a server's signature, a line of text. Chosen by us:
far above any of them."""

_IAC, _DONT, _DO, _WONT, _WILL, _SB, _SE = 255, 254, 253, 252, 251, 250, 240


class NotTelnet(ValueError):
    """The other end sends what telnet does not allow."""


class Wish(msgspec.Struct, frozen=True):
    """DO, DONT, WILL or WONT, and the option that it is about: one byte each."""

    command: bytes
    option: bytes


class Suboption(msgspec.Struct, frozen=True):
    """What stood between SB and SE, doubled IACs made one."""

    data: bytes


class Telnet:
    """One direction of a connection, from its start."""

    def __init__(self) -> None:
        self._has_iac = False
        self._wish: bytes | None = None
        self._suboption: bytearray | None = None

    def feed(self, data: bytes) -> Iterator[int | Wish | Suboption]:
        """What `data` completes, in order; a byte of the gauge is an int. Other commands are left
        out. Raises NotTelnet for a suboption beyond MOST_SUBOPTION_BYTES, or one that only ends.
        """
        for byte in data:
            if self._wish is not None:
                yield Wish(self._wish, bytes((byte,)))
                self._wish = None
            elif self._has_iac:
                self._has_iac = False
                yield from self._commanded(byte)
            elif byte == _IAC:
                self._has_iac = True
            else:
                yield from self._meant(byte)

    def _commanded(self, byte: int) -> Iterator[int | Suboption]:
        """The byte behind an IAC."""
        if byte == _IAC:
            yield from self._meant(byte)
        elif byte == _SB:
            self._suboption = bytearray()
        elif byte == _SE:
            if self._suboption is None:
                raise NotTelnet("the end of a suboption that never began")
            yield Suboption(bytes(self._suboption))
            self._suboption = None
        elif byte in (_DO, _DONT, _WILL, _WONT):
            self._wish = bytes((byte,))

    def _meant(self, byte: int) -> Iterator[int]:
        """A byte of the gauge, or of a suboption."""
        if self._suboption is None:
            yield byte
        elif len(self._suboption) == MOST_SUBOPTION_BYTES:
            raise NotTelnet(f"a suboption of more than {MOST_SUBOPTION_BYTES} bytes")
        else:
            self._suboption.append(byte)
