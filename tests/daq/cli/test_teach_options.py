"""The options of `teach` as they are typed."""

from decimal import Decimal

import click
import pytest

from daq.cli.teach_options import answer, display, options_of
from drivers.profile.profile import Link


@pytest.mark.parametrize(
    ("text", "press", "value"),
    [
        ("12.345 mm", None, "12.345"),
        ("2: 12.345 mm", 1, "12.345"),
        ("3:.5in", 2, "0.5"),
        ("12:34:56", None, "45296"),  # an angle: (12 * 60 + 34) * 60 + 56
    ],
)
def test_a_display_may_name_its_press(text: str, press: int | None, value: str) -> None:
    found, shown = display(text)
    assert (found, shown.value) == (press, Decimal(value))


def test_an_answer_may_hold_equal_signs() -> None:
    assert answer("field-2=unit:M=mm,I=in") == ("field-2", "unit:M=mm,I=in")


@pytest.mark.parametrize(
    ("line", "link"),
    [
        ("4800", Link(baud=4800)),
        ("2400-7e2", Link(baud=2400, bits=7, parity="E", stop=2)),
    ],
)
def test_a_line_setting_is_read(line: str, link: Link) -> None:
    assert options_of((), (), (), None, line).line == link


def test_a_request_may_name_its_bytes() -> None:
    assert options_of((), (), (), r"R?\r\n\x05\\", None).send == b"R?\r\n\x05\\"


@pytest.mark.parametrize(
    ("shows", "answers", "ask", "line"),
    [
        (("twelve",), (), None, None),
        ((), ("field-1",), None, None),
        ((), ("=channel",), None, None),
        ((), (), "\\q", None),
        ((), (), "", None),
        ((), (), "€", None),
        ((), (), "READ\\", None),
        ((), (), None, "9600-9N1"),
        ((), (), None, "fast"),
        ((), (), None, "9-8N1"),
    ],
)
def test_what_makes_no_sense_is_refused(
    shows: tuple[str, ...], answers: tuple[str, ...], ask: str | None, line: str | None
) -> None:
    with pytest.raises(click.BadParameter):
        options_of(shows, answers, (), ask, line)
