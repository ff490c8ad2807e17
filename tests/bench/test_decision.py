"""The simulation of the decision: its counting, with numbers worked by hand."""

import math

import pytest

from bench.crank_sessions import BY_3, Job
from bench.decision import (
    ALL_WITHIN,
    WRONG_ACCEPTS,
    WRONG_REJECTS,
    Case,
    ChecksCase,
    Found,
    Outcome,
    Tally,
    Work,
    added,
    one_crank,
    one_of_checks,
    table,
    tally,
    worked,
)
from bench.shop import Drawn

CASE = Case("used", "used", Drawn((0.2, 0.8)), Job(20, 1))


def test_what_is_wrong_is_told_from_what_is_right() -> None:
    found = tally(
        Outcome(
            ("within", "within", "below", "out-of-form", "undecided"),
            (-2.0, 0.3, 0.1, -0.2, 5.0),
            (True, False, False, True, False),
        )
    )
    assert found.counts["within"] == 2
    assert found.counts[WRONG_ACCEPTS] == 1  # the second: 0.3 um outside
    assert found.worst_um == 0.3
    assert found.counts[WRONG_REJECTS] == 1  # the fourth: it keeps every limit
    assert found.counts[ALL_WITHIN] == 0


def test_a_crank_too_large_by_its_high_limit_alone_is_neither() -> None:
    found = tally(Outcome(("above", "within"), (-3.0, -3.0), (False, False)))
    assert (found.counts[WRONG_REJECTS], found.counts[WRONG_ACCEPTS]) == (0, 0)


def test_standard_errors_go_by_cranks_and_not_by_journals() -> None:
    """Two cranks of two journals each, one with both within and one with none: counts 2 and 0, mean
    1, variance 2; the mean of two is known to 1, and so the share of journals to 1/2.
    """
    both = tally(Outcome(("within", "within"), (-1.0, -1.0), (True, True)))
    none = tally(Outcome(("undecided", "undecided"), (-1.0, -1.0), (True, True)))
    found = both + none
    assert (found.cranks, found.journals) == (2, 4)
    assert found.share("within") == 0.5
    assert found.error_of("within") == pytest.approx(0.5)
    assert found.share(ALL_WITHIN) == 0.5
    assert found.error_of(ALL_WITHIN) == pytest.approx(0.5)  # counts 1 and 0: variance 1/2
    assert math.isinf(both.error_of("within"))  # of one crank nothing is known


def test_every_journal_of_every_crank_is_counted_once() -> None:
    name, found = worked(Work(CASE, 1, 0, 12))
    assert name == "used"
    assert isinstance(found, Found)
    by_3 = found.by_rule[BY_3]
    assert found.begun == 12
    assert by_3.cranks == 12 - found.left_out
    assert by_3.journals == 4 * by_3.cranks
    verdicts = ("within", "undecided", "below", "above", "out-of-form")
    assert sum(by_3.counts.get(verdict, 0) for verdict in verdicts) == by_3.journals


def test_a_crank_is_the_same_again_by_its_seed_and_in_whatever_part_it_comes() -> None:
    assert one_crank(CASE, 1, 7) == one_crank(CASE, 1, 7)
    whole = added([worked(Work(CASE, 1, 0, 10))])
    parts = added([worked(Work(CASE, 1, 6, 4)), worked(Work(CASE, 1, 0, 6))])
    assert whole == parts
    assert added([worked(Work(CASE, 2, 0, 10))]) != whole


def test_a_drift_of_four_steps_is_always_caught_and_a_sound_gauge_passes() -> None:
    drifts, sound = ChecksCase("drift", 0.4, 4.0), ChecksCase("sound", 0.2)
    assert {one_of_checks(drifts, 1, number) for number in range(50)} == {(1, 1)}
    assert {one_of_checks(sound, 1, number)[0] for number in range(50)} == {0}


def test_the_table_shows_shares_with_their_errors_and_the_largest_miss() -> None:
    one = Tally(2, 4, {"within": 2, WRONG_ACCEPTS: 1}, {"within": 4, WRONG_ACCEPTS: 1}, 0.5)
    row = table({"case": Found(2, 0, {BY_3: one})}).splitlines()[2]
    # wrong accepts: counts 1 and 0 of two journals each, variance 1/2, error 1/2 of 2
    assert row.startswith("| case | rule set 3 | 50.0 ± 50.0 | 0 |")
    assert "| 25.000 ± 25.000 (0.50 um) |" in row
