"""Temperature, uncertainty and the next step, by the real program on a pty."""

import csv
import json
from pathlib import Path

import pytest

import daq
from tests.system.conftest import Call, Shop

VALUES = ("59.980 mm", "59.981 mm", "59.979 mm", "59.982 mm")

UNDERSIZES = """
[[group]]
name = "mains"
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
"""

STACK = """schema = 1
size = "59.970 mm"
certificate = "C-17"
certificate_date = 2020-01-01
certificate_due = 2021-01-01
grade = "0"
[[block]]
nominal = "9.970 mm"
deviation = "0.10 um"
uncertainty = "0.06 um"
[[block]]
nominal = "50 mm"
deviation = "-0.40 um"
uncertainty = "0.10 um"
"""


def measured(shop: Shop, *more: str, values: tuple[str, ...] = VALUES) -> list[dict[str, str]]:
    """A whole session without a keyboard; the rows of its readings."""
    program = shop.measure(*more, has_keyboard=False)
    shop.check(program)
    for value in values:
        shop.gauge.send(value)
        program.wait_for("reading")
    shop.check(program)
    assert program.end() == 0
    return rows(shop, "readings")


def rows(shop: Shop, table: str) -> list[dict[str, str]]:
    """One of the session's tables."""
    with (shop.session / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_sizes_are_stated_at_20_degrees_and_the_verdict_goes_by_them(shop: Shop) -> None:
    taken = measured(shop, "--part-temp", "25", "--stack-temp", "20")
    # 1 / (1 + 11.5e-6 * 5) = 1 - 57.4966940e-6: 59.980 * that = 59.980 - 0.0034486517
    assert [row["diameter_20c_mm"] for row in taken] == [
        "59.97655",
        "59.97755",
        "59.97555",
        "59.97855",
    ]
    assert [row["diameter_mm"] for row in taken] == [value[:6] for value in VALUES]
    (journal,) = rows(shop, "journals")
    assert journal["smallest_mm"] == "59.97555"
    assert journal["margin_to_low_mm"] == "0.00555"
    assert float(journal["uncertainty_mm"]) > 0
    assert "guarded acceptance" in journal["decision_rule"]
    session = daq.load(shop.session)
    assert any("part 25 °C, stack 20 °C" in reason for reason in session.reasons)


@pytest.mark.parametrize("degrees", ["4.9", "40.1", "-3", "nan", "68F"])
def test_temperatures_that_nobody_measures_at_are_refused(
    shop: Shop, call: Call, degrees: str
) -> None:
    found = call(
        *("measure", str(shop.plan), "--port", shop.gauge.port, "--profile", str(shop.profile)),
        *(f"--part-temp={degrees}", "--session", str(shop.session)),
    )
    assert found.returncode == 2
    assert "--part-temp" in found.stderr
    assert not shop.session.exists()


def test_the_budget_adds_up_to_the_uncertainty_in_the_table(shop: Shop, call: Call) -> None:
    measured(shop)
    (journal,) = rows(shop, "journals")
    found = json.loads(call("budget", str(shop.session), "--json").stdout)
    (budget,) = found
    assert budget["expanded_mm"] == journal["uncertainty_mm"]
    total = sum(part["contribution_mm"] ** 2 for part in budget["components"]) ** 0.5
    assert total == pytest.approx(budget["combined_mm"])
    assert sum(part["share"] for part in budget["components"]) == pytest.approx(1)
    shown = call("budget", str(shop.session), "--journal", "M1")
    assert shown.returncode == 0
    for words in ("drift between checks", "u_c =", "k =", "not in it:", "diameter at 20 °C"):
        assert words in shown.stdout
    difference = json.loads(call("budget", str(shop.session), "--form", "--json").stdout)
    assert difference[0]["expanded_mm"] == journal["form_uncertainty_mm"]


def test_a_budget_of_an_unknown_journal_says_which_there_are(shop: Shop, call: Call) -> None:
    measured(shop)
    found = call("budget", str(shop.session), "--journal", "M9")
    assert found.returncode == 2
    assert "M9" in found.stderr
    assert "M1" in found.stderr


def test_a_worn_journal_sends_its_whole_group_to_the_grinder(shop: Shop) -> None:
    shop.plan.write_text(shop.plan.read_text() + UNDERSIZES)
    measured(shop, values=("59.980 mm", "59.950 mm", "59.979 mm", "59.951 mm"))
    (group,) = rows(shop, "groups")
    assert (group["step"], group["undersize"], group["forced_by"]) == ("grind", "0.25", "M1")
    assert (group["finished_low_mm"], group["finished_high_mm"]) == ("59.720", "59.740")
    assert group["bearing_growth_mm"] == "0.125"  # half the undersize, each shell
    assert "not examined: cracks" in group["remarks"]
    assert daq.load(shop.session).groups["step"].tolist() == ["grind"]


def test_checks_compare_with_the_certified_size_of_a_saved_stack(shop: Shop, call: Call) -> None:
    (shop.home / "stacks").mkdir(parents=True)
    (shop.home / "stacks" / "bench.toml").write_text(STACK)
    shop.plan.write_text(shop.plan.read_text().replace('stack = "59.97 mm"', 'stack = "bench"'))
    measured(shop)
    (check, *_) = rows(shop, "checks")
    # 59.970 mm and +0.10 - 0.40 um; read as 59.970
    assert (check["stack"], check["stack_size_mm"], check["error_mm"]) == (
        "bench",
        "59.9697",
        "0.0003",
    )
    # Out of date for years: the grade's limits are used, and the budget says so.
    shown = call("budget", str(shop.session)).stdout
    assert "out of date" in shown
    assert "2021-01-01" in shown
    assert any("was due on 2021-01-01" in reason for reason in daq.load(shop.session).reasons)
    # The ledger has all it needs: the file may go.
    (shop.home / "stacks" / "bench.toml").unlink()
    assert call("verify", str(shop.session)).returncode == 0
    again = json.loads(call("budget", str(shop.session), "--json").stdout)
    assert "out of date" in again[0]["components"][0]["note"]


def test_another_stack_temperature_at_a_resume_begins_a_new_stint(shop: Shop) -> None:
    program = shop.measure("--stack-temp", "21", "--part-temp", "21")
    shop.check(program)
    shop.gauge.send("59.980 mm")
    program.wait_for("reading")
    program.interrupt()
    assert program.end() == 130
    again = shop.resume("--stack-temp", "24", "--part-temp", "24")
    begun = again.wait_for("stint")
    assert begun["cause"] == "temperature"
    assert "24 °C" in begun["why"]
    again.interrupt()
    again.end()


def test_a_simple_rule_lets_the_limits_alone_decide(shop: Shop, tmp_path: Path) -> None:
    shop.plan.write_text(shop.plan.read_text() + '\n[decision]\nrule = "simple"\n')
    measured(shop, values=("59.970 mm", "59.980 mm", "59.981 mm", "59.990 mm"))
    (journal,) = rows(shop, "journals")
    assert journal["size_verdict"] == "within"  # at both limits, which conform
    assert "simple acceptance" in journal["decision_rule"]
    assert float(journal["conformance_probability"]) == pytest.approx(0.5, abs=0.01)


def test_a_stack_file_that_was_changed_begins_a_new_stint(shop: Shop) -> None:
    stacks = shop.home / "stacks"
    stacks.mkdir(parents=True)
    (stacks / "bench.toml").write_text(STACK)
    shop.plan.write_text(shop.plan.read_text().replace('stack = "59.97 mm"', 'stack = "bench"'))
    program = shop.measure()
    shop.check(program)
    program.interrupt()
    assert program.end() == 130
    (stacks / "bench.toml").write_text(STACK.replace('grade = "0"', 'expansion = "4.5e-6 /K"'))
    again = shop.resume()
    begun = again.wait_for("stint")
    assert begun["cause"] == "stack"
    assert "bench" in begun["why"]
    again.interrupt()
    again.end()


def test_a_certificate_of_the_future_is_refused(shop: Shop, call: Call) -> None:
    stacks = shop.home / "stacks"
    stacks.mkdir(parents=True)
    future = STACK.replace("2020-01-01", "2990-01-01").replace("2021-01-01", "2991-01-01")
    (stacks / "bench.toml").write_text(future)
    shop.plan.write_text(shop.plan.read_text().replace('stack = "59.97 mm"', 'stack = "bench"'))
    found = call(
        *("measure", str(shop.plan), "--port", shop.gauge.port, "--profile", str(shop.profile))
    )
    assert found.returncode == 2
    assert "certificate_date" in found.stderr
    assert "still to come" in found.stderr


def test_limits_that_look_misprinted_are_told_before_measuring(shop: Shop) -> None:
    text = shop.plan.read_text().replace('high = "59.990 mm"', 'high = "599.90 mm"')
    limits = 'readings = 2\nmax_error = "0.002 mm"\nmax_spread = "0.002 mm"\nmax_drift = "0.002 mm"'
    shop.plan.write_text(text.replace("readings = 2", limits))
    program = shop.measure()
    program.interrupt()
    program.end()
    assert any("is a decimal point out of place" in line for line in program.talk)


def test_news_of_a_reading_goes_by_its_size_at_20_degrees(shop: Shop) -> None:
    program = shop.measure("--part-temp", "35", "--stack-temp", "20", "--part", "warm")
    shop.check(program)
    shop.gauge.send("59.975 mm")  # 59.975 / (1 + 11.5e-6 * 15) = 59.96466
    program.wait_for("reading")
    program.interrupt()
    program.end()
    said = " ".join(program.talk)
    assert "corrected to 59.96466 mm" in said
    assert "under the low limit" in said
