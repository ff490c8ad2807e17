"""Whichever call of the system fails, with whatever error, at whatever line: what was acknowledged
lies on the disk, and what is said of the line that failed is true.
"""

import errno
import os
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from daq.errors import LedgerError, LedgerNotRead, LedgerNotWritten, LedgerTaken
from daq.record.events import Entry, Noted
from daq.storage.ledger import LEDGER, Ledger, scan
from tests.builders import START_US, opened

LINES = 5


class Failing:
    """A call of `os` that fails from its `first` use on, or `is_once` only then.

    A write may first put half of its bytes on the disk.
    """

    def __init__(
        self, name: str, error: int, first: int, *, takes_half: bool = False, is_once: bool = False
    ) -> None:
        self.name = name
        self._call, self._error, self._left = getattr(os, name), error, first
        self._takes_half, self._is_once = takes_half, is_once

    def __call__(self, *args: Any, **options: Any) -> Any:
        self._left -= 1
        if self._left > 0 or (self._left < 0 and self._is_once):
            return self._call(*args, **options)
        if self._takes_half:
            self._takes_half = False
            fd, data = args
            return self._call(fd, data[: len(data) // 2])
        raise OSError(self._error, os.strerror(self._error))


def entries() -> list[Entry]:
    notes = [
        Entry(seq, START_US, Noted(about="note", text="n" * seq)) for seq in range(2, LINES + 1)
    ]
    return [Entry(1, START_US, opened()), *notes]


def append_until_it_fails(ledger: Ledger) -> tuple[list[bytes], LedgerNotWritten | None]:
    """The lines acknowledged, and what was said in the end."""
    acknowledged: list[bytes] = []
    for entry in entries():
        try:
            acknowledged += ledger.append([entry])
        except LedgerNotWritten as error:
            return acknowledged, error
    return acknowledged, None


CASES = [
    *product(
        ("write", "half", "fdatasync"),
        (errno.ENOSPC, errno.EIO, errno.EDQUOT),
        ("", "ftruncate", "fsync"),
    ),
    *product(("fstat", "stat"), (errno.EIO, errno.ESTALE), ("",)),
]


@pytest.mark.parametrize("line", range(1, LINES + 1))
@pytest.mark.parametrize(("call", "error", "besides"), CASES)
def test_what_was_acknowledged_is_there_and_the_words_are_true(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, error: int, besides: str, line: int
) -> None:
    folder = tmp_path / "s"
    ledger = Ledger.create(folder)
    failing = [Failing("write" if call == "half" else call, error, line, takes_half=call == "half")]
    if besides:
        failing.append(Failing(besides, error, 1))
    with monkeypatch.context() as patched:
        for one in failing:
            patched.setattr(os, one.name, one)
        acknowledged, said = append_until_it_fails(ledger)
    assert said is not None
    assert said.exit_code == 4
    assert len(acknowledged) == line - 1
    ledger.close()
    places = [folder, *tmp_path.glob("s.rescued-*")]
    stored = [(place / LEDGER).read_bytes().split(b"\n") for place in places]
    if isinstance(said, LedgerTaken) and acknowledged:
        assert said.rescued in places or "No place was found" in str(said)
    if "may or may not be kept" in str(said):
        assert stored[0][: len(acknowledged)] == acknowledged
        assert not said.is_known
    else:
        assert [*acknowledged, b""] in stored  # nothing of the line that failed
    if acknowledged:
        assert len(scan(folder).entries) in (len(acknowledged), len(acknowledged) + 1)


@pytest.mark.parametrize("line", range(1, LINES + 1))
def test_of_a_disk_that_takes_half_of_a_write_the_rest_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: int
) -> None:
    folder = tmp_path / "s"
    ledger = Ledger.create(folder)
    half = Failing("write", 0, line, takes_half=True, is_once=True)
    with monkeypatch.context() as patched:
        patched.setattr(os, "write", half)
        acknowledged, said = append_until_it_fails(ledger)
    ledger.close()
    assert said is None
    assert len(acknowledged) == LINES
    assert (folder / LEDGER).read_bytes().split(b"\n") == [*acknowledged, b""]


@pytest.mark.parametrize(("error", "code"), [(errno.EIO, 4), (errno.ESTALE, 4), (errno.EACCES, 2)])
def test_a_disk_that_cannot_be_read_is_this_machines_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: int, code: int
) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append(entries())
    ledger.close()
    monkeypatch.setattr("daq.storage.ledger.plain_bytes", Failing("read", error, 1))
    with pytest.raises(LedgerError, match="cannot be read") as caught:
        scan(tmp_path / "s")
    assert caught.value.exit_code == code
    assert isinstance(caught.value, LedgerNotRead) is (code == 4)
