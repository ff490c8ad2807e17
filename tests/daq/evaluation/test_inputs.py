"""What an estimate rests on, gathered from whole sessions: which checks, whose scatter."""

import math
from fractions import Fraction
from pathlib import Path
from typing import Any

import msgspec
import pytest

from daq.evaluation.conditions import Conditions, HistoryDrift
from daq.evaluation.inputs import Scatters, conditions_of, known, places_of, scatters
from daq.record.events import Repeatability
from daq.record.state import State
from daq.rules.commands import CheckNow, FindLink, GaugeZeroed, LoseLink
from tests.builders import ONE, Bench, opened, setup, source

FIVE = ONE.replace("readings = 2", "readings = 5")
STILL = ("59.970",) * 5
GAUGE = 'schema = 1\nprofile = "bench"\nport = "/dev/x"\n'


def repeated(repeats: int, plan: str = ONE) -> str:
    return plan.replace("angles_deg = [0, 90]", f"angles_deg = [0, 90]\nrepeats = {repeats}")


def session(folder: Path, plan: str, *values: str, **changes: Any) -> State:
    first = opened(plan, with_setup=msgspec.structs.replace(setup(), **changes))
    return Bench.new(folder / "s", first).press(*values).close().state


def scattered(state: State) -> Scatters:
    """The scatter by the first reading of the part that stands."""
    return scatters(state, state.by_journal["M1"].taken[0], known(state))


def um2(found: Scatters) -> tuple[object, object]:
    """Variances on the part and on the stack, in square um."""
    return found.on_part.variance * 10**6, found.on_stack.variance * 10**6


def about(state: State, number: int = 0) -> Conditions:
    """The conditions of a place of the first journal."""
    return places_of(state, state.by_journal["M1"])[number].about


# --- scatter ---


def test_without_repeats_the_two_checks_are_pooled_each_about_its_own_mean(tmp_path: Path) -> None:
    # 0 2: squares 2; 1 1: none; two degrees of freedom. All together would be 2 / 3.
    state = session(tmp_path, ONE, "59.970", "59.972", "59.980", "59.981", "59.971", "59.971")
    found = scattered(state)
    assert um2(found) == (1, 1)
    assert (found.on_part.dof, found.is_one) == (2.0, True)


def test_before_the_closing_check_the_first_one_stands_alone(tmp_path: Path) -> None:
    found = scattered(session(tmp_path, ONE, "59.970", "59.972", "59.980"))
    assert (um2(found), found.on_stack.dof) == ((2, 2), 1.0)


def test_repeats_that_scatter_alike_are_pooled_with_the_checks(tmp_path: Path) -> None:
    # checks 0 1, 0 1: 0.5 + 0.5 of 2; places 0 1, 0 1: the same. s**2 = 2 / 4
    state = session(
        tmp_path,
        repeated(2),
        *("59.970", "59.971", "59.980", "59.981", "59.985", "59.986", "59.970", "59.971"),
    )
    found = scattered(state)
    assert um2(found) == (Fraction(1, 2), Fraction(1, 2))
    assert (found.on_part.dof, found.is_one) == (4.0, True)
    assert "repeats and the checks" in found.on_part.note


def test_a_part_that_scatters_more_counts_for_itself_alone(tmp_path: Path) -> None:
    # checks 0 1 twice: s**2 = 0.5 of 2; places 0 6 twice: 18 + 18 of 2. The ratio of 36 is over
    # F(0.95; 2, 2) = 19
    state = session(
        tmp_path,
        repeated(2),
        *("59.970", "59.971", "59.980", "59.986", "59.980", "59.986", "59.970", "59.971"),
    )
    found = scattered(state)
    assert um2(found) == (18, Fraction(1, 2))
    assert not found.is_one
    assert (found.on_part.dof, found.on_stack.dof) == (2.0, 2.0)


def test_a_part_that_is_larger_by_chance_is_pooled(tmp_path: Path) -> None:
    # places 0 4 twice: 8 of 2. 8 / 0.5 = 16 is under 19: (1 + 16) / 4
    state = session(
        tmp_path,
        repeated(2),
        *("59.970", "59.971", "59.980", "59.984", "59.980", "59.984", "59.970", "59.971"),
    )
    found = scattered(state)
    assert um2(found) == (Fraction(17, 4), Fraction(17, 4))
    assert found.is_one


def test_a_part_that_scatters_less_does_not_count(tmp_path: Path) -> None:
    # equal repeats prove nothing
    state = session(
        tmp_path,
        repeated(2),
        *("59.970", "59.971", "59.980", "59.980", "59.980", "59.980", "59.970", "59.971"),
    )
    found = scattered(state)
    assert um2(found) == (Fraction(1, 2), Fraction(1, 2))
    assert (found.on_part.dof, found.is_one) == (2.0, True)
    assert "repeats" not in found.on_part.note


def test_checks_of_one_reading_leave_it_to_the_repeats_for_both(tmp_path: Path) -> None:
    plan = repeated(2).replace("readings = 2", "readings = 1")
    state = session(tmp_path, plan, "59.970", "59.980", "59.982", "59.981", "59.981", "59.970")
    found = scattered(state)
    assert um2(found) == (1, 1)  # 2 + 0 of 2
    assert (found.on_stack.dof, found.is_one) == (2.0, True)


def test_where_nothing_was_read_twice_all_of_the_permitted_spread_counts(tmp_path: Path) -> None:
    plan = ONE.replace("readings = 2", "readings = 1").replace(
        'max_spread = "0.002 mm"', 'max_spread = "0.003 mm"'
    )
    found = scattered(session(tmp_path, plan, "59.970", "59.980", "59.981", "59.970"))
    assert um2(found) == (Fraction(9, 12), Fraction(9, 12))
    assert (found.on_part.dof, found.is_one) == (math.inf, True)


STUDY = Repeatability("0.0008", "30", "S-7")


def test_a_kept_study_is_pooled_by_its_degrees_of_freedom(tmp_path: Path) -> None:
    # checks 0 1 twice: 1 of 2; study 0.64 * 30: (1 + 19.2) / 32
    state = session(
        tmp_path, ONE, "59.970", "59.971", "59.980", "59.981", "59.970", "59.971", study=STUDY
    )
    found = scattered(state)
    assert um2(found)[0] == Fraction("20.2") / 32
    assert found.on_part.dof == 32.0
    assert "gauge study S-7" in found.on_part.note


def test_a_study_speaks_for_the_gauge_that_it_was_made_with(tmp_path: Path) -> None:
    first = opened(ONE, with_setup=msgspec.structs.replace(setup(), study=STUDY))
    bench = Bench.new(tmp_path / "s", first).press("59.970", "59.971")
    bench.say(LoseLink("unplugged"))
    bench.say(FindLink(source("usb-2", "other")))
    bench.press("59.970", "59.971", "59.980", "59.981", "59.970", "59.971").close()
    found = scattered(bench.state)
    assert found.on_part.dof == 2.0
    assert "S-7" not in found.on_part.note


def test_repeats_of_all_journals_by_one_gauge_are_pooled(tmp_path: Path) -> None:
    plan = repeated(2) + '\n[[journal]]\nname = "M2"\nlow = "59.970 mm"\nhigh = "59.990 mm"\n'
    # M1: 0 1 and 0 0; M2: 0 2 and 0 1: 0.5 + 0 + 2 + 0.5 = 3 of 4; checks 0 1 twice: 1 of 2
    values = ["59.970", "59.971", "59.980", "59.981", "59.985", "59.985"]
    values += ["59.980", "59.982", "59.985", "59.986", "59.970", "59.971"]
    found = scattered(session(tmp_path, plan, *values))
    assert um2(found)[0] == Fraction(4, 6)
    assert found.on_part.dof == 6.0


# --- checks around a reading ---


def test_error_and_move_are_unrounded_means_of_the_checks(tmp_path: Path) -> None:
    # 0 0 1 of three: 1/3; 1 1 2: 4/3
    plan = ONE.replace("readings = 2", "readings = 3")
    values = ("59.970", "59.970", "59.971", "59.980", "59.981", "59.971", "59.971", "59.972")
    around = about(session(tmp_path, plan, *values)).checks
    assert around.error_mm * 1000 == Fraction(5, 6)
    assert around.moved_mm == Fraction(1, 1000)
    assert around.readings == 3


def test_each_bracket_of_a_stint_has_its_own_checks_and_all_know_the_whole_stint(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.969", "59.969", "59.980")
    bench.say(CheckNow())
    bench.press("59.970", "59.970", "59.981", "59.971", "59.971").close()
    first, second = about(bench.state, 0).checks, about(bench.state, 1).checks
    assert [one.error_mm * 10_000 for one in (first, second)] == [-5, 5]
    assert first.stint_means_mm == second.stint_means_mm
    assert [mean * 1000 for mean in first.stint_means_mm] == [-1, 0, 1]


def test_a_failed_check_closes_no_bracket(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980", "59.981")
    bench.press("59.976", "59.976").close()
    found = about(bench.state)
    assert found.is_provisional
    assert found.checks.error_mm == 0


def test_readings_between_the_same_checks_share_one_record(tmp_path: Path) -> None:
    values = ("59.970", "59.970", "59.980", "59.981", "59.970", "59.970")
    state = session(tmp_path, ONE, *values)
    find = conditions_of(state, state.plan.journals[0])
    one, other = state.by_journal["M1"].taken
    assert find(one) is find(other)


def test_what_is_known_is_kept_while_nothing_of_it_changes(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    before = known(bench.state)
    bench.press("59.981")
    assert known(bench.state, before) is before, "no repeats: a reading says nothing of scatter"
    bench.press("59.970", "59.970").close()
    assert known(bench.state, before) is not before


# --- the gauge and its history ---


def test_the_history_of_drift_is_that_of_the_gauge_which_read(tmp_path: Path) -> None:
    drift = Repeatability("0.0004", "7", "7 stints")
    first = opened(ONE, with_setup=msgspec.structs.replace(setup(), drift=drift))
    bench = Bench.new(tmp_path / "s", first).press("59.970", "59.970", "59.980")
    assert about(bench.state).drift == HistoryDrift(0.0004, 7.0, "7 stints")
    bench.say(LoseLink("unplugged"))
    bench.say(FindLink(source("usb-2", "other")))
    bench.press("59.970", "59.970", "59.980", "59.981", "59.970", "59.970").close()
    assert about(bench.state).drift is None


@pytest.mark.parametrize(
    ("file", "permitted", "pitch"),
    [
        (None, None, "0.5"),
        (GAUGE, None, "0.5"),
        (f'{GAUGE}permitted_error = "0.004 mm"\npitch = "1 mm"\n', "0.004", "1"),
    ],
)
def test_permitted_error_and_pitch_are_those_of_the_gauge_file(
    tmp_path: Path, file: str | None, permitted: str | None, pitch: str
) -> None:
    values = ("59.970", "59.970", "59.980")
    found = about(session(tmp_path, ONE, *values, gauge_file=file))
    assert (None if found.permitted_error_mm is None else str(found.permitted_error_mm)) == (
        permitted
    )
    assert str(found.pitch_mm) == pitch


def test_the_stack_counts_for_each_stint(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    bench.say(CheckNow())
    bench.press("59.970", "59.970")
    bench.say(GaugeZeroed())
    bench.press("59.972", "59.972", "59.982", "59.972", "59.972").close()
    found = [about(bench.state, number) for number in (0, 1)]
    assert [one.stint for one in found] == [1, 2]
    assert [one.checks.error_mm * 1000 for one in found] == [0, 2]
