"""A sheet as PDF, by a library that is an extra: the page laid out for paper, and attached."""

import zlib
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from daq.errors import ExportError
from daq.sheet.letterhead import Paper
from daq.sheet.seal import MARK, sealed_pdf

if TYPE_CHECKING:
    from weasyprint import Document

ATTACHED = "sheet.html"
MOST_ATTACHED_BYTES = 16 * 1024 * 1024

SMALLER = (0.94, 0.88)
"""How much smaller a page may be made. Chosen by us: the small print is 6.3 points high then."""

MOST_PAGES_MADE_SMALLER = 2
"""What takes more pages stays as large as it is."""

_SIZES_MM: Mapping[Paper, tuple[float, float]] = {"a4": (210, 297), "letter": (215.9, 279.4)}
"""ISO 216; ANSI/ASME Y14.1, size A."""

_INSTALL = "pip install 'journalbridge[pdf]'"
_SYSTEM = "libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0 (so Debian calls them)"
_OTHERWISE = "Or write an HTML sheet and print that from a browser"


def pdf_of(page: str, paper: Paper = "a4") -> bytes:
    """The PDF of a page that `daq.sheet.page` made, on a paper, sealed. What would reach a little
    over one page is made smaller to stand on it. Raises ExportError where the library is missing or
    cannot work.
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

    def laid_out(scale: float) -> "Document":
        wide, high = (f"{side / scale}mm" for side in _SIZES_MM[paper])
        sized = CSS(string=f"@page {{ size: {wide} {high} }}")
        return html.render(stylesheets=[sized], attachments=[itself])

    document, scale = laid_out(1.0), 1.0
    if len(document.pages) == MOST_PAGES_MADE_SMALLER:
        for smaller in SMALLER:
            tried = laid_out(smaller)
            if len(tried.pages) == 1:
                document, scale = tried, smaller
                break
    data: bytes = document.write_pdf(zoom=scale, attachments=[itself])
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
