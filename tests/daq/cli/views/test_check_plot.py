"""The terminal plot: what is drawn is where it belongs."""

import random

from daq.cli.views.check_plot import legend, plot
from daq.gauges.control import control_of
from daq.gauges.history import History
from daq.gauges.series import series_of
from daq.pictures.scale import covering, nice_step
from tests.daq.gauges.history_builders import DAY_US, FIRST_US, adjusted, at, daily, near


def drawn(history: History, width: int = 80, *, is_ascii: bool = False) -> list[str]:
    adjusted_at = [moment for moment, note in history.notes if note.about == "adjusted"]
    series = series_of(history)[0]
    control = control_of(series, len(adjusted_at))
    return plot(series, control, adjusted_at, 0.004, width=width, is_ascii=is_ascii)


STEADY = [0.4, 0.9, 0.2, 0.7, 0.5, 0.3]


def test_the_plot_stands_as_drawn_by_hand() -> None:
    """Errors 0, +1, +2 and -1 um on four days: 3 um in at most 20 steps make steps of 0.2 um, and
    28 columns put the days into columns 0, 9, 18 and 27.
    """
    history = daily([near(0.0), near(1.0), near(2.0), near(-1.0)])
    series = series_of(history)[0]
    lines = plot(series, control_of(series, 0), [], None, width=50, is_ascii=True)
    assert lines == [
        " +0.0020 |                  o",
        "         |",
        " +0.0016 |",
        "         |",
        " +0.0012 |",
        "         |         o",
        " +0.0008 |",
        "         |",
        " +0.0004 |",
        "         |",
        "  0      |o--------------------------- 0",
        "         |",
        " -0.0004 |",
        "         |",
        " -0.0008 |",
        "         |                           o",
        "         +----------------------------",
        "          2026-01-05        2026-01-08",
    ]


def test_no_line_is_wider_than_asked_for() -> None:
    history = daily([near(error) for error in STEADY * 5])
    for width in (46, 60, 80, 100):
        assert max(map(len, drawn(history, width))) <= width


def test_every_check_is_within_the_plot_whatever_the_numbers() -> None:
    chance = random.Random(3)
    for _ in range(40):
        size = 10 ** chance.uniform(-2, 3)
        errors = [chance.gauss(0, size) for _ in range(chance.randint(1, 40))]
        lines = drawn(daily([near(error, limit="9") for error in errors]))
        assert len(lines) <= 26
        assert any(char in line for line in lines for char in "●X")


def test_an_occasion_out_of_control_is_a_cross_and_the_legend_says_so() -> None:
    history = daily([near(error) for error in [*STEADY, 3.0]])
    assert sum(line.count("X") for line in drawn(history)) == 1
    assert "X out of control" in legend(control_of(series_of(history)[0], 0))


def test_an_adjustment_is_a_line_from_top_to_bottom() -> None:
    history = at(
        [(FIRST_US, near(0.1)), (FIRST_US + DAY_US, adjusted()), (FIRST_US + 2 * DAY_US, near(0.2))]
    )
    assert all("┊" in line for line in drawn(history)[:-2])


def test_one_check_alone_makes_a_plot() -> None:
    assert any("●" in line for line in drawn(daily([near(0.0)])))


def test_a_terminal_of_ascii_gets_ascii() -> None:
    assert all(line.isascii() for line in drawn(daily([near(0.5)] * 9), is_ascii=True))


def test_steps_are_round() -> None:
    assert nice_step(0.008, 20) == 0.0005
    assert [round(value, 9) for value in covering(-0.0011, 0.0042, 8)] == [-0.002, 0.005, 0.001]
    low, high, step = covering(0.0, 0.0, 8)
    assert low < 0 < high
    assert step > 0
