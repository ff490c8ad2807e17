"""Cables pulled, keys pressed, programs killed: nothing acknowledged is lost, resume carries on."""

import json
import random
import signal
from pathlib import Path
from typing import Any

import pytest

from tests.system.conftest import Call, Program, PtyGauge, Shop

GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")


def ledger(shop: Shop) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (shop.session / "ledger.jsonl").read_text().splitlines()]


def finish(program: Program, shop: Shop, *values: str) -> None:
    shop.press(program, *values)
    shop.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"


def plug_in_another(shop: Shop) -> None:
    shop.gauge.unplug()
    shop.gauge = PtyGauge()


def test_unplugged_on_the_route_ends_with_3_and_resume_with_the_same_gauge_carries_on(
    shop: Shop,
) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    old = shop.gauge
    shop.gauge = PtyGauge()
    old.unplug()
    assert program.end() == 3
    assert ledger(shop)[-1]["kind"] == "link_lost"
    assert "jbridge" in program.talk[-1]
    again = shop.resume("--port", shop.gauge.port, "--same-gauge", "same micrometer, other cable")
    assert again.events[-1]["same_gauge"] == "same micrometer, other cable"
    again.wait_for("link_back")
    assert shop.check(again)["phase"] == "during"
    finish(again, shop, *GOOD[2:])


def test_another_port_without_a_word_is_another_gauge_and_begins_a_new_stint(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    program.interrupt()
    assert program.end() == 130
    old = shop.gauge
    shop.gauge = PtyGauge()
    old.unplug()
    again = shop.resume("--port", shop.gauge.port)
    assert again.wait_for("stint")["cause"] == "swapped"
    assert shop.check(again)["phase"] == "before"
    finish(again, shop, *GOOD)


def test_unplugged_during_a_check_the_check_does_not_count(shop: Shop) -> None:
    program = shop.measure()
    shop.gauge.send("59.970 mm")
    program.wait_for("check_reading")
    old = shop.gauge
    shop.gauge = PtyGauge()
    old.unplug()
    assert program.end() == 3
    again = shop.resume("--port", shop.gauge.port, "--same-gauge", "cable")
    shop.check(again)
    finish(again, shop, *GOOD)
    checks = (shop.session / "checks.csv").read_bytes().splitlines()[1:]
    assert [line.split(b",")[13] for line in checks] == [b"false"] + [b"true"] * 4  # counted


def reach(program: Program, shop: Shop, prompt: str) -> None:
    """Bring a session to one kind of prompt."""
    if prompt == "before":
        return
    shop.check(program)
    if prompt == "route":
        shop.press(program, GOOD[0])
    elif prompt == "held":
        shop.gauge.send("61.000 mm")
        program.wait_for("held")
    elif prompt == "during":
        program.type("check")
        program.wait_for("note")
    elif prompt == "after":
        shop.press(program, *GOOD)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("prompt", ["before", "route", "held", "during", "after"])
def test_interrupted_at_any_prompt_the_ledger_is_whole_and_resume_finishes(
    shop: Shop, call: Call, prompt: str, number: signal.Signals
) -> None:
    program = shop.measure()
    reach(program, shop, prompt)
    program.interrupt(number)
    assert program.end() == 130
    assert call("verify", str(shop.session)).returncode == 0
    again = shop.resume()
    if prompt == "held":
        assert "before it was answered" in again.wait_for("dropped")["why"]
    phase = shop.check(again)["phase"]
    assert phase == {"before": "before", "after": "after"}.get(prompt, "during")
    if prompt == "after":
        assert again.end() == 0
    else:
        finish(again, shop, *(GOOD[1:] if prompt == "route" else GOOD))


def test_killed_at_20_random_moments_every_acknowledged_reading_is_there(
    shop: Shop, call: Call
) -> None:
    """kill -9 of the real program; what it acknowledged on stdout must be in the ledger."""
    seeded = random.Random(20)
    shop.plan.write_text(shop.plan.read_text().replace("angles_deg = [0, 90]", ANGLES))
    program = shop.measure()
    acknowledged: set[int] = set()
    for _ in range(20):
        for _ in range(seeded.randrange(0, 4)):
            shop.gauge.send("59.970 mm" if _wants_stack(program) else "59.980 mm")
            if seeded.random() < 0.7:
                _wait_for_any(program)
        program.process.kill()
        program.end()
        acknowledged |= {event["seq"] for event in program.events if "seq" in event}
        entries = {entry["seq"]: entry for entry in _whole_lines(shop.session)}
        assert acknowledged <= entries.keys()
        for event in program.events:
            assert entries[event["seq"]] == event
        program = shop.resume()
    assert call("verify", str(shop.session)).returncode == 0
    shop.check(program)
    left = 2 * 18 - len(_standing(shop.session))
    finish(program, shop, *["59.980 mm"] * left)


ANGLES = "angles_deg = [" + ", ".join(str(angle) for angle in range(0, 180, 10)) + "]"


def _wants_stack(program: Program) -> bool:
    """The last of check, reading and stint says whether the stack or the part is due."""
    for event in reversed(program.events):
        kind = event.get("kind")
        if kind == "check_judged":
            return not event["passed"]
        if kind == "reading":
            return False
        if kind in ("check_reading", "stint", "resumed"):
            return True
    return True


def _wait_for_any(program: Program) -> None:
    count = len(program.events)
    event = program.wait_for_next()
    if event["kind"] == "check_reading" and event["check_no"] and _completes(program, event):
        program.wait_for("check_judged")
    assert len(program.events) > count


def _completes(program: Program, event: dict[str, Any]) -> bool:
    same = [
        e
        for e in program.events
        if e.get("kind") == "check_reading" and e["check_no"] == event["check_no"]
    ]
    return len(same) == 2


def _whole_lines(folder: Path) -> list[dict[str, Any]]:
    data = (folder / "ledger.jsonl").read_bytes()
    return [json.loads(line) for line in data.split(b"\n")[:-1]]


def _standing(folder: Path) -> set[tuple[str, int]]:
    """Places read; nothing is taken back in this test but what a new stint measures again."""
    from daq.record.state import fate
    from daq.storage.replay import load_state

    state, _ = load_state(folder)
    return {
        (taken.position.station, taken.position.angle_deg)
        for taken in state.standing.values()
        if fate(state, taken) != "tainted"
    }


def test_a_check_too_old_ends_an_unattended_session(shop: Shop) -> None:
    shop.plan.write_text(shop.plan.read_text().replace("max_age_min = 240", "max_age_min = 0.02"))
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    shop.press(program, GOOD[0])
    assert program.end() == 1
    assert program.result["verdict"] == "rejected"
    assert "the last passed check is" in program.result["reasons"][0]


def test_a_check_too_old_at_a_keyboard_begins_a_new_stint(shop: Shop) -> None:
    shop.plan.write_text(shop.plan.read_text().replace("max_age_min = 240", "max_age_min = 0.02"))
    program = shop.measure()
    shop.check(program)
    assert program.wait_for("stint")["cause"] == "age"
    program.type("abandon enough")
    assert program.end() == 1


def test_two_programs_cannot_hold_one_session_or_one_port(shop: Shop, call: Call) -> None:
    program = shop.measure()
    other = PtyGauge()
    held = call("resume", str(shop.session), "--port", other.port)
    assert held.returncode == 4
    assert "another program has it open" in held.stderr
    arguments = ("--port", shop.gauge.port, "--profile", str(shop.profile))
    busy = call("measure", str(shop.plan), *arguments)
    assert busy.returncode == 3
    assert f"(process {program.process.pid})" in busy.stderr
    other.unplug()
    program.type("abandon enough")
    assert program.end() == 1


def test_another_stack_at_a_resume_begins_with_a_before_check_on_it(shop: Shop) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    program.interrupt()
    program.end()
    again = shop.resume("--stack", "59.98 mm")
    assert again.wait_for("stint")["cause"] == "stack"
    assert shop.check(again, "59.980 mm", "59.980 mm")["phase"] == "before"
    shop.press(again, *GOOD)
    shop.check(again, "59.980 mm", "59.980 mm")
    assert again.end() == 0
