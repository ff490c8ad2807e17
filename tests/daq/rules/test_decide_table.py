"""Every word of the operator at every moment, by a table typed apart from the program's own."""

from collections.abc import Callable
from pathlib import Path

import pytest

from daq.errors import Refused
from daq.record.state import Status, status
from daq.rules.commands import WORDS, CheckNow, Drop, Keep, Later, parse_line
from daq.rules.decide import ALLOWED, allowed_words
from tests.builders import ONE, Bench, opened
from tests.places import ROOT

STACK = ("59.970", "59.970")


def waiting(bench: Bench) -> None:
    bench.press("59.970")


def measuring(bench: Bench) -> None:
    bench.press(*STACK, "59.980")


def checking(bench: Bench) -> None:
    measuring(bench)
    bench.say(CheckNow())
    bench.press("59.970")


def closing(bench: Bench) -> None:
    bench.press(*STACK, "59.980", "59.981", "59.970")


def asking(bench: Bench) -> None:
    measuring(bench)
    bench.press("61.000")


def over(bench: Bench) -> None:
    measuring(bench)
    bench.say(Later())
    bench.press(*STACK)


def closed(bench: Bench) -> None:
    bench.press(*STACK, "59.980", "59.981", *STACK)


MOMENTS: dict[Status, Callable[[Bench], None]] = {
    Status.WAITING: waiting,
    Status.MEASURING: measuring,
    Status.CHECKING: checking,
    Status.CLOSING: closing,
    Status.ASKING: asking,
    Status.OVER: over,
    Status.CLOSED: closed,
}

LINES = {
    "back": "back",
    "retake": "retake M1/front/0",
    "skip": "skip oil hole",
    "note": "note the light is poor",
    "keep": "keep",
    "drop": "drop",
    "check": "check",
    "zeroed": "zeroed",
    "stop": "stop enough",
    "later": "later",
    "abandon": "abandon dropped it",
}

# y: taken, n: refused.
#            waiting measuring checking closing asking over closed
TABLE = {
    "back": "   y    y         y        y       n      n    n",
    "retake": " n    y         y        y       n      n    n",
    "skip": "   n    y         n        n       n      n    n",
    "note": "   y    y         y        y       y      y    n",
    "keep": "   n    n         n        n       y      n    n",
    "drop": "   n    n         n        n       y      n    n",
    "check": "  n    y         n        n       n      n    n",
    "zeroed": " y    y         y        y       n      n    n",
    "stop": "   y    y         y        y       n      y    n",
    "later": "  y    y         y        y       n      n    n",
    "abandon": "y    y         y        y       y      y    n",
}

CASES = [
    (word, moment, mark == "y")
    for word, marks in TABLE.items()
    for moment, mark in zip(MOMENTS, marks.split(), strict=True)
]


def test_the_table_has_every_word_and_every_status() -> None:
    assert TABLE.keys() == LINES.keys() == WORDS.keys()
    assert list(MOMENTS) == list(Status)
    assert len(CASES) == 11 * 7


@pytest.mark.parametrize(("word", "moment", "is_taken"), CASES)
def test_every_word_at_every_moment(
    tmp_path: Path, word: str, moment: Status, is_taken: bool
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    MOMENTS[moment](bench)
    assert status(bench.state) is moment
    before = (bench.folder / "ledger.jsonl").read_bytes()
    command = parse_line(LINES[word])
    assert command is not None
    if is_taken:
        assert bench.say(command).entries
        assert (bench.folder / "ledger.jsonl").read_bytes().startswith(before)
    else:
        state = bench.state
        with pytest.raises(Refused) as refused:
            bench.say(command)
        assert refused.value.code == f"not-while-{moment.value}"
        assert str(refused.value)
        assert bench.state is state
        assert (bench.folder / "ledger.jsonl").read_bytes() == before
    bench.close()


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_screen_offers_just_the_words_that_are_taken(tmp_path: Path, moment: Status) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    MOMENTS[moment](bench)
    taken = [word for word, where, is_taken in CASES if where is moment and is_taken]
    assert allowed_words(bench.state) == taken
    bench.close()


@pytest.mark.parametrize("command", [command for command in ALLOWED if command not in (Keep, Drop)])
def test_nothing_at_all_is_taken_by_a_closed_session(command: type) -> None:
    assert Status.CLOSED not in ALLOWED[command]


def test_the_guide_shows_this_very_table() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for word, marks in TABLE.items():
        row = " | ".join({"y": "yes", "n": "no"}[mark] for mark in marks.split())
        assert f"| `{word}` | {row} |" in guide
