"""The script language: what each line means, and what is said of lines that mean nothing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.errors import ScriptError
from simulator.faults import Fault
from simulator.script import parse, parse_lines
from simulator.steps import (
    AddFault,
    Hold,
    PlugIn,
    Press,
    PullCable,
    PutJournal,
    PutStack,
    SendRaw,
    SetAnswer,
    SetBias,
    SetDrift,
    SetEcho,
    SetReply,
    ShowUnit,
    Step,
    Stream,
    Wait,
    Zero,
)


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("at M1 0.25 90", PutJournal(1, "M1", 0.25, 90.0)),
        ("at M1 front 0", PutJournal(1, "M1", 0.0, 0.0)),
        ("at M1 middle -45.5", PutJournal(1, "M1", 0.5, -45.5)),
        ("at R2 rear +120", PutJournal(1, "R2", 1.0, 120.0)),
        ("stack 59.97 mm", PutStack(1, Decimal("59.97"), "59.97 mm")),
        ("stack 2.5 in", PutStack(1, Decimal("63.5"), "2.5 in")),
        ("press", Press(1, 1)),
        ("press 3", Press(1, 3)),
        ("press 2 every 0.16", Press(1, 2, Decimal("0.16"))),
        ("press 5 every 0", Press(1, 5, Decimal(0))),
        ("hold 0.5", Hold(1, Decimal("0.5"))),
        ("unit in", ShowUnit(1, "in")),
        ("unit mm", ShowUnit(1, "mm")),
        ("zero", Zero(1)),
        ("wait 2.5", Wait(1, Decimal("2.5"))),
        ("wait 0", Wait(1, Decimal(0))),
        ("wait", Wait(1, Decimal(86400))),
        ("bias -0.003", SetBias(1, -0.003)),
        ("drift 0.01", SetDrift(1, 0.01)),
        ("raw 0D0a", SendRaw(1, b"\r\n")),
        ("raw 2b 35 0D 0A", SendRaw(1, b"+5\r\n")),
        ("unplug", PullCable(1)),
        ("replug", PlugIn(1, None)),
        ("replug /tmp/gauge-2", PlugIn(1, "/tmp/gauge-2")),
        ("stream 12.5", Stream(1, 12.5)),
        ("stream off", Stream(1, None)),
        ("answer on", SetAnswer(1, "on")),
        ("answer off", SetAnswer(1, "off")),
        ("answer wrong-crc", SetAnswer(1, "wrong-crc")),
        ("answer wrong-unit", SetAnswer(1, "wrong-unit")),
        ("answer exception 11", SetAnswer(1, "on", 11)),
        ("reply 1500", SetReply(1, 1.5)),
        ("echo on", SetEcho(1, True)),
        ("echo off", SetEcho(1, False)),
        ("fault drop=0.25", AddFault(1, Fault("drop", 0.25))),
        ("fault split", AddFault(1, Fault("split", 1.0))),
        ("fault off", AddFault(1, None)),
        ("  \tpress   2   # twice", Press(1, 2)),
    ],
)
def test_one_line(text: str, step: Step) -> None:
    assert parse(text) == (step,)


def test_blank_lines_and_comments_count_but_do_nothing() -> None:
    assert parse("# a session\n\n   \npress\r\n#press\npress") == (Press(4, 1), Press(6, 1))
    assert parse("") == ()


def test_lines_are_parsed_as_they_come() -> None:
    steps = parse_lines(iter(["press\n", "nonsense\n"]))
    assert next(steps) == Press(1, 1)
    with pytest.raises(ScriptError, match="line 2"):
        next(steps)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("jump", "unknown command 'jump'; known: at, stack, press, hold,"),
        ("Press", "unknown command 'Press'"),
        ("at M1 middle", "expected `at JOURNAL front|middle|rear|FRACTION ANGLE`: it takes 3"),
        ("at M1 centre 0", "the station is a number"),
        ("at M1 1.5 0", "the station lies from 0"),
        ("at M1 -0.1 0", "the station lies from 0"),
        ("at M1 0.5 north", "the angle in degrees is a number"),
        ("stack 59.97", "expected `stack SIZE mm|in`: it takes 2"),
        ("stack 59,97 mm", "the size is a number like 59.97, not '59,97'"),
        ("stack 59.97 cm", "the unit is mm or in, not 'cm'"),
        ("stack 0 mm", "the size is above 0"),
        ("stack 1001 mm", "at most 1000"),
        ("stack 1e3 mm", "the size is a number"),
        ("stack nan mm", "the size is a number"),
        ("press 0", "TIMES is a whole number from 1 to 1000"),
        ("press 1001", "TIMES is a whole number"),
        ("press 1.5", "TIMES is a whole number"),
        ("press \u0663", "TIMES is a whole number"),
        ("press 1 2", "it takes 1 argument(s), not 2"),
        (
            "press 2 every",
            "expected `press [TIMES [every SECONDS]]`: it takes 1 argument(s), not 2",
        ),
        ("press 2 each 1", "it takes 1 argument(s), not 3"),
        ("press 2 every 601", "SECONDS lies from 0 to 600"),
        ("press 0 every 1", "TIMES is a whole number"),
        ("hold", "expected `hold SECONDS`: it takes 1"),
        ("hold -1", "SECONDS lies from 0 to 600"),
        ("hold 601", "SECONDS lies from 0 to 600"),
        ("wait long", "SECONDS is a number"),
        ("wait inf", "SECONDS is a number"),
        ("unit", "expected `unit mm|in`"),
        ("unit inch", "the unit is mm or in"),
        ("zero 0", "it takes no argument(s), not 1"),
        ("bias big", "the bias in mm is a number"),
        ("drift", "expected `drift MM_PER_HOUR`"),
        ("raw", "expected `raw HEX`: HEX is pairs"),
        ("raw 0D0", "HEX is pairs"),
        ("raw 0x0D", "HEX is pairs"),
        ("unplug now", "it takes no argument(s)"),
        ("replug here there", "it takes 1 argument(s), not 2"),
        ("stream 0", "HZ lies above 0"),
        ("stream 1001", "up to 1000"),
        ("stream fast", "HZ is a number"),
        ("answer", "expected `answer on|off|wrong-crc|wrong-unit|exception CODE`"),
        ("answer maybe", "no such answer as 'maybe'"),
        ("answer exception 0", "no such answer as 'exception 0'"),
        ("answer exception 256", "no such answer"),
        ("reply -1", "MS lies from 0 to 60000"),
        ("reply 60001", "MS lies from 0"),
        ("echo loud", "it is on or off, not 'loud'"),
        ("fault fire", "unknown fault 'fire'; known: split, cut, join, packets,"),
        ("fault drop=2", "the rate of drop is a chance from 0 to 1, not '2'"),
        ("fault drop=nan", "a chance from 0 to 1, not 'nan'"),
        ("fault drop=", "a chance from 0 to 1, not ''"),
    ],
)
def test_lines_that_mean_nothing(text: str, reason: str) -> None:
    with pytest.raises(ScriptError) as caught:
        parse(f"# first\npress\n{text}\npress")
    assert caught.value.line == 3
    assert str(caught.value) == f"line 3: {caught.value.reason}"
    assert reason in caught.value.reason


def steps_or_error(text: str) -> tuple[Step, ...] | ScriptError:
    """What parsing comes to; any other exception fails the test."""
    try:
        return parse(text)
    except ScriptError as error:
        return error


@given(text=st.text(max_size=60))
def test_any_text_parses_or_is_refused_with_its_line(text: str) -> None:
    outcome = steps_or_error(text)
    lines = [step.line for step in outcome] if isinstance(outcome, tuple) else [outcome.line]
    assert all(line in range(1, len(text.splitlines()) + 1) for line in lines)


@given(
    command=st.sampled_from(
        [
            "at",
            "stack",
            "press",
            "hold",
            "unit",
            "wait",
            "bias",
            "raw",
            "stream",
            "answer",
            "reply",
            "fault",
        ]
    ),
    words=st.lists(st.text("0123456789.+-eEmMinfa_x", min_size=1, max_size=8), max_size=4),
)
def test_any_arguments_parse_or_are_refused(command: str, words: list[str]) -> None:
    outcome = steps_or_error(" ".join([command, *words]))
    if isinstance(outcome, tuple):
        (step,) = outcome
        assert step.line == 1
    else:
        assert outcome.line == 1


def test_an_error_away_from_any_line_has_no_number() -> None:
    assert str(ScriptError(None, "no such thing")) == "no such thing"
