"""A PDF: what is attached is found again; what is missing here is said."""

import builtins
import sys
import zlib
from typing import Any

import pytest

from daq.errors import ExportError
from daq.sheet.pdf import attached, pdf_of
from daq.sheet.seal import MARK, is_pdf_unchanged, sealed_pdf

PAGE = f"{MARK}\n<p>59.9782 \u00b0</p>\n"


def stream(data: bytes) -> bytes:
    return b"<<>>\nstream\n" + data + b"\nendstream\n"


def test_the_attached_page_is_found_among_the_streams() -> None:
    drawn, own = stream(zlib.compress(b"0 0 m")), stream(zlib.compress(PAGE.encode()))
    assert attached(b"%PDF-1.7\n" + drawn + stream(b"\xff\x00no zlib") + own) == PAGE
    assert attached(b"%PDF-1.7\n" + stream(PAGE.encode())) == PAGE
    assert attached(b"%PDF-1.7\n" + drawn) is None
    assert attached(b"%PDF-1.7\nstream") is None
    assert attached(b"%PDF-1.7\n" + stream(zlib.compress(MARK.encode() + b"\xff"))) is None


def test_a_stream_that_unfolds_without_end_is_read_so_far_only() -> None:
    bomb = stream(zlib.compress(b"\x00" * 20 * 1024 * 1024, 1))
    assert attached(b"%PDF-1.7\n" + bomb) is None


@pytest.mark.parametrize(
    ("error", "said"),
    [(ImportError("weasyprint"), r"journalbridge\[pdf\]"), (OSError("pango"), "libpango-1.0-0")],
)
def test_what_is_missing_is_named(
    monkeypatch: pytest.MonkeyPatch, error: Exception, said: str
) -> None:
    usual = builtins.__import__

    def without(name: str, *rest: Any) -> Any:
        if name.startswith("weasyprint"):
            raise error
        return usual(name, *rest)

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ExportError, match=said) as caught:
        pdf_of(PAGE)
    assert caught.value.exit_code == 4
    assert "HTML" in str(caught.value)


def test_a_sealed_pdf_ends_as_one() -> None:
    assert is_pdf_unchanged(sealed_pdf(b"%PDF-1.7\n%%EOF\n"))
