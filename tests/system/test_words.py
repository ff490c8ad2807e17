"""The operator's words in a real session: all recorded, nothing erased."""

import json
from typing import Any

from tests.system.conftest import Shop

GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")


def ledger(shop: Shop) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (shop.session / "ledger.jsonl").read_text().splitlines()]


def test_back_voids_the_last_reading_and_asks_for_its_place_again(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, "59.985 mm")
    program.type("back")
    assert program.wait_for("void")["why"] == "back"
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    assert [e["sent"]["value"] for e in ledger(shop) if e["kind"] == "reading"] == [
        "59.985",
        "59.980",
        "59.981",
        "59.982",
        "59.980",
    ]
    assert "59.985" not in (shop.session / "readings.csv").read_text()


def test_back_in_the_closing_check_goes_back_to_the_route(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD)
    shop.gauge.send("59.970 mm")
    program.wait_for("check_reading", phase="after")
    program.type("back")  # the reading of the stack
    program.wait_for("void")
    program.type("back")  # the last reading of the part
    program.wait_for("void")
    shop.press(program, "59.981 mm")
    shop.check(program)
    assert program.end() == 0
    assert (shop.session / "checks.csv").read_bytes().count(b",false,") == 1


def test_retake_measures_one_place_again(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:3])
    program.type("retake M1/front/90")
    program.wait_for("void")
    shop.gauge.send("59.983 mm")
    assert program.wait_for("reading")["place"]["angle_deg"] == 90
    shop.press(program, GOOD[3])
    shop.check(program)
    assert program.end() == 0


def test_a_skipped_place_makes_its_journal_incomplete(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    program.type("skip oil hole")
    program.wait_for("skip")
    shop.press(program, *GOOD[1:])
    shop.check(program)
    assert program.end() == 0
    assert ",incomplete,accepted," in (shop.session / "journals.csv").read_text()


def test_a_check_in_between_proves_what_came_before_even_if_the_last_one_fails(
    shop: Shop,
) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    program.type("check")
    program.wait_for("note")
    assert shop.check(program)["phase"] == "during"
    shop.press(program, *GOOD[2:])
    shop.check(program, "59.976 mm", "59.976 mm", passed=False)
    assert program.end() == 1
    assert any("2 of 4 standing readings are not proven" in r for r in program.result["reasons"])


def test_a_zeroed_gauge_ends_the_stint_and_its_unproven_places_are_asked_for_again(
    shop: Shop,
) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    program.type("zeroed")
    program.wait_for("zeroed")
    assert program.wait_for("stint")["stint"] == 2
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    stints = {e["stint"] for e in ledger(shop) if e["kind"] == "reading"}
    assert stints == {1, 2}
    assert (shop.session / "readings.csv").read_text().count(",accepted,2,") == 4


def test_stop_asks_for_the_closing_check_and_judges_what_there_is(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, "59.960 mm", "59.961 mm")
    program.type("stop below the limit twice")
    program.wait_for("note", about="stop")
    shop.check(program)
    assert program.end() == 0
    assert program.result["reasons"][0] == "stopped: below the limit twice"
    assert ",below,accepted," in (shop.session / "journals.csv").read_text()


def test_later_leaves_the_session_open_and_resume_measures_the_rest(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    program.type("later")
    program.wait_for("note", about="later")
    shop.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "open"
    again = shop.resume()
    assert again.wait_for("stint")["stint"] == 2
    assert shop.check(again)["phase"] == "before"
    shop.press(again, *GOOD[2:])
    shop.check(again)
    assert again.end() == 0
    assert again.result["verdict"] == "accepted"


def test_abandon_closes_without_a_closing_check_and_writes_no_tables(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, GOOD[0])
    program.type("abandon dropped the crank")
    assert program.end() == 1
    assert program.result["verdict"] == "abandoned"
    assert program.result["reasons"][0] == "abandoned: dropped the crank"
    assert not (shop.session / "readings.csv").exists()


def test_words_that_do_not_fit_are_refused_with_the_reason_and_change_nothing(shop: Shop) -> None:
    program = shop.measure()
    for word in ("skip x", "retake M1/front/0", "keep", "drop", "check", "frob", "skip", "back"):
        program.type(word)
    program.type("note the end")
    program.wait_for("note")
    assert program.kinds == ["opened", "stint", "note"]
    program.type("abandon done")
    assert program.end() == 1
    # Told by the other stream, which is read to its end only now.
    refused = [line for line in program.talk if line.startswith("Not done")]
    assert len(refused) == 8
    assert "the gauge is not checked yet" in refused[0]
    assert "unknown word 'frob'" in refused[5]


def test_the_first_reading_below_a_limit_is_told_and_the_second_confirms(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, "59.960 mm")
    shop.press(program, "59.980 mm")
    said = "\n".join(program.talk)
    assert "59.960 mm is 0.010 mm under the low limit 59.970 mm" in said
    assert "type back" in said
    assert "cannot serve as it is" not in said
    shop.press(program, "59.961 mm", "59.962 mm")
    program.type("note wait for the talk")
    program.wait_for("note")
    said = "\n".join(program.talk)
    assert said.count("cannot serve as it is") == 1
    assert "need not be stripped" in said
    shop.check(program)
    assert program.end() == 0


def test_a_second_reading_at_the_same_place_confirms_too(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, "59.960 mm")
    program.type("back")
    program.wait_for("void")
    shop.press(program, "59.961 mm", "59.980 mm")
    program.type("note wait for the talk")
    program.wait_for("note")
    assert "cannot serve as it is" in "\n".join(program.talk)
    program.type("abandon enough")
    program.end()
