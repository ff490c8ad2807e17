"""What a machinist needs of a budget: a size, how far off, and what from."""

from decimal import Decimal
from pathlib import Path

import pytest

from daq.cli.views.budget import budgets, lines
from daq.cli.views.budget_lead import lead_lines, place_words
from daq.metrology.uncertainty.budget import Budget, combine
from daq.metrology.uncertainty.components import Component
from tests.daq.cli.views.closing_sessions import begun, crank, drive, sized


def budget(*parts: tuple[str, float]) -> Budget:
    return combine(
        [Component(name=name, estimate="0", u=u, unit="mm", sensitivity=1.0) for name, u in parts]
    )


def test_the_largest_sources_are_named_until_most_is_told() -> None:
    # squares 36, 9, 4, 1 of 50: 72, 18, 8, 2 %; two make 90 % of it
    found = budget(
        ("stack", 0.006),
        ("part against stack, temperature", 0.003),
        ("drift between checks", 0.002),
        ("wringing", 0.001),
    )
    assert lead_lines("M3 is 59.961 mm.", Decimal("0.00158"), found) == (
        "M3 is 59.961 mm.",
        "It could be off by 0.0016 mm either way.",
        "Mostly from the stack (72 %), temperatures (18 %).",
    )


def test_lines_of_one_kind_count_together() -> None:
    # squares 16 + 9 and 24.01 of 49.01: 51 and 49 %
    found = budget(("coefficients", 0.004), ("part temperature", 0.003), ("places", 0.0049))
    assert lead_lines("", Decimal("0.0012"), found)[2] == (
        "Mostly from temperatures (51 %), readings on the part (49 %)."
    )


def test_what_is_not_final_says_so() -> None:
    found = lead_lines("", Decimal("0.0012"), budget(("stack", 0.001)), is_provisional=True)
    assert found[1] == "It could be off by 0.0012 mm either way until the check after measuring."


@pytest.mark.parametrize(
    ("at", "words"), [("front/45", "front 45°"), ("rear", "rear"), ("oil/hole/0", "oil/hole 0°")]
)
def test_a_place_is_said_as_a_person_says_it(at: str, words: str) -> None:
    assert place_words(at) == words


def test_a_budget_begins_with_three_lines_and_no_line_has_a_word_of_the_record(
    tmp_path: Path,
) -> None:
    sizes = sized({"M1": "59.963 59.961 59.962 59.962"})
    state = drive(begun(tmp_path / "s", crank(1, 1)), sizes).close().state
    (found,) = budgets(state, ["M1"], is_form=False)
    text = lines(found)
    # by the stack and the gauge's own error, 0: as read
    assert text[0] == "M1 is 59.9610 mm at its smallest place (front 45°)."
    assert text[1].startswith("It could be off by 0.00")
    assert text[2].startswith("Mostly from ")
    assert text[3] == ""
    assert not any(word in "\n".join(text) for word in ("stint", "guarded"))
