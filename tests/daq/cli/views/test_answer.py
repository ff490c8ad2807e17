"""What is printed when a session ends."""

from pathlib import Path

import pytest

from daq.cli.views.answer import summary_lines
from daq.evaluation.verdict import journals
from tests.builders import ONE, Bench, opened


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench.new(tmp_path / "s", opened(ONE))


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
