"""From state to what a person sees, at a fixed width."""

import io
from pathlib import Path

import pytest

from daq.board.asked import prompt
from daq.board.messages import limit_words
from daq.cli.displays import PlainShow
from daq.cli.views.session import summary_lines
from daq.evaluation.verdict import journals
from daq.lengths import parse_length
from daq.rules.commands import Back, TakeReject
from drivers.printable import printable
from tests.builders import ONE, Bench, opened, reject


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench.new(tmp_path / "s", opened(ONE))


def test_the_prompt_names_the_stack_then_each_place_in_turn(bench: Bench) -> None:
    assert prompt(bench.state).headline == "Check before measuring: stack 59.970 mm"
    assert prompt(bench.state).action == "reading 1 of 2: press send on the stack"
    bench.press("59.970", "59.970")
    assert prompt(bench.state).headline == "M1  front  0°"
    assert prompt(bench.state).action == "place 1 of 2: press send"
    bench.press("59.980")
    assert prompt(bench.state).headline == "M1  front  90°"
    bench.press("59.981")
    assert prompt(bench.state).headline == "Check after measuring: stack 59.970 mm"
    bench.press("59.970", "59.970")
    assert prompt(bench.state).headline == "Session accepted"


def test_control_characters_never_reach_the_terminal() -> None:
    assert printable("a\x1b[2Jb\n\x07") == "a?[2Jb??"


def test_a_limit_in_the_other_unit_is_rounded_inward_and_says_so() -> None:
    # 54.97 mm = 2.164173 in, up to 2.1642; 54.99 mm = 2.164960 in, down to 2.1649.
    low, high = parse_length("54.97 mm"), parse_length("54.99 mm")
    words = limit_words(low, "in", "0.0001", is_low=True)
    assert words == "54.97 mm = 2.1642 in rounded inward"
    assert limit_words(high, "in", "0.0001", is_low=False).startswith("54.99 mm = 2.1649 in")
    assert limit_words(low, "mm", "0.001", is_low=True) == "54.97 mm"
    exact = parse_length("50.8 mm")  # 2 in exactly
    assert limit_words(exact, "in", "0.0001", is_low=True) == "50.8 mm = 2.0000 in"


def test_the_summary_keeps_the_measurement_apart_from_the_part(bench: Bench) -> None:
    bench.press("59.970", "59.970", "59.960", "59.961", "59.970", "59.970")
    closed = bench.state.closed
    assert closed is not None
    lines = summary_lines("s", closed.verdict, closed.reasons, journals(bench.state))
    assert "accepted (the measurement stands" in lines[0]
    assert "M1: BELOW low limit" in lines[-1]
    assert "two angles only" in lines[-1]
    assert "fewer than two stations" in lines[-1]
    assert "two-point out-of-round" in lines[-1]


def test_plain_text_asks_again_after_every_step_but_rejects(bench: Bench) -> None:
    stream = io.StringIO()
    show = PlainShow(stream)
    show.step(bench.board, bench.steps[0])
    for number in range(3):
        show.step(*bench.board_after(TakeReject(reject(b"noise", number))))
    assert stream.getvalue().count("> Check before measuring") == 1
    assert stream.getvalue().count("No reading, syntax") == 3
    bench.press("59.970")
    show.step(*bench.board_after(Back()))
    assert stream.getvalue().count("> Check before measuring") == 2


@pytest.mark.parametrize(
    ("values", "limit", "words"),
    [
        # 0.001 mm to the low limit, uncertain by about 0.003 mm
        (("59.971", "59.980"), "", "nearer to a size limit than the measurement is certain"),
        # 0.003 mm is under four steps of 0.001 mm
        (
            ("59.980", "59.981", "59.980"),
            'out_of_round = "0.003 mm"\nangles_deg = [0, 60, 120]',
            "or under four steps",
        ),
        # one station: no taper
        (("59.980", "59.981"), 'taper = "0.010 mm"', "too few places for a form limit"),
    ],
)
def test_an_undecided_journal_says_what_is_in_the_way(
    tmp_path: Path, values: tuple[str, ...], limit: str, words: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE + limit + "\n"))
    bench.press("59.970", "59.970", *values)
    assert words in summary_lines("s", "open", (), journals(bench.state))[-1]
