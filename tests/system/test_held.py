"""Readings that are asked about: never silently taken, never lost."""

import json
import time

from tests.system.conftest import Call, Program, Shop

REPEATING = """
[repeat]
window_ms = 5000
"""


def held(program: Program, shop: Shop, value: str) -> str:
    shop.gauge.send(value)
    return "; ".join(program.wait_for("held")["reasons"])


def finish(program: Program, shop: Shop, *values: str) -> int:
    shop.press(program, *values)
    shop.check(program)
    return program.end()


def test_another_unit_is_held_and_counts_exactly_once_kept(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    assert "The gauge is on inch. Set it to mm" in held(program, shop, "2.3615 in")
    program.type("keep")
    kept = program.wait_for("kept")
    assert kept["place"] == {"journal": "M1", "station": "front", "angle_deg": 0, "repeat": 1}
    assert finish(program, shop, "59.981 mm", "59.982 mm", "59.980 mm") == 0
    text = (shop.session / "readings.csv").read_text()
    # 2.3615 x 25.4 = 59.98210
    assert ",2.3615,in,0.0001,59.98210," in text


def test_a_lost_digit_is_held_and_a_dropped_one_is_asked_for_again(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    assert "a digit may be lost" in held(program, shop, "59.98 mm")
    program.type("drop")
    program.wait_for("dropped")
    assert finish(program, shop, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm") == 0
    ledger = (shop.session / "ledger.jsonl").read_text()
    assert '"value":"59.98"' in ledger
    assert ",59.98,mm" not in (shop.session / "readings.csv").read_text()


def test_a_reading_far_outside_the_limits_is_held(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    assert "outside the limits of M1" in held(program, shop, "61.000 mm")
    program.type("drop")
    program.wait_for("dropped")
    assert "a deviation, not a size" in held(program, shop, "-0.012 mm")
    program.type("drop")
    program.wait_for("dropped")
    assert finish(program, shop, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm") == 0


def test_a_held_button_is_noticed(shop: Shop) -> None:
    shop.profile.write_text(shop.profile.read_text() + REPEATING)
    program = shop.measure()
    shop.check(program, "59.970 mm", "59.971 mm")
    shop.press(program, "59.980 mm")
    assert "the button may have been held" in held(program, shop, "59.980 mm")
    program.type("drop")
    program.wait_for("dropped")
    shop.press(program, "59.981 mm", "59.982 mm", "59.980 mm")
    shop.check(program, "59.970 mm", "59.971 mm")
    assert program.end() == 0


def test_where_the_plan_says_so_a_second_press_answers_for_one_that_came_twice(
    shop: Shop, call: Call
) -> None:
    defaults = '[defaults]\nheld = "press-again"\nleast_interval = "0.2 s"\n'
    plan = shop.plan.read_text().replace('[defaults]\nleast_interval = "0 s"\n', defaults)
    shop.plan.write_text(plan)
    program = shop.measure()
    shop.check(program)
    time.sleep(0.25)
    shop.gauge.raw(b"59.980 mm\r\n" * 2)  # the button bounced
    said = program.wait_for_talk("> Held")
    assert "pressed twice? Press send once more at M1 front 90° within 10 s, or type keep" in said
    time.sleep(0.25)
    shop.gauge.send("59.981 mm")
    assert program.wait_for("dropped")["why"] == "pressed again"
    assert program.wait_for("reading")["place"]["angle_deg"] == 90
    program.wait_for_talk("Pressed again: this one counts, the one before does not.")
    program.type("abandon seen")
    assert program.end() == 1
    assert call("verify", str(shop.session)).returncode == 0


def test_what_comes_while_a_question_is_open_is_recorded_but_not_taken(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    held(program, shop, "61.000 mm")
    shop.gauge.send("59.980 mm")
    program.wait_for("held")
    assert "keep or drop" in program.wait_for("dropped")["why"]
    program.type("drop")
    first = program.wait_for("dropped")
    assert first["why"] == "operator"
    assert finish(program, shop, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm") == 0


def test_without_a_keyboard_a_held_reading_is_dropped_and_its_place_asked_for_again(
    shop: Shop,
) -> None:
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    held(program, shop, "61.000 mm")
    program.wait_for("dropped")
    assert finish(program, shop, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm") == 0


def test_ten_held_in_a_row_at_one_place_abandon_an_unattended_session(shop: Shop) -> None:
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    for _ in range(10):
        held(program, shop, "61.000 mm")
    assert program.end() == 1
    assert program.result["verdict"] == "abandoned"
    assert "10 held readings in a row at M1/front/0" in program.result["reasons"][0]


def test_nine_held_in_a_row_do_not(shop: Shop) -> None:
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    for _ in range(9):
        held(program, shop, "61.000 mm")
        program.wait_for("dropped")
    shop.press(program, "59.980 mm")
    for _ in range(9):
        held(program, shop, "61.000 mm")
        program.wait_for("dropped")
    assert finish(program, shop, "59.981 mm", "59.982 mm", "59.980 mm") == 0


def test_a_reading_from_another_channel_is_another_device(shop: Shop) -> None:
    profile = shop.profile.read_text().replace(
        '[[layout]]\nname = "number"',
        '[[layout]]\nname = "channel"\nchars = "digit"\nwidth = 1\n[[layout]]\nsp = 1\n'
        '[[layout]]\nname = "number"',
        1,
    )
    shop.profile.write_text(profile)
    program = shop.measure()
    shop.check(program, "1 59.970 mm", "1 59.970 mm")
    shop.press(program, "1 59.980 mm")
    assert "another device: channel 2" in held(program, shop, "2 59.981 mm")
    program.type("keep")  # yes, the gauge was swapped: it starts unchecked
    assert "swapped" in program.wait_for("dropped")["why"]
    assert program.wait_for("stint")["cause"] == "swapped"
    shop.check(program, "2 59.970 mm", "2 59.970 mm")
    # The first place was read with the gauge that went away unchecked: it is asked for again.
    shop.gauge.send("2 59.980 mm")
    assert program.wait_for("void")["target"] == 6
    shop.press(program, "2 59.981 mm", "2 59.982 mm", "2 59.980 mm")
    shop.check(program, "2 59.970 mm", "2 59.970 mm")
    assert program.end() == 0


def test_rejects_beyond_twenty_are_told_in_one_line_a_second(shop: Shop) -> None:
    program = shop.measure()
    shop.gauge.raw(b"garbage\r\n" * 300)
    shop.check(program)
    program.type("abandon enough")
    assert program.end() == 1
    text = (shop.session / "ledger.jsonl").read_text()
    rejects = [e for e in map(json.loads, text.splitlines()) if e["kind"] == "reject"]
    assert [event["count"] for event in rejects[:20]] == [1] * 20
    assert sum(event["count"] for event in rejects) == 300
    assert len(rejects) <= 22


def test_a_gauge_that_sends_deviations_is_refused_whatever_is_answered(shop: Shop) -> None:
    program = shop.measure()
    assert "a deviation, not a size" in held(program, shop, "0.001 mm")
    program.type("keep")
    assert "sends a deviation" in program.wait_for("dropped")["why"]
    program.type("abandon wrong mode")
    assert program.end() == 1


def test_a_burst_while_readings_are_dropped_leaves_a_whole_session(shop: Shop, call: Call) -> None:
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    shop.gauge.raw(b"59.9 mm\r\n" * 5)  # a digit lost, five times in one write
    shop.press(program, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")
    shop.check(program)
    assert program.end() == 0
    assert call("verify", str(shop.session)).returncode == 0
