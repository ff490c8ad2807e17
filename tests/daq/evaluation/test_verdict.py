"""What a session comes to: verdict, reasons, the early warning, which readings support a step."""

from decimal import Decimal
from pathlib import Path

import pytest

from daq.evaluation.earlier.diameter import size_uncertainty
from daq.evaluation.earlier.inputs import diameter_inputs
from daq.evaluation.verdict import (
    OPEN,
    confirmed_below,
    groups,
    guard_mm,
    journals,
    judge_journal,
    natural_verdict,
    reasons,
    stint_age_fault,
)
from daq.record.events import Closed, Setup
from daq.record.state import State, Status, status
from daq.rules.commands import Abandon, Back, CheckNow, GaugeZeroed, Later, Retake, StopHere
from tests.builders import MINUTE_US, ONE, Bench, opened, setup

STACK = ("59.970", "59.970")
FAILED = ("59.975", "59.975")  # 0.005 over the stack, permitted 0.002

TWO = (
    ONE.replace('name = "M1"', 'name = "M1"\ngroup = "mains"')
    + """
[[journal]]
name = "M2"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"
"""
)
"""Two journals on one stack, two places each: M1 front 0 and 90, then M2."""

SIMPLE = '\n[decision]\nrule = "simple"\n'


def bench_of(folder: Path, plan: str = ONE, with_setup: Setup | None = None) -> Bench:
    return Bench.new(folder / "s", opened(plan, with_setup=with_setup))


def closed(bench: Bench) -> Closed:
    found = bench.close().state.closed
    assert found is not None
    return found


# --- the verdict ---


def test_a_before_check_that_failed_and_nothing_measured_is_rejected(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*FAILED)
    assert status(bench.state) is Status.WAITING
    bench.say(StopHere("no time"))
    found = closed(bench)
    assert found.verdict == "rejected"
    assert "no before-check ever passed" in found.reasons
    assert "nothing of the part was measured" in found.reasons


def test_a_passed_before_check_and_nothing_measured_is_not_called_unproven(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    assert natural_verdict(bench.state) == "accepted"
    assert "no before-check ever passed" not in reasons(bench.state, OPEN)
    bench.say(StopHere("no time"))
    bench.press(*STACK)
    assert "no before-check ever passed" not in closed(bench).reasons


def test_one_reading_that_no_check_has_proven_is_enough_to_reject(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980")
    bench.say(CheckNow())
    bench.press(*STACK)
    assert natural_verdict(bench.state) == "accepted"
    bench.press("59.981")
    assert natural_verdict(bench.state) == "rejected"
    bench.close()


# --- the reasons ---


def test_the_reasons_of_an_accepted_session_in_order(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980", "59.981", *STACK)
    said = closed(bench).reasons
    assert said[0] == (
        "after check 2 of stint 1 passed: mean error 0.0000 mm, spread 0.0000 mm, drift 0.0000 mm"
    )
    assert said[1] == ("decided by guarded acceptance: guard = expanded uncertainty (ISO 14253-1)")
    assert said[-1] == ("the permitted error of the gauge is not known: no gauge file states it")
    text = " ".join(said)
    for word in ("failed", "standing readings", "not measured", "certificate", "ever passed"):
        assert word not in text


def test_a_before_check_is_spoken_of_where_no_other_check_follows_it(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980")
    bench.say(GaugeZeroed())  # stint 1 has its before-check alone
    bench.press(*STACK, "59.980", "59.981", *STACK)
    said = [reason for reason in closed(bench).reasons if " check " in reason]
    assert [reason.partition(" passed")[0] for reason in said] == [
        "before check 1 of stint 1",
        "after check 3 of stint 2",
    ]


def test_failed_checks_are_counted(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*FAILED, *STACK, "59.980", "59.981", *FAILED)
    said = closed(bench).reasons
    assert said[0].startswith("before check 1 of stint 1 failed: mean error +0.0050 mm")
    assert said[1].startswith("after check 3 of stint 1 failed: drift +0.0050 mm")
    assert "2 of 3 checks failed" in said
    assert "2 of 2 standing readings are not proven by a passed check" in said


def test_what_came_after_the_last_passed_check_is_counted_apart(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980")
    words = "1 of 1 standing readings are taken after the last passed check"
    assert words in reasons(bench.state, "rejected")
    assert words not in reasons(bench.state, OPEN), "an open session has yet to be checked"
    bench.say(Abandon("fell"))
    assert "1 of 1 standing readings are not proven by a passed check" in closed(bench).reasons


@pytest.mark.parametrize("verdict", ["rejected", OPEN])
def test_tainted_readings_are_told_of_an_open_session_too(tmp_path: Path, verdict: str) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980")
    bench.say(GaugeZeroed())
    said = reasons(bench.state, verdict)
    assert "1 of 1 standing readings are not proven by a passed check" in said
    bench.close()


def test_an_open_session_is_not_told_that_nothing_was_measured(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert "nothing of the part was measured" not in reasons(bench.state, OPEN)
    assert "nothing of the part was measured" in reasons(bench.state, "rejected")
    bench.close()


def test_what_is_said_comes_first(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert reasons(bench.state, "rejected", ["one", "two"])[:3] == [
        "one",
        "two",
        "nothing of the part was measured",
    ]
    bench.close()


@pytest.mark.parametrize(
    ("measured", "words"),
    [
        (("59.980",), "1 place of the plan was not measured"),
        ((), "2 places of the plan were not measured"),
        (("59.980", "59.981"), None),
    ],
)
def test_places_that_were_not_measured_are_counted(
    tmp_path: Path, measured: tuple[str, ...], words: str | None
) -> None:
    bench = bench_of(tmp_path).press(*STACK, *measured)
    said = [reason for reason in reasons(bench.state, "rejected") if "of the plan" in reason]
    assert said == ([] if words is None else [words])
    bench.close()


def gauge_file(permitted: str) -> str:
    return f'schema = 1\nprofile = "bench"\nport = "/dev/x"\n{permitted}\n'


KNOWN = setup(gauge_file=gauge_file('permitted_error = "0.002 mm"'))
UNSTATED = setup(gauge_file=gauge_file(""))
NOT_KNOWN = "the permitted error of the gauge is not known: no gauge file states it"


@pytest.mark.parametrize(
    ("first", "second", "is_told"),
    [
        (KNOWN, KNOWN, False),
        (UNSTATED, KNOWN, True),
        (KNOWN, UNSTATED, True),
        (KNOWN, setup(), True),
    ],
)
def test_a_permitted_error_that_is_not_known_is_told_of_every_run_that_measured(
    tmp_path: Path, first: Setup, second: Setup, is_told: bool
) -> None:
    bench = bench_of(tmp_path, ONE, first).press(*STACK, "59.980").close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US, second)
    again.press(*STACK, "59.981", *STACK)
    assert (NOT_KNOWN in closed(again).reasons) is is_told


def test_before_anything_is_measured_the_last_runs_gauge_is_spoken_of(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE, UNSTATED).close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US, KNOWN)
    assert NOT_KNOWN in reasons(bench.state, "rejected")
    assert NOT_KNOWN not in reasons(again.state, "rejected")
    again.close()


# --- the early warning ---


def warnings(bench: Bench) -> list[str | None]:
    return [confirmed_below(bench.state, journal) for journal in bench.state.plan.journals]


def test_the_early_warning_speaks_of_the_journal_that_it_names(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, TWO).press(*STACK, "59.950", "59.980")  # M1 is small at front/0
    assert warnings(bench) == [None, None]
    bench.press("59.951")  # M2 is small at front/0: one reading of each
    assert warnings(bench) == [None, None]
    bench.press("59.952")  # and M2 at front/90
    assert warnings(bench) == [
        None,
        "M2 is below its low limit 59.970 mm at M2/front/0 and again at M2/front/90: the part "
        "cannot serve as it is, and the rest need not be stripped for this decision",
    ]
    bench.close()


def test_the_same_place_read_again_confirms_though_the_first_was_taken_back(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.950")
    bench.say(Back())
    assert warnings(bench) == [None], "nothing stands"
    bench.press("59.951")
    (said,) = warnings(bench)
    assert said is not None
    assert "at M1/front/0 and again at M1/front/0" in said
    bench.close()


def test_another_place_that_was_taken_back_confirms_nothing(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.950", "59.951")
    assert warnings(bench) != [None]
    bench.say(Retake("M1/front/0"))
    assert warnings(bench) == [None]
    bench.press("59.985")
    assert warnings(bench) == [None], "front/0 is large enough after all"
    bench.close()


def test_a_reading_that_stands_above_its_limit_hides_no_other(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.985", "59.950")
    assert warnings(bench) == [None]
    bench.say(Back())
    bench.press("59.951")
    (said,) = warnings(bench)
    assert said is not None
    assert "at M1/front/90 and again at M1/front/90" in said
    bench.close()


def test_what_a_failed_check_has_tainted_warns_of_nothing(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, TWO).press(*STACK, "59.950", "59.951")
    assert warnings(bench)[0] is not None
    bench.say(CheckNow())
    bench.press(*FAILED)
    assert warnings(bench) == [None, None]
    bench.close()


@pytest.mark.parametrize("rule", ["", SIMPLE])
def test_only_what_is_below_by_more_than_the_guard_warns(tmp_path: Path, rule: str) -> None:
    # The limit itself is no fault; a micrometre under it is one where the limits alone decide.
    bench = bench_of(tmp_path, ONE + rule).press(*STACK, "59.970", "59.970")
    assert warnings(bench) == [None]
    for _ in range(2):
        bench.say(Back())
    bench.press("59.969", "59.968")
    (journal,) = bench.state.plan.journals
    guard = guard_mm(bench.state, journal)
    assert (guard == 0) is bool(rule)
    assert (warnings(bench) != [None]) is bool(rule), "the guard is some micrometres here"
    bench.close()


def test_a_reading_just_at_the_guard_is_too_near_to_warn(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.960", "59.960")
    (journal,) = bench.state.plan.journals
    limit = Decimal("59.970") - guard_mm(bench.state, journal)
    for _ in range(2):
        bench.say(Back())
    at = [format(limit, "f"), format(limit - Decimal("0.00001"), "f")]
    for value in (*at, at[1]):
        if status(bench.state) is Status.CLOSING:
            bench.say(Back())
        bench.press(value, resolution="0.001")
    assert guard_mm(bench.state, journal) == Decimal("59.970") - limit
    said = warnings(bench)
    assert said[0] is not None
    assert "at M1/front/90 and again at M1/front/90" in said[0], "front/0 lies at the guard"
    bench.close()


def test_nothing_measured_has_no_guard(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    (journal,) = bench.state.plan.journals
    assert guard_mm(bench.state, journal) == 0
    assert warnings(bench) == [None]
    bench.close()


# --- the worst of the stints decides ---


def two_stints(folder: Path, first: str, second: str) -> State:
    """One place each in two stints, whose checks show these sizes for the stack of 59.970."""
    bench = bench_of(folder).press(first, first, "59.974")
    bench.say(CheckNow())
    bench.press(first, first)
    bench.say(GaugeZeroed())
    bench.press(second, second, "59.975", second, second).close()
    return bench.state


@pytest.mark.parametrize(("first", "second"), [("59.970", "59.972"), ("59.972", "59.970")])
def test_a_journal_of_two_stints_is_known_as_well_as_the_worse_of_them(
    tmp_path: Path, first: str, second: str
) -> None:
    state = two_stints(tmp_path, first, second)
    (journal,) = state.plan.journals
    readings = state.by_journal["M1"]
    guards = [size_uncertainty(about).guard_mm for about in diameter_inputs(state, readings)]
    good, poor = sorted(guards)
    assert poor - good >= Decimal("0.0019")  # an error of 0.002 mm on the stack is added
    assert guard_mm(state, journal) == poor
    found = judge_journal(state, journal)
    assert found.uncertainty_mm == format(poor, "f")
    # 59.974 is 0.004 mm over its limit: too near by the worse stint, not without its error.
    assert good < Decimal("0.004") < poor
    assert found.size_verdict == "undecided"
    assert "set the gauge right on the stack" in found.settled_by


@pytest.mark.parametrize(
    ("steps_mm", "form"),
    [
        (("0.001", "0.001"), "within"),
        (("0.001", "0.002"), "undecided"),
        (("0.002", "0.001"), "undecided"),
    ],
)
def test_form_is_judged_by_the_coarsest_gauge_of_a_journal(
    tmp_path: Path, steps_mm: tuple[str, str], form: str
) -> None:
    # Form within 0.007 mm is over four steps of 0.001 mm, and under four of 0.002 mm.
    first, second = (setup(gauge_file=gauge_file(f'resolution = "{step} mm"')) for step in steps_mm)
    plan = ONE.replace('high = "59.990 mm"', 'high = "59.990 mm"\nout_of_round = "0.007 mm"')
    bench = bench_of(tmp_path, plan + SIMPLE, first).press(*STACK, "59.980").close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US, second)
    again.press(*STACK, "59.980", *STACK).close()
    (found,) = journals(again.state)
    assert (found.size_verdict, found.form_verdict) == ("within", form)


def test_a_live_judgement_lacks_the_words_for_what_would_settle_it(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.971", "59.972", *STACK).close()
    (journal,) = bench.state.plan.journals
    full = judge_journal(bench.state, journal)
    live = judge_journal(bench.state, journal, is_live=True)
    assert full.size_verdict == live.size_verdict == "undecided"
    assert full.settled_by
    assert live.settled_by == ""


# --- which readings support a step ---


def steps(state: State, *, is_closing: bool = False) -> list[str]:
    return [group.step for group in groups(state, is_closing=is_closing)]


def test_open_readings_support_a_step_until_the_session_is_closed(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*STACK, "59.980", "59.981").close()
    assert steps(bench.state) == ["serve-as-is"]
    assert steps(bench.state, is_closing=True) == ["not-assessed"]


def test_open_readings_support_a_step_though_an_earlier_stint_is_over(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*STACK, "59.980")
    bench.say(GaugeZeroed())
    bench.press(*STACK, "59.980", "59.981").close()
    assert steps(bench.state) == ["serve-as-is"]


def test_what_is_measured_again_and_proven_after_a_failed_check_supports_a_step(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*STACK, "59.980")
    bench.say(CheckNow())
    bench.press(*FAILED, *STACK, "59.980", "59.981", *STACK)
    assert [group.step for group in closed(bench).groups] == ["serve-as-is"]


def test_one_tainted_reading_among_proven_ones_of_another_stint_leaves_no_step(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*STACK, "59.980", "59.981")
    bench.say(GaugeZeroed())  # both are tainted; front/0 is measured again
    bench.press(*STACK, "59.980")
    bench.say(StopHere("enough"))
    bench.press(*STACK)
    assert [group.step for group in closed(bench).groups] == ["not-assessed"]


def test_all_journals_without_proof_are_named(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, TWO + SIMPLE).press(*STACK, *["59.980", "59.981"] * 2, *FAILED)
    (group,) = closed(bench).groups
    assert group.step == "not-assessed"
    assert group.reason.startswith("readings of M1, M2 are not proven by a passed check")


def test_readings_proven_in_between_support_a_step_when_the_session_is_closed(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*STACK, "59.980")
    bench.say(CheckNow())
    bench.press(*STACK, "59.981")
    assert steps(bench.state, is_closing=True) == ["not-assessed"]
    bench.press(*STACK).close()
    assert steps(bench.state, is_closing=True) == ["serve-as-is"]


def test_a_tainted_reading_leaves_its_group_without_a_step_and_is_named(tmp_path: Path) -> None:
    plan = TWO.replace('group = "mains"', 'group = "rods"').replace(
        'name = "M1"\ngroup = "rods"', 'name = "M1"\ngroup = "mains"'
    )
    bench = bench_of(tmp_path, plan + SIMPLE).press(*STACK, "59.980", "59.981")
    bench.say(CheckNow())
    bench.press(*STACK, "59.982", "59.983")
    bench.say(GaugeZeroed())  # M2 of the rods is tainted, M1 of the mains was proven
    mains, rods = groups(bench.state)
    assert (mains.group, mains.step) == ("mains", "serve-as-is")
    assert (rods.group, rods.step) == ("rods", "not-assessed")
    assert rods.reason == (
        "readings of M2 are not proven by a passed check, so no step rests on them: measure again"
    )
    bench.close()


def test_a_failed_check_in_between_leaves_no_step(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*STACK, "59.980", "59.981")
    bench.say(Later())
    bench.press(*FAILED).close()
    assert steps(bench.state) == ["not-assessed"]


def test_a_failed_before_check_takes_nothing_from_what_was_proven(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, ONE + SIMPLE).press(*FAILED, *STACK, "59.980", "59.981", *STACK)
    assert [group.step for group in closed(bench).groups] == ["serve-as-is"]


# --- the age of the last check ---


@pytest.mark.parametrize(
    ("age_min", "is_new_run", "words"),
    [
        (240, False, None),
        (241, False, "the last passed check is 241 min old, permitted 240 min"),
        (-1, False, None),  # taken in before it was judged
        (-1, True, "this computer's clock went back since the last passed check"),
        (0, True, None),
    ],
)
def test_a_check_is_too_old_by_its_age_and_by_a_clock_that_went_back(
    tmp_path: Path, age_min: int, is_new_run: bool, words: str | None
) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    passed_us = bench.now_us
    said = stint_age_fault(bench.state, passed_us + age_min * MINUTE_US, is_new_run=is_new_run)
    assert (said is None) if words is None else (said is not None and said.startswith(words))
    bench.close()


def test_without_a_running_proven_stint_there_is_no_age(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    far = bench.now_us + 1000 * MINUTE_US
    assert stint_age_fault(bench.state, far) is None
    bench.press(*STACK, "59.980")
    assert stint_age_fault(bench.state, far)
    bench.say(Later())
    bench.press(*STACK)
    assert status(bench.state) is Status.OVER
    assert stint_age_fault(bench.state, far) is None
    bench.close()


def test_journals_are_judged_in_the_plans_order(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, TWO).press(*STACK, "59.980").close()
    first, second = journals(bench.state)
    assert (first.journal, first.positions_measured) == ("M1", 1)
    assert (second.journal, second.positions_measured) == ("M2", 0)
