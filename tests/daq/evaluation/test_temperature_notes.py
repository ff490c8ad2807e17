"""What a session says of temperatures: how sizes were corrected, and when it matters."""

from pathlib import Path

import pytest

from daq.evaluation.temperature_notes import (
    correction_words,
    correction_words_in_short,
    temperature_notes,
)
from daq.record.events import Temperatures
from tests.builders import ONE, Bench, accepted, opened, setup


def session(folder: Path, given: Temperatures, plan: str = ONE) -> Bench:
    """A session of one journal, closed."""
    first = opened(plan, with_setup=setup(temperatures=given))
    bench = Bench.new(folder, first).press("59.970", "59.970", "59.980", "59.981")
    return bench.press("59.970", "59.970").close()


def test_the_correction_is_shown_with_its_sign_and_its_causes(tmp_path: Path) -> None:
    (words,) = correction_words(session(tmp_path / "s", Temperatures("25", "", "20")).state)
    # 59.980 * (1/(1 + 57.5e-6) - 1) = -0.0034487
    assert "-0.0034487 mm on 59.980 mm" in words
    assert "part 25 °C, stack 20 °C" in words
    assert "11.5" in words


def test_a_stack_of_unknown_temperature_is_said_to_be_taken_as_20(tmp_path: Path) -> None:
    (words,) = correction_words(session(tmp_path / "s", Temperatures("15", "", "")).state)
    assert "+0.0034490 mm" in words  # 59.980 * 57.5e-6 / (1 - 57.5e-6)
    assert "stack not given, taken as 20 °C" in words


def test_equal_temperature_and_material_is_said_to_need_nothing(tmp_path: Path) -> None:
    (words,) = correction_words(session(tmp_path / "s", Temperatures("28", "", "28")).state)
    assert "nothing to correct" in words


@pytest.mark.parametrize("given", [Temperatures(), Temperatures("", "", "22")])
def test_a_part_of_unknown_temperature_is_said_to_be_not_corrected_for_it(
    tmp_path: Path, given: Temperatures
) -> None:
    (words,) = correction_words(session(tmp_path / "s", given).state)
    assert "not corrected for temperature" in words
    assert "same temperature" in words or "the stack's temperature" in words


def test_one_degree_is_told_where_it_matters_against_the_tolerance(tmp_path: Path) -> None:
    # 1 °C is 0.69 um on 59.97 mm. A tenth of 0.006 mm is 0.6 um, of 0.020 mm 2 um.
    narrow = ONE.replace("59.990", "59.976").replace('"0.002 mm"', '"0.001 mm"')
    (words,) = temperature_notes(session(tmp_path / "a", Temperatures(), narrow).state)
    assert "1 °C between part and stack" in words
    assert "0.7 um on 59.97 mm" in words
    assert temperature_notes(session(tmp_path / "b", Temperatures()).state) == []


def test_a_large_difference_is_told_with_its_effect(tmp_path: Path) -> None:
    (words,) = temperature_notes(session(tmp_path / "s", Temperatures("26", "", "20")).state)
    assert "6 °C between part and stack is 4.1 um" in words


def test_a_coefficient_outside_its_range_is_told(tmp_path: Path) -> None:
    plan = ONE + '\n[temperature]\npart_material = "steel-1050"\n'
    notes = temperature_notes(session(tmp_path / "s", Temperatures("18", "", "18"), plan).state)
    assert any("is stated for 20 to 100" in words for words in notes)


def test_in_short_the_corrections_of_one_way_stand_together_rounded(tmp_path: Path) -> None:
    # Part 22.4, stack 21: (11.5e-6 * 1 - 11.5e-6 * 2.4) * size: 59.980 gives -0.00097 mm, 50.790
    # gives -0.00082 mm.
    warm = setup(temperatures=Temperatures("22.4", "", "21"))
    state = accepted(tmp_path / "s", opened(with_setup=warm)).state
    (words,) = correction_words_in_short(state)
    assert words.startswith(
        "sizes are at 20 °C: -0.00082 mm on 50.790 mm and -0.00097 mm on 59.980 mm (part 22.4 °C, "
    )
    assert words.endswith("part (11.5 ± 1.15)e-6 /K, stack (11.5 ± 1.15)e-6 /K)")
    assert len(correction_words(state)) == 2
