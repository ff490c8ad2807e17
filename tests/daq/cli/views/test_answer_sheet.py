"""The first sheet of a workbook: the sentences of the answer, whatever the session came to."""

from collections.abc import Callable
from pathlib import Path

import pytest

from daq.cli.views.answer_sheet import answer_texts
from daq.cli.views.ended import ended
from tests.builders import Bench, accepted, opened, rejected
from tests.daq.export.test_tables_study import study


def lines(bench: Bench) -> list[str]:
    return [line.text for line in answer_texts(ended(bench.state, None))]


def test_the_answer_comes_first_then_whether_it_can_be_trusted_then_the_rest(
    tmp_path: Path,
) -> None:
    said = answer_texts(ended(accepted(tmp_path / "s").state, None))
    assert said[0].text == "No. 2 (crankshaft of the pump engine)"
    assert [line.is_bold for line in said[:3]] == [True] * 3
    assert said[1].text.startswith("MAINS: may serve")
    assert said[3].text.startswith("Measurement good (accepted)")
    assert said[-1].text == "Session: 20261125T080000Z-test, accepted"


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (rejected, "Measurement NOT good (rejected)"),
        (study, "Gauge study on No. 2 (crankshaft)"),
    ],
)
def test_what_it_came_to_stands_there(
    tmp_path: Path, make: Callable[[Path], Bench], words: str
) -> None:
    assert [line for line in lines(make(tmp_path / "s")) if line.startswith(words[:20])]


def test_names_that_turn_or_run_on_are_made_harmless(tmp_path: Path) -> None:
    first = opened(job="\u202e\x1b[2J" + "x" * 1000, part="", operator="")
    said = lines(accepted(tmp_path / "s", first))
    assert said[0] == "crankshaft of the pump engine"
    (job,) = [line for line in said if line.startswith("Job: ")]
    assert job.startswith(r"Job: \u202e\x1b[2Jxxx")
    assert len(job) == len("Job: ") + 200
    assert not [line for line in said if line.startswith("Operator")]
