"""What a session comes to: verdict, reasons, the early warning, which readings support a step."""

from decimal import Decimal
from pathlib import Path

import pytest

from daq.evaluation.verdict import (
    OPEN,
    confirmed_below,
    groups,
    journals,
    judge_journal,
    natural_verdict,
    reasons,
    stint_age_fault,
)
from daq.lengths import EXACT
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
    assert said[1] == (
        "decided by guarded acceptance: a limit counts as kept or passed at 0.95 confidence "
        "(ISO 14253-1)"
    )
    assert said[-1] == ("the permitted error of the gauge is not known: no gauge file states it")
    text = " ".join(said)
    for word in ("failed", "standing readings", "not measured", "certificate", "ever passed"):
        assert word not in text


def test_a_before_check_is_spoken_of_where_no_other_check_follows_it(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980")
    bench.say(GaugeZeroed())  # stint 1 has its before-check alone
    bench.press(*STACK, "59.980", "59.981", *STACK)
    said = [reason for reason in closed(bench).reasons if " of stint " in reason]
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
        "M2 is below its low limit 59.970 mm at M2 front 0° and again at M2 front 90°: the part "
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
    assert "at M1 front 0° and again at M1 front 0°" in said
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
    assert "at M1 front 90° and again at M1 front 90°" in said
    bench.close()


def test_what_a_failed_check_has_tainted_warns_of_nothing(tmp_path: Path) -> None:
    bench = bench_of(tmp_path, TWO).press(*STACK, "59.950", "59.951")
    assert warnings(bench)[0] is not None
    bench.say(CheckNow())
    bench.press(*FAILED)
    assert warnings(bench) == [None, None]
    bench.close()


def guard_mm(state: State) -> Decimal:
    """The guard of the smallest place of the first journal."""
    size = judge_journal(state, state.plan.journals[0]).size
    assert size is not None
    return size.smallest.guard_mm


@pytest.mark.parametrize("rule", ["", SIMPLE])
def test_only_what_is_below_by_the_guard_warns(tmp_path: Path, rule: str) -> None:
    # The limit itself is no fault; a micrometre under it is one where the limits alone decide.
    bench = bench_of(tmp_path, ONE + rule).press(*STACK, "59.970", "59.970")
    assert warnings(bench) == [None]
    for _ in range(2):
        bench.say(Back())
    bench.press("59.969", "59.968")
    assert guard_mm(bench.state) > Decimal("0.002"), "printed by both rules"
    assert (warnings(bench) != [None]) is bool(rule)
    bench.close()


def test_a_reading_just_at_the_guard_warns_and_a_hair_nearer_is_too_near(tmp_path: Path) -> None:
    far = bench_of(tmp_path / "far").press(*STACK, "59.960").close()
    guard = guard_mm(far.state)
    limit = EXACT.subtract(Decimal("59.970"), guard)
    bench = bench_of(tmp_path).press(*STACK)
    at = format(limit, "f")
    near = format(EXACT.add(limit, Decimal("0.00001")), "f")
    bench.press(near, at)
    assert guard_mm(bench.state) == guard
    assert warnings(bench) == [None], "front/0 is a hair nearer than the guard"
    bench.say(Back())
    bench.press(at)
    said = warnings(bench)
    assert said[0] is not None
    assert "at M1 front 90° and again at M1 front 90°" in said[0]
    bench.close()


def test_the_warning_goes_by_the_estimate_and_not_by_what_was_read(tmp_path: Path) -> None:
    # The gauge reads 0.002 mm too much: 59.967 is 59.965, 0.005 mm under the limit.
    bench = bench_of(tmp_path).press("59.972", "59.972", "59.967", "59.967")
    assert warnings(bench) != [None]
    bench.close()
    # It reads 0.002 mm too little: the same is 59.969, too near.
    other = bench_of(tmp_path / "t").press("59.968", "59.968", "59.967", "59.967")
    assert warnings(other) == [None]
    other.close()


def test_nothing_measured_has_no_size(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    found = judge_journal(bench.state, bench.state.plan.journals[0])
    assert (found.size, found.form, found.result.uncertainty_mm) == (None, None, "")
    assert warnings(bench) == [None]
    bench.close()


# --- several stints ---


def two_stints(
    folder: Path, first: tuple[str, str], second: tuple[str, str], *values: str
) -> State:
    """One place each in two stints, whose checks (before, after) show these sizes for the stack of
    59.970.
    """
    bench = bench_of(folder).press(first[0], first[0], values[0])
    bench.say(CheckNow())
    bench.press(first[1], first[1])
    bench.say(GaugeZeroed())
    bench.press(second[0], second[0], values[1], second[1], second[1]).close()
    return bench.state


@pytest.mark.parametrize(
    ("first", "second", "smallest", "largest"),
    [
        # 59.974 less 0 and 59.975 less 0.002
        ("59.970", "59.972", ("59.97300", "front/90"), ("59.97400", "front/0")),
        # 59.974 less 0.002 and 59.975 less 0
        ("59.972", "59.970", ("59.97200", "front/0"), ("59.97500", "front/90")),
    ],
)
def test_each_reading_is_corrected_by_the_error_of_its_own_stint(
    tmp_path: Path,
    first: str,
    second: str,
    smallest: tuple[str, str],
    largest: tuple[str, str],
) -> None:
    state = two_stints(tmp_path, (first, first), (second, second), "59.974", "59.975")
    (found,) = journals(state)
    assert (found.smallest_mm, found.smallest_at) == smallest
    assert (found.largest_mm, found.largest_at) == largest


def test_a_place_that_is_known_worse_decides_though_another_is_smaller(tmp_path: Path) -> None:
    # First stint: moved by 2 um, error +1: 59.973 is 59.972, 2 um over the limit, and
    # u_c**2 = 0.732**2 + 0.021**2 + 0.430**2 + 2 * 0.289**2 + 1**2 = 1.374**2, 1.645 u_c = 2.26.
    # Second stint: stood still; 59.9718 is smaller, u_c = 0.946, 1.645 u_c = 1.56 under 1.80.
    still, moved = ("59.970", "59.970"), ("59.970", "59.972")
    state = two_stints(tmp_path, moved, still, "59.973", "59.9718")
    (found,) = journals(state)
    assert (found.smallest_mm, found.smallest_at) == ("59.97180", "front/90")
    assert found.size_verdict == "undecided"
    assert float(found.uncertainty_mm) == pytest.approx(0.00227, abs=1.1e-5)
    assert float(found.conformance_probability) == pytest.approx(0.9273, abs=2e-4)  # of 2 / 1.374
    assert "front/0 is 0.002 mm from the limit" in found.settled_by


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
    plan = plan.replace("[0, 90]", "[0, 60, 120]")
    bench = bench_of(tmp_path, plan + SIMPLE, first).press(*STACK, "59.980").close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US, second)
    again.press(*STACK, "59.980", "59.980", *STACK).close()
    (found,) = journals(again.state)
    assert (found.size_verdict, found.form_verdict) == ("within", form)


def test_a_live_judgement_lacks_the_words_for_what_would_settle_it(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.971", "59.972", *STACK).close()
    (journal,) = bench.state.plan.journals
    full = judge_journal(bench.state, journal).result
    live = judge_journal(bench.state, journal, is_live=True).result
    assert full.size_verdict == live.size_verdict == "undecided"
    assert full.settled_by
    assert live.settled_by == ""


def test_before_the_closing_check_a_verdict_is_provisional_and_says_so(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980", "59.981")
    assert journals(bench.state)[0].provisional == "yes"
    words = "provisional: no closing check has passed yet for some of the readings"
    assert words in reasons(bench.state, OPEN)
    bench.press(*STACK)
    said = closed(bench)
    assert said.journals[0].provisional == ""
    assert words not in said.reasons


def test_an_abandoned_session_is_provisional_for_ever(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.980", "59.981")
    bench.say(Abandon("fell"))
    said = closed(bench)
    assert said.journals[0].provisional == "yes"
    assert any(reason.startswith("provisional: ") for reason in said.reasons)


def test_the_report_says_what_was_taken_off_and_what_no_check_can_see(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press("59.971", "59.971", "59.980", "59.981", "59.972", "59.972")
    said = closed(bench).reasons
    assert "stint 1: the gauge was off by +0.0015 mm on the stack, which is taken off" in said
    assert "what no check can see: a gauge that moved and came back between two checks" in said


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
