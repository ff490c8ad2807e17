"""`jbridge study`: both methods on one page, refusals, and what is kept."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from daq.cli.app import run
from daq.cli.views.study import lines
from daq.gauges.study import evaluate
from daq.gauges.study_data import gathered
from daq.lengths import Position
from daq.rules.commands import StopHere
from daq.storage.history_file import read
from daq.storage.replay import load_state
from tests.builders import Bench, accepted, forge, opened, setup
from tests.daq.gauges import msa_example
from tests.daq.gauges.msa_example import worked
from tests.daq.gauges.study_builders import (
    Sizes,
    accepted_study,
    press_route,
    study_plan,
    telling,
)

EXAMPLE = study_plan(msa_example.PARTS, msa_example.OPERATORS, msa_example.TRIALS)
GAUGE_FILE = 'schema = 1\nprofile = "bench"\nport = "/dev/ttyUSB0"\n'


@pytest.fixture
def example(tmp_path: Path) -> Path:
    """The worked example of the AIAG manual (from memory) as a session."""
    return accepted_study(tmp_path / "example", EXAMPLE, worked).folder


def said(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    """Exit code, stdout, stderr of one call."""
    code = run(["study", *args])
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def words(text: str) -> str:
    """Text as one line, however it was wrapped."""
    return " ".join(text.split())


# The page ----------------------------------------------------------------------------------------


def test_both_methods_stand_side_by_side(example: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, str(example))
    assert code == 0
    rows = {line[:22].strip(): line[22:].split() for line in out.splitlines()}
    # sums of squares, then standard deviations in um, per cent of the total (published, see
    # tests/daq/gauges/test_study.py)
    assert rows["repeatability (EV)"] == ["0.1999", "18.4", "0.2019", "17.6"]
    assert rows["operators (AV)"] == ["0.2268", "20.9", "0.2297", "20.0"]
    assert rows["operators by parts"][:2] == ["0", "*"]
    assert rows["gauge (GRR)"] == ["0.3024", "27.9", "0.3058", "26.7"]
    assert rows["distinct categories"] == ["4", "5"]
    assert rows["parts"][:2] == ["88.3619", "9"]
    assert "10 parts (places) by 3 operators (A, B, C) in 3 trials: 90 readings" in out


def test_what_was_set_to_zero_and_what_was_pooled_is_said_in_words(
    example: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = words(said(capsys, str(example))[1])
    assert (
        "Set to zero (analysis of variance): operators by parts. Its variance came out as -0.0087"
        in out
    )
    assert "not significant (p = 0.974, over 0.05): it counts as repeatability" in out
    assert "EV: the same operator measures the same place again" in out


def test_a_study_with_nothing_negative_says_so(tmp_path: Path) -> None:
    def sizes(position: Position, operator: int, trial: int) -> Decimal:
        # parts 2 um apart, operator B 1 um over A; repeats scatter by 0.1 um about that, and the
        # sign changes with part and operator, so that the interaction is well over them
        part = int(position.journal[1:])
        sign = (-1) ** (part * (operator + 1))
        return (
            Decimal("59.975")
            + Decimal(2 * part + operator) / 1000
            + Decimal(sign * 4 + trial) / 10000
        )

    found = evaluate(gathered(accepted_study(tmp_path / "s", study_plan(4), sizes).state))
    text = words(" ".join(lines(found)))
    assert not found.variance.is_pooled
    assert "operators by parts is significant" in text
    assert "stands by itself" in text
    assert "Nothing came out negative, so nothing was set to zero" in text


@pytest.mark.parametrize("width", [40, 80, 200])
def test_sentences_keep_to_the_width_and_tables_to_80(example: Path, width: int) -> None:
    found = evaluate(gathered(load_state(example)[0]))
    for line in lines(found, width):
        is_table = "  " in line.strip()
        assert len(line) <= (80 if is_table else max(width, 40))


# The answer --------------------------------------------------------------------------------------


def test_the_answer_stands_first(example: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # 6 x 0.302373 um of 20 um: 9.07 %
    code, out, _ = said(capsys, str(example))
    assert code == 0
    assert out.splitlines()[0] == (
        "Good enough for this tolerance, 0.020 mm: measuring takes 9.1 % of it."
    )


def apart(position: Position, operator: int, trial: int) -> Decimal:
    """B reads 6 um over A; both repeat within 0.2 um, in turn one way and the other."""
    part = int(position.journal[1:])
    back_and_forth = (-1) ** (part + trial)
    return Decimal("59.975") + Decimal(20 * part + 60 * operator + back_and_forth) / 10_000


def scattered(position: Position, operator: int, trial: int) -> Decimal:
    """A repeats within 1 um, B within 6 um."""
    part = int(position.journal[1:])
    back_and_forth = (-1) ** (part + trial) * (5, 30)[operator]
    return Decimal("59.975") + Decimal(20 * part + back_and_forth) / 10_000


@pytest.mark.parametrize(
    ("sizes", "worst"),
    [
        (apart, "Mostly the operators: B reads 0.0060 mm larger than A."),
        (scattered, "Mostly the repeats: those of B lie furthest apart, 0.0060 mm on average."),
    ],
)
def test_not_good_enough_is_the_answer_no_and_says_who_and_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], sizes: Sizes, worst: str
) -> None:
    accepted_study(tmp_path / "s", study_plan(4), sizes)
    code, out, _ = said(capsys, str(tmp_path / "s"))
    assert code == 1
    assert out.startswith("NOT good enough for this tolerance, 0.020 mm: measuring takes ")
    assert worst in words(out)
    assert said(capsys, str(tmp_path / "s"), "--json")[0] == 1


def test_between_good_and_not_it_may_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # B 1 um over A: s of operators about 1 / sqrt(2) um, 6 s about 4.2 um, 21 % of 20 um
    def near(position: Position, operator: int, trial: int) -> Decimal:
        return apart(position, 0, trial) + Decimal(operator) / 1000

    accepted_study(tmp_path / "s", study_plan(4), near)
    code, out, _ = said(capsys, str(tmp_path / "s"))
    assert code == 0
    assert out.startswith("May do for this tolerance, 0.020 mm: measuring takes 21.")


def test_without_a_tolerance_there_is_no_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check = 'max_error = "0.002 mm"\nmax_spread = "0.002 mm"\nmax_drift = "0.002 mm"\n[study]'
    plan = study_plan(4).replace('high = "59.990 mm"\n', "").replace("[study]", check)
    accepted_study(tmp_path / "s", plan, apart)
    code, out, _ = said(capsys, str(tmp_path / "s"))
    assert code == 0
    assert out.startswith("No answer: the plan has no high limits")


# Refusals ----------------------------------------------------------------------------------------


def test_a_study_with_holes_is_the_answer_no_and_names_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bench = Bench.new(tmp_path / "s", opened(study_plan()))
    press_route(bench, telling, presses=10)
    bench.say(StopHere("the shift ends"))
    bench.press("59.970", "59.970").close()
    code, out, err = said(capsys, str(tmp_path / "s"), "--json")
    assert (code, out) == (1, "")
    assert err.startswith("jbridge: The study of session")
    assert "by operator B, trial 2" in err


def test_a_session_without_a_study_is_bad_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    accepted(tmp_path / "s")
    code, _, err = said(capsys, str(tmp_path / "s"))
    assert code == 2
    assert "no gauge study: its plan has no [study]" in err


def test_a_damaged_ledger_is_the_answer_no(
    example: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = example / "ledger.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"59.98', b'"59.99', 1))
    assert said(capsys, str(example))[0] == 1


def test_no_such_session_is_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, str(tmp_path / "nowhere"))[0] == 2


def test_a_gauge_name_from_a_ledger_is_shown_without_control_characters(
    example: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    forge(example, b'"mic-50-75"', b'"mic\\u001b[2J"')
    code, out, _ = said(capsys, str(example))
    assert code == 0
    assert "\x1b" not in out


# Results for programs, and what is kept -----------------------------------------------------------


def test_json_holds_both_methods_and_nothing_else_is_on_stdout(
    example: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = said(capsys, str(example), "--json")
    document: dict[str, Any] = json.loads(out)
    assert code == 0
    variance, ranges = document["analysis_of_variance"], document["average_and_range"]
    assert (variance["set_to_zero"], ranges["set_to_zero"]) == (["interaction"], [])
    assert variance["is_interaction_pooled"] is True
    assert variance["repeatability_degrees_of_freedom"] == 78
    assert (variance["distinct_categories"], ranges["distinct_categories"]) == (4, 5)
    assert variance["gauge_mm"] == pytest.approx(0.000302373, abs=2e-9)
    assert document["tolerance_mm"] == "0.020"
    assert len(document["parts"]) == 10


def test_an_endless_ratio_is_valid_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    accepted_study(
        tmp_path / "s", study_plan(), lambda position, *_: Decimal(f"59.98{position.journal[1:]}")
    )
    _, out, _ = said(capsys, str(tmp_path / "s"), "--json")
    assert "Infinity" not in out
    assert json.loads(out)["analysis_of_variance"]["parts"]["f"] is None


def with_file(folder: Path) -> Bench:
    """The worked example with a gauge that has a file of its own."""
    return accepted_study(
        folder, EXAMPLE, worked, opened(EXAMPLE, with_setup=setup(gauge_file=GAUGE_FILE))
    )


def test_a_kept_study_stands_in_the_history_of_its_gauge_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, home = with_file(tmp_path / "s").folder, tmp_path / "home"
    code, out, err = said(capsys, str(folder), "--keep", "--home", str(home))
    assert code == 0
    assert "Gauge study" in out
    assert "Kept in" in err
    code, _, err = said(capsys, str(folder), "--keep", "--home", str(home))
    assert code == 0
    assert "already" in err
    history = read("mic-50-75", home)
    assert len(history.studies) == 1
    kept = history.study
    assert kept is not None
    # by analysis of variance, pooled: 0.199933 um with 60 + 18 degrees of freedom
    assert (kept.repeatability_mm, kept.repeatability_dof) == ("0.0001999", "78")
    assert (kept.reproducibility_mm, kept.reproducibility_dof) == ("0.0002268", "2")
    assert (kept.parts, kept.operators, kept.trials) == (10, 3, 3)
    assert kept.interaction == "pooled: p = 0.9741"
    assert kept.size_mm == "59.970"


def test_without_keep_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, home = with_file(tmp_path / "s").folder, tmp_path / "home"
    assert said(capsys, str(folder), "--home", str(home))[0] == 0
    assert not home.exists()


def test_a_port_without_a_name_of_its_own_has_no_history(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    unnamed = setup("/dev/pts/7", gauge="/dev/pts/7")
    bench = accepted_study(tmp_path / "s", EXAMPLE, worked, opened(EXAMPLE, with_setup=unnamed))
    code, out, err = said(capsys, str(bench.folder), "--keep", "--home", str(tmp_path / "home"))
    assert code == 2
    assert "Gauge study" in out, "the result is shown all the same"
    assert "--gauge NAME" in err
