"""Events to the bytes of ledger lines, and back."""

import hashlib
import json
import re
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.lengths import Position
from daq.record.events import (
    AnyEvent,
    CheckJudged,
    CheckRead,
    CheckTag,
    Closed,
    Dropped,
    Entry,
    Held,
    Kept,
    LinkBack,
    LinkLost,
    Noted,
    Read,
    Rejected,
    Resumed,
    Sent,
    Skipped,
    StintBegan,
    Voided,
    Zeroed,
)
from daq.record.results import JournalResult
from daq.storage.chain import sealed
from daq.storage.ledger import Ledger, scan
from daq.storage.ledger_codec import body_of, entry_of
from tests.builders import START_US, accepted, opened, setup, source

SENT = Sent("59.980", "mm", "0.001", "7", ("held", "repeat"), "35392e393830")
PLACE = Position("M1", "front", 45, 2)
RESULT = JournalResult(
    journal="M1",
    group="",
    positions_planned=1,
    positions_measured=0,
    low_limit_mm="59.970",
    verdict="incomplete",
    size_verdict="incomplete",
    form_verdict="no-limit",
    decision_rule="guard=max_error",
)

EVERY: dict[str, AnyEvent] = {
    "opened": opened(),
    "stint": StintBegan(
        stint=1, source=source(), stack="a", stack_size="59.970 mm", cause="first", why="begins"
    ),
    "check_reading": CheckRead(stint=1, check_no=2, phase="during", sent=SENT),
    "check_judged": CheckJudged(
        stint=1,
        check_no=2,
        phase="before",
        stack_size_mm="59.970",
        readings=5,
        mean_error_mm="-0.00010",
        spread_mm="0.001",
        drift_mm="",
        max_error_mm="0.002",
        max_spread_mm="0.002",
        max_drift_mm="0.002",
        passed=True,
        reason="fine",
    ),
    "reading": Read(stint=1, place=PLACE, sent=SENT),
    "held": Held(stint=1, reasons=("a", "b"), sent=SENT),
    "kept": Kept(held=3, stint=1, check=CheckTag(1, "before"), place=None),
    "dropped": Dropped(held=0, why="w", count=480, raw_hex="35", last_raw_hex="36", channel="2"),
    "void": Voided(target=3, why="back"),
    "skip": Skipped(place=PLACE, reason="behind the key"),
    "note": Noted(about="note", text="warm"),
    "zeroed": Zeroed(stint=1, why="operator"),
    "reject": Rejected(
        code="syntax",
        detail="d",
        raw_hex="ff",
        skipped=3,
        flags=("first-after-open",),
        count=9,
        last_raw_hex="00",
    ),
    "link_lost": LinkLost(reason="gone"),
    "link_back": LinkBack(source=source()),
    "resumed": Resumed(
        program="0.1.0",
        rules=1,
        setup=setup(),
        same_gauge="other socket",
        torn_bytes=7,
        torn_file="torn-after-3.bin",
    ),
    "closed": Closed(
        program="0.1.0", rules=1, verdict="rejected", reasons=("why",), journals=(RESULT,)
    ),
}

# The contract's list of kinds, typed by hand.
KINDS = [
    "opened",
    "stint",
    "check_reading",
    "check_judged",
    "reading",
    "held",
    "kept",
    "dropped",
    "void",
    "skip",
    "note",
    "zeroed",
    "reject",
    "link_lost",
    "link_back",
    "resumed",
    "closed",
]


def line_of(event: AnyEvent, seq: int = 7) -> bytes:
    line, _ = sealed(body_of(Entry(seq, START_US, event)), "0" * 64)
    return line


def test_the_kinds_are_those_of_the_record_and_no_others() -> None:
    assert list(EVERY) == KINDS
    assert {type(event) for event in EVERY.values()} == set(AnyEvent.__args__)


@pytest.mark.parametrize("kind", KINDS)
def test_a_body_begins_with_seq_at_and_kind_in_this_order(kind: str) -> None:
    body = body_of(Entry(7, START_US + 1, EVERY[kind]))
    head = f'{{"seq":7,"at":"2026-11-25T08:00:00.000001Z","kind":"{kind}",'
    assert body.startswith(head.encode())


@pytest.mark.parametrize("kind", KINDS)
def test_a_line_is_one_json_object_with_its_chain_last(kind: str) -> None:
    line = line_of(EVERY[kind])
    assert b"\n" not in line
    assert list(json.loads(line))[-1] == "chain"
    assert re.fullmatch(rb'.*,"chain":"[0-9a-f]{64}"\}', line)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_comes_back_as_it_went(kind: str) -> None:
    assert entry_of(line_of(EVERY[kind])) == Entry(7, START_US, EVERY[kind])


def test_nothing_is_left_out_of_a_line_for_being_empty() -> None:
    kept = json.loads(line_of(EVERY["kept"]))
    assert kept["place"] is None
    rejected = json.loads(line_of(Rejected(code="c", detail="", raw_hex="", skipped=0, flags=())))
    assert (rejected["count"], rejected["last_raw_hex"]) == (1, "")


def test_measured_numbers_are_text_with_all_their_digits() -> None:
    told = json.loads(line_of(EVERY["reading"]))
    assert told["sent"]["value"] == "59.980"
    assert told["sent"]["resolution"] == "0.001"
    judged = json.loads(line_of(EVERY["check_judged"]))
    assert {key: judged[key] for key in judged if key.endswith("_mm")} == {
        "stack_size_mm": "59.970",
        "mean_error_mm": "-0.00010",
        "spread_mm": "0.001",
        "drift_mm": "",
        "max_error_mm": "0.002",
        "max_spread_mm": "0.002",
        "max_drift_mm": "0.002",
    }


def test_no_line_of_a_whole_session_holds_a_broken_number(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    lines = (bench.folder / "ledger.jsonl").read_bytes().splitlines()

    def no_float(text: str) -> object:
        raise AssertionError(f"a number that is not whole: {text}")

    for line in lines:
        json.loads(line, parse_float=no_float)


def test_a_whole_ledger_is_a_chain_by_the_written_words(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    data = (bench.folder / "ledger.jsonl").read_bytes()
    assert data.endswith(b"\n")
    previous = "0" * 64
    for number, line in enumerate(data[:-1].split(b"\n"), 1):
        body, tail = line[:-76], line[-76:]  # ,"chain":" are 10, the digits 64, "} two
        digest = hashlib.sha256(previous.encode("ascii") + body).hexdigest()
        assert tail == b',"chain":"' + digest.encode("ascii") + b'"}'
        assert body.startswith(b'{"seq":%d,"at":"2026-11-25T08:00:' % number)
        previous = digest
    assert bench.manager.chain == previous


AWKWARD = [
    "two\nlines",
    "tab\tcr\r nul\x00 esc\x1b[2J del\x7f",
    "Kurbelwelle Ø 60 µm, 東京, \U0001f527",
    "\u2028\u2029\ufeff\u202e",
    '"},"chain":"' + "0" * 64 + '"}',
    "[red]bold[/red] [link=file:///x]",
    "=1+2",
    "../../etc/passwd",
    "back\\slash 'quotes' \"double\"",
]


@pytest.mark.parametrize("text", AWKWARD)
def test_an_awkward_text_survives(text: str) -> None:
    line = line_of(Noted(about="note", text=text))
    assert b"\n" not in line
    assert b"\r" not in line
    back = entry_of(line).event
    assert isinstance(back, Noted)
    assert back.text == text
    assert json.loads(line)["text"] == text


def test_an_awkward_job_name_survives_the_file(tmp_path: Path) -> None:
    job = '=cmd\n[bold red]4711[/] ../../x\\y\x00"é'
    bench = accepted(tmp_path / "s", opened(job=job, part=job, operator=job))
    first = scan(bench.folder).entries[0].event
    assert first == opened(job=job, part=job, operator=job)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["s"]


@given(st.text(st.characters(codec="utf-8")), st.integers(1, 10**9))
def test_any_text_at_any_line_comes_back(text: str, seq: int) -> None:
    event = Noted(about=text, text=text)
    assert entry_of(line_of(event, seq)) == Entry(seq, START_US, event)


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"[]",
        b"{",
        b'{"seq":1,"at":"2026-11-25T08:00:00.000000Z","kind":"nothing"}',
        b'{"seq":1,"at":"2026-11-25T08:00:00.000000Z"}',
        b'{"seq":1,"at":"2026-11-25T08:00:00.000000Z","kind":"note","about":"note"}',
        b'{"seq":1,"at":"2026-11-25T08:00:00.000000Z","kind":"note","about":"note","text":1}',
        b'{"seq":1.5,"at":"2026-11-25T08:00:00.000000Z","kind":"note","about":"n","text":""}',
        b'{"seq":1,"at":"2026-11-25T08:00:00Z","kind":"note","about":"n","text":""}',
        b'{"seq":1,"at":"2026-11-25 08:00:00.000000Z","kind":"note","about":"n","text":""}',
        b'{"seq":1,"at":"2026-13-25T08:00:00.000000Z","kind":"note","about":"n","text":""}',
        b'{"seq":1,"at":"2026-11-25T08:00:00.000000Z","kind":"note","about":"n","text":"\xff"}',
    ],
)
def test_a_line_that_is_none_of_ours_is_a_value_error(line: bytes) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - any reason will do, no other kind of error
        entry_of(line)


def test_a_text_that_is_no_unicode_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    ledger = Ledger.create(tmp_path / "s")
    with pytest.raises(UnicodeEncodeError):
        ledger.append([Entry(1, START_US, Noted(about="note", text="\udcff"))])
    assert (tmp_path / "s" / "ledger.jsonl").read_bytes() == b""
    ledger.close()


def test_events_cannot_be_changed() -> None:
    for event in EVERY.values():
        with pytest.raises(AttributeError):
            setattr(event, event.__struct_fields__[0], msgspec.UNSET)
