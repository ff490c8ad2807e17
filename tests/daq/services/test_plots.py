"""Pictures for notebooks: of any session, by the estimates that are judged."""

from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

import daq
from daq.errors import LedgerError, UsageError
from tests.builders import Bench, accepted, opened, rejected, still_open


def texts(drawing: daq.Drawing) -> str:
    """All words of a drawing."""
    return " ".join(ElementTree.fromstring(drawing.svg).itertext())


def test_a_journal_is_drawn_by_what_is_judged(tmp_path: Path) -> None:
    said = texts(daq.plot_journal(accepted(tmp_path / "s").folder, "M1"))
    assert "low 59.970 mm" in said
    # 59.979 less 0.00025, the mean of the errors before and after: 59.97875, shown half-even
    assert "smallest 59.9788 mm" in said


@pytest.mark.parametrize("make", [accepted, rejected, still_open])
def test_the_crank_of_any_session_is_drawn(tmp_path: Path, make: Callable[[Path], Bench]) -> None:
    said = texts(daq.plot_crank(make(tmp_path / "s").folder))
    assert "M1" in said
    assert "R1" in said


def test_a_journal_that_was_not_read_is_drawn_too(tmp_path: Path) -> None:
    assert "50.780" in texts(daq.plot_journal(still_open(tmp_path / "s").folder, "R1"))


def test_a_notebook_shows_it_and_a_file_keeps_it(tmp_path: Path) -> None:
    drawing = daq.plot_crank(str(accepted(tmp_path / "s", opened(part="<Ø>")).folder))
    assert drawing._repr_svg_() == drawing.svg
    drawing.save(tmp_path / "crank.svg")
    assert (tmp_path / "crank.svg").read_text(encoding="utf-8") == drawing.svg


def test_a_journal_that_is_not_there_is_refused_with_those_that_are(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no journal 'M9' in this session: it has M1, R1"):
        daq.plot_journal(accepted(tmp_path / "s").folder, "M9")
    with pytest.raises(LedgerError):
        daq.plot_crank(tmp_path)
