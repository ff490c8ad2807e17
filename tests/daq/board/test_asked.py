"""What the operator is asked to do: the prompt at each moment, how a reading is given, stripping as
a step of its own.
"""

from pathlib import Path

import pytest

from daq.board.asked import STRIP_NOW, is_strip_due, prompt
from daq.board.board import Asked
from daq.record.events import GaugeSource, Setup, Temperatures
from daq.rules.commands import Back, CheckNow, Later, LoseLink, Skip, StopHere
from tests.builders import ONE, PLAN, Bench, opened, setup

STACK = ("59.970", "59.970")


def bench_of(folder: Path, plan: str = ONE, with_setup: Setup | None = None) -> Bench:
    return Bench.new(folder / "s", opened(plan, with_setup=with_setup))


def test_the_prompt_leads_through_a_session(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert prompt(bench.state) == Asked(
        "Check before measuring: stack 59.970 mm",
        "reading 1 of 2: press send on the stack",
        "Stack 1/2",
    )
    bench.press("59.970")
    assert prompt(bench.state).action == "reading 2 of 2: press send on the stack"
    bench.press("59.970")
    assert prompt(bench.state) == Asked("M1  front  0°", "place 1 of 2: press send", "M1 front 0°")
    bench.press("59.980")
    assert prompt(bench.state) == Asked(
        "M1  front  90°", "place 2 of 2: press send", "M1 front 90°"
    )
    bench.say(CheckNow())
    assert prompt(bench.state).headline == "Check in between: stack 59.970 mm"
    bench.press(*STACK, "59.981")
    assert prompt(bench.state).headline == "Check after measuring: stack 59.970 mm"
    bench.press(*STACK).close()
    assert prompt(bench.state) == Asked("Session accepted", "", "accepted")


def test_a_question_is_asked_with_all_its_reasons(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    bench.press("59.98", resolution="0.01", flags=("repeat",))
    assert prompt(bench.state) == Asked(
        "Held: 59.98 mm",
        "its last digit is 0.01, before it was 0.001: a digit may be lost; it came so soon "
        "after the same value that the button may have been held. Type keep or drop",
        "Keep or drop?",
    )
    bench.close()


def test_a_session_that_stays_open_says_what_to_do_with_it(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980")
    bench.say(Later())
    bench.press(*STACK).close()
    assert prompt(bench.state) == Asked(
        "Session stays open", "resume it to measure the rest", "Stays open"
    )


@pytest.mark.parametrize(
    ("gauge", "asked"),
    [
        (
            GaugeSource(gauge="mic", device="usb-1", serial="A1", port="/dev/ttyUSB0"),
            Asked("Waiting for gauge mic (usb-1)", "plug it in again, in any socket", "Cable out"),
        ),
        (
            GaugeSource(gauge="usb-1", device="usb-1", serial="", port="/dev/ttyUSB0"),
            Asked("Waiting for gauge usb-1", "plug it in again, where it was", "Cable out"),
        ),
        (
            GaugeSource(gauge="mic", device="socket://shop:4001", serial="", port="socket://shop"),
            Asked("Waiting for gauge mic", "it is looked for again and again", "No gauge"),
        ),
    ],
)
def test_a_gauge_that_is_gone_is_waited_for_in_words_that_fit_it(
    tmp_path: Path, gauge: GaugeSource, asked: Asked
) -> None:
    run = Setup(
        source=gauge,
        profile="",
        gauge_file=None,
        only=(),
        stack=None,
        saved_stacks={},
        temperatures=Temperatures(),
        local_offset="+01:00",
    )
    bench = bench_of(tmp_path, ONE, run).press(*STACK)
    bench.say(LoseLink("unplugged"))
    assert prompt(bench.state) == asked
    bench.say(StopHere("no cable"))
    bench.close()


def test_places_with_repeats_say_which(tmp_path: Path) -> None:
    plan = ONE.replace("angles_deg = [0, 90]", "angles_deg = [0]\nrepeats = 2")
    bench = bench_of(tmp_path, plan).press(*STACK)
    assert prompt(bench.state).headline == "M1  front  0°  repeat 1 of 2"
    bench.press("59.980")
    assert prompt(bench.state).headline == "M1  front  0°  repeat 2 of 2"
    bench.close()


def test_a_gauge_of_the_plain_setup_is_named_with_its_device(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE, setup("usb-7", gauge="mic"))
    bench.say(LoseLink("unplugged"))
    assert prompt(bench.state).headline == "Waiting for gauge mic (usb-7)"
    bench.close()


@pytest.mark.parametrize("press", ["press Enter", "type what it shows"])
def test_a_prompt_says_how_a_reading_is_given(tmp_path: Path, press: str) -> None:
    bench = bench_of(tmp_path)
    assert prompt(bench.state, press).action == f"reading 1 of 2: {press} on the stack"
    bench.press(*STACK)
    assert prompt(bench.state, press).action == f"place 1 of 2: {press}"
    bench.close()


# --- stripping ---

STRIPPED = PLAN.replace('name = "R1"', 'name = "R1"\naccess = "after-strip"')
"""R1 is reached after stripping, on a stack of its own."""

ONE_STACK = (
    ONE
    + """
[[journal]]
name = "M2"
access = "after-strip"
low = "59.970 mm"
high = "59.990 mm"
"""
)


def test_stripping_is_a_step_of_its_own_until_the_first_reading_that_needs_it(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path, ONE_STACK).press(*STACK, "59.980")
    assert not is_strip_due(bench.state)
    bench.press("59.981")
    assert prompt(bench.state) == Asked(
        STRIP_NOW, "then M2  front  0°, place 3 of 4: press send", "Strip now"
    )
    bench.press("59.982")  # counts where it was asked for
    assert prompt(bench.state).headline == "M2  front  90°"
    bench.say(Back())
    assert prompt(bench.state).headline == STRIP_NOW
    bench.say(Skip("not today"))
    assert prompt(bench.state).headline == "M2  front  90°"
    bench.close()


def test_where_stripped_journals_need_another_stack_it_is_said_before_that_is_read(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path, STRIPPED).press(*STACK, *("59.980",) * 4)
    assert prompt(bench.state).headline == "Check after measuring: stack 59.970 mm"
    bench.press(*STACK)
    assert prompt(bench.state) == Asked(
        STRIP_NOW,
        "then check before measuring: stack 50.780 mm, reading 1 of 2: press send on the stack",
        "Strip now",
    )
    bench.press("50.780")
    assert prompt(bench.state).headline == "Check before measuring: stack 50.780 mm"
    bench.press("50.780")
    assert prompt(bench.state).headline == "R1  middle  0°", "it was said before the check"
    bench.close()


def test_later_is_taken_where_the_engine_is_to_be_stripped(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE_STACK).press(*STACK, "59.980", "59.981")
    bench.say(Later())
    bench.press(*STACK)
    assert prompt(bench.state).headline == "Session stays open"
    bench.close()


def test_where_all_must_be_stripped_it_is_no_step(tmp_path: Path) -> None:
    plan = ONE.replace('name = "M1"', 'name = "M1"\naccess = "after-strip"')
    bench = bench_of(tmp_path, plan).press(*STACK)
    assert prompt(bench.state).headline == "M1  front  0°"
    bench.close()
