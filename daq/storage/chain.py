"""The chain of digests over the lines of a file, computed on the bytes as they stand in it. Pure.

A line is BODY + `,"chain":"` + 64 hex digits + `"}` and a line feed. A chain finds damage, not a
forger: whoever can write the file can write a new chain.
"""

from hashlib import sha256

import msgspec

START = "0" * 64
"""What stands for the digest before the first line."""

_HEAD, _FOOT = b',"chain":"', b'"}'
TAIL_BYTES = len(_HEAD) + 64 + len(_FOOT)


class FileEnd(msgspec.Struct, frozen=True):
    """How a file of chained lines ends: what every reader of one finds.

    `whole_bytes` reach to the end of the last whole line; `torn` is a half line behind it;
    `lacks_lf` says that the last line is whole but for its line feed.
    """

    whole_bytes: int
    torn: bytes
    lacks_lf: bool


def ending(data: bytes, last: bytes, *, is_whole: bool) -> tuple[int, bytes, bool]:
    """The fields of a FileEnd for a file's bytes, of which `last` stand behind the last line feed.

    `is_whole`: they are a line by their digest, so that only the line feed is missing.
    """
    if not last or is_whole:
        return len(data), b"", bool(last)
    return len(data) - len(last), last, False


def headed(head: bytes, record: bytes) -> bytes:
    """A record's JSON object with more fields before its own, as the body that `sealed` takes.

    `head` is `{` and those fields, each with its comma.
    """
    return head + record[1:-1]


def sealed(body: bytes, previous: str) -> tuple[bytes, str]:
    """A body (a JSON object without its closing brace) as a whole line without LF, and its digest.

    The digest is SHA-256 over the previous line's 64 hex digits followed by the body.
    """
    digest = sha256(previous.encode("ascii") + body).hexdigest()
    return body + _HEAD + digest.encode("ascii") + _FOOT, digest


def unsealed(line: bytes, previous: str) -> str | None:
    """The digest of a whole line without LF if its tail and digest are right, else None."""
    body = line[:-TAIL_BYTES]
    digest = sha256(previous.encode("ascii") + body).hexdigest()
    tail = _HEAD + digest.encode("ascii") + _FOOT
    return digest if body and line.endswith(tail) else None


def stated_digest(line: bytes) -> str:
    """The digest that a line's tail names, whether or not it is its own: "" where it names none,
    START for no line at all.
    """
    if not line:
        return START
    digits = line[-TAIL_BYTES:][len(_HEAD) : -len(_FOOT)]
    return digits.decode("ascii") if digits.isascii() else ""
