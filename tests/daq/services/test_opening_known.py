"""What is told of the gauge when a run opens, and what a later run keeps of it."""

from pathlib import Path

import msgspec
import pytest

from daq.errors import DaqError, UsageError
from daq.plan.plan import parse_plan
from daq.record.events import Repeatability, Setup
from daq.services.opening import Around, NewSession, OpenRun, open_again, open_new, start_notes
from daq.services.run_wanted import Attendance, RunWanted
from daq.storage.history_file import append_check
from tests.builders import ONE
from tests.daq.gauges.history_builders import FIRST_US, HOUR_US, check

LOOP = RunWanted(port="loop://", profile="number-unit-crlf")
FIXED = """\
schema = 1
id = "fixed"
kind = "text"
[frame]
end = "\\r\\n"
[[layout]]
name = "number"
form = "fixed"
[value]
unit = "mm"
resolution = "0.001"
"""


def around(home: Path) -> Around:
    there = Attendance(has_keyboard=True, is_terminal=False)
    return Around(home, there, lambda text: None, lambda trouble: None)


def setup_of(run: OpenRun) -> Setup:
    """What the run recorded; the run is given back."""
    run.port.close()
    run.manager.close()
    return run.manager.state.setup


def opened(home: Path, wanted: RunWanted, plan: str = ONE) -> Setup:
    new = NewSession(
        plan=parse_plan(plan, "plan.toml"), plan_name="plan.toml", folder=home / "session"
    )
    return setup_of(open_new(wanted, new, around(home)))


def resumed(home: Path, wanted: RunWanted) -> Setup:
    return setup_of(open_again(wanted, home / "session", None, around(home)))


def gauge_files(home: Path, *names: str) -> None:
    (home / "gauges").mkdir()
    text = 'schema = 1\nprofile = "number-unit-crlf"\nport = "loop://"\n'
    for name in names:
        (home / "gauges" / f"{name}.toml").write_text(text, encoding="utf-8")


# The step ----------------------------------------------------------------------------------------


def test_the_step_told_is_recorded_and_a_resume_keeps_it(tmp_path: Path) -> None:
    assert opened(tmp_path, LOOP._replace(step="0.005 mm")).step == "0.005 mm"
    assert resumed(tmp_path, RunWanted()).step == "0.005 mm"
    assert resumed(tmp_path, RunWanted(step="0.0001 in")).step == "0.0001 in"
    assert resumed(tmp_path, RunWanted()).step == "0.0001 in"


def test_no_step_is_recorded_where_none_was_told(tmp_path: Path) -> None:
    assert opened(tmp_path, LOOP).step is None
    assert resumed(tmp_path, RunWanted()).step is None


def test_another_gauge_does_not_take_over_the_step(tmp_path: Path) -> None:
    gauge_files(tmp_path, "mic", "other")
    assert opened(tmp_path, RunWanted(gauge="mic", step="0.005 mm")).step == "0.005 mm"
    assert resumed(tmp_path, RunWanted(gauge="mic")).step == "0.005 mm"
    assert resumed(tmp_path, RunWanted(gauge="other")).step is None


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("0.005", "'0.005' is not a length with its unit"),
        ("0 mm", "0 mm is not above zero"),
        ("-0.005 mm", "-0.005 mm is not above zero"),
    ],
)
def test_a_step_that_is_none_is_refused(tmp_path: Path, step: str, said: str) -> None:
    with pytest.raises(UsageError, match=said) as caught:
        opened(tmp_path, LOOP._replace(step=step))
    assert caught.value.option == "--step"
    assert not (tmp_path / "session").exists()


def test_a_step_that_the_profiles_last_digit_cannot_show_is_refused(tmp_path: Path) -> None:
    profile = tmp_path / "fixed.toml"
    profile.write_text(FIXED, encoding="utf-8")
    wanted = RunWanted(port="loop://", profile=str(profile))
    with pytest.raises(UsageError, match=r"0\.0005 mm is no multiple of the gauge's last digit"):
        opened(tmp_path, wanted._replace(step="0.0005 mm"))
    assert opened(tmp_path, wanted._replace(step="0.002 mm")).step == "0.002 mm"


def test_a_step_over_a_quarter_of_the_tolerance_is_too_coarse(tmp_path: Path) -> None:
    # 59.990 - 59.970 = 0.020 mm
    with pytest.raises(DaqError, match=r"its resolution of 0\.006 mm is over a quarter"):
        opened(tmp_path, LOOP._replace(step="0.006 mm"))
    assert not (tmp_path / "session").exists()


# What the part was ground to ---------------------------------------------------------------------

UNDERSIZES = """
[[group]]
name = "mains"
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
"""
GROUND = ONE.replace('name = "M1"', 'name = "M1"\ngroup = "mains"') + UNDERSIZES


def test_what_the_part_was_ground_to_is_recorded_and_a_resume_keeps_it(tmp_path: Path) -> None:
    assert opened(tmp_path, LOOP._replace(ground_to=("0.25",)), GROUND).ground_to == ("0.25",)
    assert resumed(tmp_path, RunWanted()).ground_to == ("0.25",)


def test_an_undersize_that_the_plan_lacks_is_refused_naming_those_it_has(tmp_path: Path) -> None:
    with pytest.raises(
        UsageError, match=r"no undersize of this plan \(there are: mains=0\.25\)"
    ) as e:
        opened(tmp_path, LOOP._replace(ground_to=("0.50",)), GROUND)
    assert e.value.option == "--ground-to"
    assert not (tmp_path / "session").exists()


def test_a_stack_too_far_from_the_undersize_is_refused(tmp_path: Path) -> None:
    # 59.970 - 59.720 = 0.250 mm
    near = GROUND.replace("[check]", '[check]\nnear = "0.2 mm"')
    with pytest.raises(DaqError, match=r"lies 0\.250 mm from the low limit 59\.720 mm of M1"):
        opened(tmp_path, LOOP._replace(ground_to=("0.25",)), near)


def test_the_limits_that_count_are_told_at_the_start(tmp_path: Path) -> None:
    new = NewSession(
        plan=parse_plan(GROUND, "plan.toml"), plan_name="plan.toml", folder=tmp_path / "session"
    )
    run = open_new(LOOP._replace(ground_to=("0.25",)), new, around(tmp_path))
    assert [note for note in start_notes(run) if "ground to" in note] == [
        "mains is inspected as ground to 0.25, 59.720 mm to 59.740 mm: both limits count"
    ]
    setup_of(run)


# What its history says ---------------------------------------------------------------------------


def test_the_drift_of_its_history_is_recorded_for_a_new_run_and_a_later_one(tmp_path: Path) -> None:
    gauge_files(tmp_path, "mic")
    assert opened(tmp_path, RunWanted(gauge="mic")).drift is None
    # Five stints of one session, each with a drift of 1 um.
    for number, phase in enumerate(("before", "after") * 5):
        values = ("59.970", "59.970") if phase == "before" else ("59.971", "59.971")
        record = msgspec.structs.replace(
            check(*values, source="s", check_no=number + 1, phase=phase), stint=1 + number // 2
        )
        append_check("mic", tmp_path, FIRST_US + number * HOUR_US, record)
    drift = resumed(tmp_path, RunWanted()).drift
    assert drift == Repeatability(
        "0.0010000", "5", "drift found 5 times in its history, 2026-01-05 to 2026-01-05"
    )
    (tmp_path / "session").rename(tmp_path / "first")
    assert opened(tmp_path, RunWanted(gauge="mic")).drift == drift
