"""The chain: SHA-256 over the previous line's 64 digits followed by the body."""

import hashlib
import re

import pytest

from daq.storage.chain import START, ending, headed, sealed, stated_digest, unsealed

BODY = b'{"seq":1,"at":"2026-11-25T08:00:00.000000Z","kind":"note","about":"note","text":"x"'
ZEROS = "0" * 64


def test_the_digest_is_sha256_over_the_previous_digits_and_the_body() -> None:
    line, digest = sealed(BODY, ZEROS)
    assert digest == hashlib.sha256(b"0" * 64 + BODY).hexdigest()
    assert line == BODY + b',"chain":"' + digest.encode() + b'"}'


def test_a_digest_known_from_elsewhere() -> None:
    # SHA-256 of 64 zeros followed by "abc", by coreutils:
    #   printf '%064dabc' 0 | sha256sum
    _, digest = sealed(b"abc", ZEROS)
    assert digest == "b64374d04ef9c4f39fddb1e0d6be38a0130f6c057fc0f4ee467ea0e18bc758f1"


def test_each_line_is_bound_to_the_one_before() -> None:
    first, one = sealed(BODY, ZEROS)
    second, two = sealed(BODY, one)
    assert first != second
    assert two == hashlib.sha256(one.encode("ascii") + BODY).hexdigest()
    assert unsealed(second, one) == two
    assert unsealed(second, ZEROS) is None


@pytest.mark.parametrize("tail", [b"\r", b" ", b"\n", b"\x00", b"}"])
def test_the_tail_is_compared_byte_for_byte(tail: bytes) -> None:
    line, _ = sealed(BODY, ZEROS)
    assert unsealed(line, ZEROS) is not None
    assert unsealed(line + tail, ZEROS) is None


def test_digits_in_capitals_are_another_tail() -> None:
    line, digest = sealed(BODY, ZEROS)
    assert re.search("[a-f]", digest)
    assert unsealed(line.replace(digest.encode(), digest.upper().encode()), ZEROS) is None


@pytest.mark.parametrize("line", [b"", b"{}", b'"}', b',"chain":"' + b"0" * 64 + b'"}'])
def test_what_has_no_body_has_no_digest(line: bytes) -> None:
    assert unsealed(line, ZEROS) is None


def test_a_records_fields_follow_those_of_its_head() -> None:
    assert headed(b'{"n":1,', b'{"kind":"note","text":"x"}') == b'{"n":1,"kind":"note","text":"x"'


@pytest.mark.parametrize(
    ("last", "is_whole", "end"),
    [
        (b"", False, (4, b"", False)),  # "one" and its line feed: 4 bytes
        (b"two", True, (7, b"", True)),
        (b"tw", False, (4, b"tw", False)),
    ],
)
def test_the_end_of_a_file_is_whole_or_torn_or_lacks_its_line_feed(
    last: bytes, is_whole: bool, end: tuple[int, bytes, bool]
) -> None:
    assert ending(b"one\n" + last, last, is_whole=is_whole) == end


def test_a_line_states_its_digest_whether_or_not_it_is_its_own() -> None:
    line, digest = sealed(BODY, ZEROS)
    assert stated_digest(line) == digest
    assert stated_digest(line.replace(b"note", b"nope", 1)) == digest
    assert stated_digest(b"") == START
    assert stated_digest(b"\xff" * 200) == ""
