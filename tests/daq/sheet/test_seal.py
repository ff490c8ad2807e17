"""What a sheet says of itself, and that a change is found."""

import hashlib

from daq.sheet.seal import (
    MARK,
    UNSEALED,
    is_own_pdf,
    is_pdf_unchanged,
    seal_of,
    sealed,
    sealed_pdf,
    without_digest,
)

CHAIN = "ab" * 32
PAGE = f"""{MARK}
<meta name="jbridge-digest" content="{UNSEALED}">
<meta name="jbridge-session" content="20261125T080000Z-test">
<meta name="jbridge-line" content="54">
<meta name="jbridge-chain" content="{CHAIN}">
<meta name="jbridge-program" content="0.4.0">
<meta name="jbridge-units" content="both">
<p>59.9782</p>
"""


def test_the_digest_is_over_the_page_with_the_digest_as_zeros() -> None:
    digest = hashlib.sha256(PAGE.encode()).hexdigest()
    assert sealed(PAGE) == PAGE.replace(UNSEALED, digest)
    assert without_digest(sealed(PAGE)) == PAGE


def test_a_page_says_which_record_it_was_made_from() -> None:
    found = seal_of(sealed(PAGE))
    assert found is not None
    assert (found.session, found.line, found.chain) == ("20261125T080000Z-test", 54, CHAIN)
    assert (found.program, found.units, found.is_unchanged) == ("0.4.0", "both", True)


def test_any_changed_letter_is_found_and_other_line_ends_are_none() -> None:
    page = sealed(PAGE)
    for at in range(len(MARK) + 1, len(page)):
        changed = page[:at] + chr(ord(page[at]) ^ 1) + page[at + 1 :]
        found = seal_of(changed)
        assert found is None or not found.is_unchanged, at
    carried = seal_of("\ufeff" + page.replace("\n", "\r\n"))
    assert carried is not None
    assert carried.is_unchanged


def test_a_second_digest_further_down_is_text_and_nothing_else() -> None:
    page = sealed(PAGE.replace("59.9782", f'<meta name="jbridge-digest" content="{CHAIN}">'))
    found = seal_of(page)
    assert found is not None
    assert found.is_unchanged
    assert f'content="{CHAIN}">' in page.partition("<p>")[2]


def test_what_is_no_sheet_says_nothing() -> None:
    for text in ("", "<html></html>", MARK, PAGE[1:], PAGE.replace("jbridge-chain", "x-chain")):
        assert seal_of(text) is None
    assert seal_of(PAGE.replace('content="54"', 'content="many"')) is None


def test_a_pdf_is_sealed_behind_its_end() -> None:
    data = b"%PDF-1.7\nwords\n%%EOF"
    own = sealed_pdf(data)
    digest = hashlib.sha256(data + b"\n").hexdigest().encode()
    assert own == data + b"\n%jbridge-sheet " + digest + b"\n"
    assert is_own_pdf(own)
    assert is_pdf_unchanged(own)
    edited = own.replace(b"words", b"wards")
    assert is_own_pdf(edited)
    assert not is_pdf_unchanged(edited)
    assert not is_own_pdf(data)
    assert not is_pdf_unchanged(data)
    assert not is_own_pdf(own + b"saved again")
