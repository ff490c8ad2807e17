"""The chain of digests over a ledger's lines, computed on the bytes as they stand in the file.

A chain finds damage, not a forger: whoever can write the file can write a new chain.
"""

from hashlib import sha256

START = "0" * 64
"""What stands for the digest before the first line."""

_HEAD, _FOOT = b',"chain":"', b'"}'
TAIL_BYTES = len(_HEAD) + 64 + len(_FOOT)


def sealed(body: bytes, previous: str) -> tuple[bytes, str]:
    """A body (a JSON object without its closing brace) as a whole line without LF, and its digest.

    The digest is SHA-256 over the previous line's 64 hex digits followed by the body.
    """
    digest = sha256(previous.encode("ascii") + body).hexdigest()
    return body + _HEAD + digest.encode("ascii") + _FOOT, digest


def unsealed(line: bytes, previous: str) -> str | None:
    """The digest of a whole line without LF if its tail and digest are right, else None."""
    body, tail = line[:-TAIL_BYTES], line[-TAIL_BYTES:]
    if not body:
        return None
    again, digest = sealed(body, previous)
    return digest if tail == again[-TAIL_BYTES:] else None
