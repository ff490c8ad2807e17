"""What would be lost by ending now: asked of a state, and held against what ending really does."""

from pathlib import Path

import pytest

from daq.record.state import Status, fates, status
from daq.rules.commands import Abandon, CheckNow, Command, GaugeZeroed, Later, StopHere
from daq.rules.ending import abandon_loses, stop_rejects
from tests.builders import ONE, Bench, opened

STACK = ("59.970", "59.970")
FAILED = ("59.975", "59.975")  # 0.005 over the stack, permitted 0.002


def rejecting(bench: Bench) -> str:
    return stop_rejects(bench.state, list(fates(bench.state).values()).count("tainted"))


@pytest.mark.parametrize(
    ("moves", "words"),
    [
        ((), "the gauge has not passed a check yet"),
        (("59.970",), "the gauge has not passed a check yet"),
        (STACK, ""),
        ((*STACK, "59.980"), ""),  # the closing check may prove it
        ((*STACK, "59.980", GaugeZeroed()), "1 reading is not proven"),
        ((*STACK, "59.980", "59.981", *FAILED), ""),  # that ended it
        ((*STACK, "59.980", CheckNow(), *FAILED), "1 reading is not proven"),
        ((*STACK, "59.980", CheckNow(), *FAILED, *STACK), "1 reading is not proven"),
        ((*STACK, "59.980", CheckNow(), *FAILED, *STACK, "59.980"), ""),
        ((*STACK, "59.980", CheckNow(), *STACK, GaugeZeroed()), ""),  # proven before
        ((*STACK, "61.000"), ""),  # a question is open: stop is not allowed
    ],
)
def test_a_stop_that_rejects_whatever_its_check_says_is_known_before(
    tmp_path: Path, moves: tuple[str | Command, ...], words: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    for move in moves:
        if isinstance(move, str):
            bench.press(move)
        else:
            bench.say(move)
    assert rejecting(bench) == words
    if status(bench.state) not in (Status.CLOSED, Status.ASKING):
        bench.say(StopHere("the shift ends"))
        if status(bench.state) is not Status.CLOSED:
            bench.press(*STACK)
        closed = bench.state.closed
        assert closed is not None
        assert closed.verdict == ("rejected" if words else "accepted")
    bench.close()


def test_abandoning_says_how_many_readings_come_to_nothing(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    assert abandon_loses(bench.state) == ""
    bench.press(*STACK, "59.980")
    assert abandon_loses(bench.state) == "1 reading would come to nothing"
    bench.press("59.981")
    assert abandon_loses(bench.state) == "2 readings would come to nothing"
    bench.say(Later())
    bench.press(*STACK)
    assert abandon_loses(bench.state) == "2 readings would come to nothing"
    bench.say(Abandon("no time"))
    assert abandon_loses(bench.state) == ""
    bench.close()
