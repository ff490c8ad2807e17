"""What must be measured again, in words: how many, why, from where."""

from pathlib import Path

import pytest

from daq.board.of_session import first_shown
from daq.rules.commands import CheckNow, Command, FindLink, GaugeZeroed, LoseLink, TimePassed
from tests.builders import MINUTE_US, Bench, opened, source

PLAN = """\
schema = 1
part = "crankshaft"

[check]
stack = "59.970 mm"
readings = 2
max_error = "0.002 mm"
max_spread = "0.002 mm"
max_drift = "0.002 mm"
max_age_min = 60

[defaults]
stations = ["front"]
angles_deg = [0, 90]

""" + "\n".join(
    f'[[journal]]\nname = "M{number}"\nlow = "59.970 mm"\nhigh = "59.990 mm"\n'
    for number in range(1, 6)
)
"""Five journals of two places each."""

STACK = ("59.970", "59.970")
DRIFTED = ("59.975", "59.975")  # 0.005 mm since the first check, permitted 0.002
SCATTERED = ("59.967", "59.973")  # mean right, spread 0.006


def words(bench: Bench) -> str:
    return first_shown(bench.state, bench.now_us).board.again_words


@pytest.mark.parametrize(
    ("presses", "moves", "said"),
    [
        (
            *(9, (CheckNow(), *DRIFTED)),
            "The gauge moved. These 9 readings must be taken again: M1 … M5.",
        ),
        (
            *(4, (CheckNow(), *DRIFTED)),
            "The gauge moved. These 4 readings must be taken again: M1, M2.",
        ),
        (
            *(2, (CheckNow(), *DRIFTED)),
            "The gauge moved. These 2 readings must be taken again: M1, start at M1 front 0°.",
        ),
        (
            *(1, (CheckNow(), *DRIFTED)),
            "The gauge moved. This reading must be taken again: M1 front 0°.",
        ),
        (
            *(1, (CheckNow(), *SCATTERED)),
            "The check failed. This reading must be taken again: M1 front 0°.",
        ),
        (
            *(3, (LoseLink("unplugged"), FindLink(source()))),
            "Cable back. 3 readings must be taken again, start at M1 front 0°.",
        ),
        (
            *(3, (LoseLink("unplugged"), FindLink(source("usb-2")))),
            "Another gauge. 3 readings must be taken again, start at M1 front 0°.",
        ),
        (
            *(1, (GaugeZeroed(),)),
            "Zero set again. 1 reading must be taken again, start at M1 front 0°.",
        ),
        # What a check proved in between stays proven.
        (
            *(3, (CheckNow(), *STACK, "59.980", "59.980", GaugeZeroed())),
            "Zero set again. 2 readings must be taken again, start at M2 front 90°.",
        ),
        (3, (), ""),
    ],
)
def test_a_loss_says_how_many_readings_and_from_where(
    tmp_path: Path, presses: int, moves: tuple[str | Command, ...], said: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN))
    bench.press(*STACK, *("59.980",) * presses)
    for move in moves:
        if isinstance(move, str):
            bench.press(move)
        else:
            bench.say(move)
    assert words(bench) == said
    bench.close()


def test_a_check_that_grew_too_old_says_so(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press(*STACK, "59.980")
    bench.say(TimePassed(), after_us=61 * MINUTE_US)
    assert words(bench) == (
        "The last check is too old. 1 reading must be taken again, start at M1 front 0°."
    )
    bench.close()


def test_the_words_count_down_and_keep_their_reason(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press(*STACK, *("59.980",) * 9)
    bench.say(CheckNow())
    bench.press(*DRIFTED)
    # Another failed check, before measuring, does not change why.
    bench.press(*DRIFTED, *STACK, "59.980", "59.980")
    assert words(bench) == "The gauge moved. These 7 readings must be taken again: M2 … M5."
    bench.press(*("59.980",) * 7)
    assert words(bench) == ""
    bench.close()
