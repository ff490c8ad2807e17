"""A whole session through the real program: check, route, check, verdict, tables."""

import csv
import json
from pathlib import Path

from tests.system.conftest import Call, Shop

GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_send_button_alone_drives_a_session_to_its_tables(shop: Shop, call: Call) -> None:
    # In an interpreter of its own, which has loaded nothing that the program might miss.
    words = ("--job", "4711", "--operator", "Ada")
    program = shop.measure(*words, has_keyboard=False, module="daq")
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    assert program.result["folder"] == str(shop.session)
    readings = rows(shop.session / "readings.csv")
    assert [row["value"] for row in readings] == ["59.980", "59.981", "59.982", "59.980"]
    assert [(row["station"], row["angle_deg"]) for row in readings] == [
        ("front", "0"),
        ("front", "90"),
        ("rear", "0"),
        ("rear", "90"),
    ]
    assert {row["session_verdict"] for row in readings} == {"accepted"}
    journal = rows(shop.session / "journals.csv")[0]
    # 59.980 at front/0 comes first of two equal smallest; 59.982 - 59.970 leaves 0.010 to the low
    # limit at the smallest; rear: 59.982 - 59.980 = 0.002; angle 0: 59.982 - 59.980 = 0.002.
    assert journal["smallest_at"] == "front/0"
    assert journal["margin_to_low_mm"] == "0.01000"
    assert journal["out_of_round_mm"] == "0.00200"
    assert journal["taper_mm"] == "0.00200"
    assert journal["verdict"] == "within"
    assert call("verify", str(shop.session)).returncode == 0


def test_json_lines_are_the_ledger_lines_in_order(shop: Shop) -> None:
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    program.end()
    text = (shop.session / "ledger.jsonl").read_text(encoding="utf-8")
    ledger = [json.loads(line) for line in text.splitlines()]
    assert program.events[:-1] == ledger
    assert [event["seq"] for event in ledger] == list(range(1, len(ledger) + 1))


def test_a_failed_before_check_without_a_keyboard_rejects_the_session(shop: Shop) -> None:
    program = shop.measure(has_keyboard=False)
    # Limits derived from 0.020 mm: 0.002 mm. Mean error +0.0055 mm.
    shop.check(program, "59.975 mm", "59.976 mm", passed=False)
    assert program.end() == 1
    assert program.result["verdict"] == "rejected"
    assert "nobody was at a keyboard" in program.result["reasons"][0]
    assert "mean error +0.0055 mm, permitted 0.0020 mm" in program.result["reasons"][2]
    assert not (shop.session / "readings.csv").exists()


def test_a_failed_before_check_at_a_keyboard_may_be_tried_again_and_is_counted(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program, "59.975 mm", "59.976 mm", passed=False)
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    assert any("1 of 3 checks failed" in reason for reason in program.result["reasons"])


def test_drift_between_the_checks_rejects_the_session_with_the_number(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD)
    # Before: mean error 0. After: (0.002 + 0.0022) is not possible at 0.001 steps, so a spread of
    # one step: 59.972 and 59.973, mean error and drift both +0.0025 mm.
    shop.check(program, "59.972 mm", "59.973 mm", passed=False)
    assert program.end() == 1
    assert program.result["verdict"] == "rejected"
    assert any("drift +0.0025 mm, permitted 0.0020 mm" in r for r in program.result["reasons"])


def test_a_rejected_session_exports_only_on_demand_and_says_so_in_every_row(
    shop: Shop, call: Call
) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program, "59.975 mm", "59.975 mm", passed=False)
    assert program.end() == 1
    refused = call("export", str(shop.session))
    assert refused.returncode == 1
    assert not (shop.session / "readings.csv").exists()
    assert call("export", "--even-rejected", str(shop.session)).returncode == 0
    for table in ("readings", "checks", "journals"):
        verdicts = {row["session_verdict"] for row in rows(shop.session / f"{table}.csv")}
        assert verdicts == {"rejected"}


def test_an_inch_gauge_is_judged_by_the_millimetre_limit_exactly(shop: Shop) -> None:
    # 2.3610 in = 59.96940 mm: under 59.970 by 0.0006 mm, nearer than the guard of 0.002 mm.
    program = shop.measure("--stack", "2.361 in", has_keyboard=False)
    shop.check(program, "2.36100 in", "2.36100 in")
    shop.press(program, "2.36100 in", "2.36140 in", "2.36140 in", "2.36140 in")
    shop.check(program, "2.36100 in", "2.36100 in")
    assert program.end() == 0
    reading = rows(shop.session / "readings.csv")[0]
    assert (reading["value"], reading["unit"]) == ("2.36100", "in")
    assert reading["diameter_mm"] == "59.969400"
    journal = rows(shop.session / "journals.csv")[0]
    assert journal["verdict"] == "undecided"
    assert journal["margin_to_low_mm"] == "-0.00060"


def test_plain_text_ends_with_verdict_and_folder_on_stdout(shop: Shop) -> None:
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    talk = "\n".join(program.talk)
    assert "Check before measuring passed" in talk
    assert "M1  rear  90°" in talk
