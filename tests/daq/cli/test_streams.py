"""Streams made fit: what is told may be lost, what was asked for is not lost unseen."""

import codecs
import errno
import io
import json
import os
import sys

import pytest

from daq.cli.streams import ESCAPING, escaped_for_json, flush_result, give_up_stdout, make_fit


class Full(io.RawIOBase):
    """A device that takes nothing."""

    def writable(self) -> bool:
        return True

    def write(self, data: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def stream(raw: io.RawIOBase | io.BytesIO, encoding: str = "ascii") -> io.TextIOWrapper:
    buffer = raw if isinstance(raw, io.BytesIO) else io.BufferedWriter(raw)
    return io.TextIOWrapper(buffer, encoding=encoding, write_through=False)


@pytest.fixture(autouse=True)
def _handler() -> None:
    codecs.register_error(ESCAPING, escaped_for_json)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_what_an_encoding_lacks_json_reads_back(encoding: str) -> None:
    text = "µ ☃ 😀 \udc9b"  # one plane, another one, and a byte that was no UTF-8
    sent = json.dumps(text, ensure_ascii=False).encode(encoding, ESCAPING)
    assert json.loads(sent.decode(encoding)) == text


def test_only_what_cannot_be_written_is_escaped() -> None:
    assert "µ☃".encode("latin-1", ESCAPING) == b"\xb5\\u2603"
    with pytest.raises(UnicodeDecodeError):
        b"\xff".decode("ascii", ESCAPING)


def test_words_that_cannot_be_told_are_lost_without_an_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = io.BytesIO()
    monkeypatch.setattr("sys.stdout", stream(out))
    monkeypatch.setattr("sys.stderr", stream(Full()))
    make_fit()
    print("words", file=sys.stderr)
    print("☃", file=sys.stderr, flush=True)
    print("result ☃")
    assert flush_result() is None
    assert out.getvalue() == b"result \\u2603\n"


def test_a_result_that_cannot_be_written_is_an_error_once_and_then_forgotten(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    full = os.open("/dev/full", os.O_WRONLY)
    monkeypatch.setattr("sys.stdout", os.fdopen(full, "w"))
    print("result")
    error = flush_result()
    assert error is not None
    assert error.errno == errno.ENOSPC
    sys.stdout.flush()  # as the interpreter does in the end: it goes nowhere now
    sys.stdout.close()


def test_a_stdout_that_is_closed_or_none_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout", None)
    assert flush_result() is None
    closed = stream(io.BytesIO())
    closed.close()
    monkeypatch.setattr("sys.stdout", closed)
    give_up_stdout()
