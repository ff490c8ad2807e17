"""What a sheet says of itself for a program to read: which record it was made from, and a digest
over its own text, so that a changed number is found. Pure.

The digest is SHA-256 over the file's bytes in UTF-8 with line ends as LF, the digest itself as 64
zeros. It finds what was changed by hand or on the way, not a forger, who can make a new one: what
the sheet says is held against the record for that (daq/sheet/compare.py).

A PDF ends with a comment line behind its last line, `%jbridge-sheet` and the digest of all bytes
before; the sheet as HTML is attached to it.
"""

import hashlib
import re

import msgspec

MARK = "<!DOCTYPE html>\n<!-- Made by jbridge sheet -->"
"""By this the program knows a sheet of its own."""

UNSEALED = "0" * 64
_HEAD = 4096
"""Characters in which all that is looked for stands, before any text of people's."""

_META = re.compile(r'<meta name="jbridge-([a-z]+)" content="([^"<>]*)">')
_DIGEST = re.compile(r'(<meta name="jbridge-digest" content=")([0-9a-f]{64})(">)')
_PDF_SEAL = re.compile(rb"%jbridge-sheet ([0-9a-f]{64})\n\Z")


class Seal(msgspec.Struct, frozen=True):
    """What a sheet says of itself. `is_unchanged`: its digest fits."""

    session: str
    line: int
    chain: str
    program: str
    units: str
    is_unchanged: bool


def sealed(page: str) -> str:
    """A page whose digest is UNSEALED, with its digest."""
    return _with_digest(page, _digest_of(page))


def seal_of(page: str) -> Seal | None:
    """What a page says of itself; None if it is no sheet."""
    text = as_written(page)
    said = dict(reversed(_META.findall(text[:_HEAD])))  # the first of a name counts
    try:
        if not text.startswith(MARK) or not _DIGEST.search(text, 0, _HEAD):
            return None
        return Seal(
            session=said["session"],
            line=int(said["line"]),
            chain=said["chain"],
            program=said["program"],
            units=said["units"],
            is_unchanged=said["digest"] == _digest_of(text),
        )
    except (KeyError, ValueError):
        return None


def as_written(page: str) -> str:
    """A page with the line ends that it was written with, whatever carried it here."""
    return page.removeprefix("\ufeff").replace("\r\n", "\n")


def without_digest(page: str) -> str:
    """A page with UNSEALED as its digest."""
    return _with_digest(as_written(page), UNSEALED)


def _with_digest(page: str, digest: str) -> str:
    head, rest = page[:_HEAD], page[_HEAD:]
    return _DIGEST.sub(rf"\g<1>{digest}\g<3>", head, count=1) + rest


def _digest_of(page: str) -> str:
    return hashlib.sha256(_with_digest(page, UNSEALED).encode("utf-8")).hexdigest()


def sealed_pdf(data: bytes) -> bytes:
    """A PDF with the digest of its bytes behind it, where readers look for nothing."""
    whole = data if data.endswith(b"\n") else data + b"\n"
    return whole + b"%jbridge-sheet " + hashlib.sha256(whole).hexdigest().encode() + b"\n"


def is_own_pdf(data: bytes) -> bool:
    """A PDF that this program made, changed since or not."""
    return data.startswith(b"%PDF-") and _PDF_SEAL.search(data[-128:]) is not None


def is_pdf_unchanged(data: bytes) -> bool:
    """The bytes of a PDF of this program are those that it wrote."""
    found = _PDF_SEAL.search(data[-128:])
    if found is None:
        return False
    whole = data[: len(data) - len(found[0])]
    return found[1].decode() == hashlib.sha256(whole).hexdigest()


__all__ = [
    "MARK",
    "UNSEALED",
    "Seal",
    "as_written",
    "is_own_pdf",
    "is_pdf_unchanged",
    "seal_of",
    "sealed",
    "sealed_pdf",
    "without_digest",
]
