"""A sheet as PDF, by a library that is an extra: the page laid out for paper, and attached."""

import zlib
from collections.abc import Iterator

from daq.errors import ExportError
from daq.sheet.letterhead import Paper
from daq.sheet.seal import MARK, sealed_pdf

ATTACHED = "sheet.html"
MOST_ATTACHED_BYTES = 16 * 1024 * 1024

_INSTALL = "pip install 'journalbridge[pdf]'"
_SYSTEM = "libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0 (so Debian calls them)"
_OTHERWISE = "Or write an HTML sheet and print that from a browser"


def pdf_of(page: str, paper: Paper = "a4") -> bytes:
    """The PDF of a page that `daq.sheet.page` made, on a paper, sealed. Raises ExportError where
    the library is missing or cannot work.
    """
    try:
        from weasyprint import CSS, HTML, Attachment  # noqa: PLC0415 - an extra
        from weasyprint.urls import URLFetcher  # noqa: PLC0415
    except ImportError as error:
        raise ExportError(
            f"A PDF cannot be made: weasyprint is not installed here. {_INSTALL}. {_OTHERWISE}."
        ) from error
    except OSError as error:
        raise ExportError(
            f"A PDF cannot be made: weasyprint does not find its libraries. Install {_SYSTEM}. "
            f"{_OTHERWISE}."
        ) from error
    itself = Attachment(
        string=page.encode("utf-8"),
        name=ATTACHED,
        description="The sheet as a page for a browser",
        relationship="Source",
    )
    html = HTML(string=page, url_fetcher=URLFetcher(allowed_protocols={"data"}))
    sized = CSS(string=f"@page {{ size: {paper} }}")
    data: bytes = html.write_pdf(attachments=[itself], stylesheets=[sized])
    return sealed_pdf(data)


def attached(data: bytes) -> str | None:
    """The page that is attached to a PDF of this program; None if there is none."""
    for text in _streams(data):
        if text.startswith(MARK.encode("utf-8")):
            try:
                return text.decode("utf-8")
            except UnicodeDecodeError:
                return None
    return None


def _streams(data: bytes) -> Iterator[bytes]:
    """The bytes of each stream, unfolded, no further than a sheet may be long."""
    for piece in data.split(b"stream")[1:]:
        body = piece.removeprefix(b"\r").removeprefix(b"\n")
        if body.startswith(MARK[:9].encode()):
            yield body.rpartition(b"\nend")[0]
            continue
        unfolder = zlib.decompressobj()
        try:
            yield unfolder.decompress(body, MOST_ATTACHED_BYTES)
        except zlib.error:
            continue


__all__ = ["ATTACHED", "MOST_ATTACHED_BYTES", "attached", "pdf_of"]
