"""Plain lines of a run: the prompt, the limits and what is asked again."""

import io
from pathlib import Path

import pytest

from daq.board.asked import prompt
from daq.board.messages import limit_words
from daq.cli.displays import PlainShow
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
