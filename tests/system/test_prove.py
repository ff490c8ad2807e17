"""`jbridge prove` and `jbridge history` through the real program, and what a session keeps."""

import json
import os
import time
from pathlib import Path
from xml.etree import ElementTree

import pytest

from daq.gauges.history import CheckRecord
from daq.storage.history_file import append, history_path
from daq.storage.history_lines import found_in
from drivers.reading import utc_micros
from tests.daq.gauges.history_builders import DAY_US, near
from tests.system.conftest import PROFILE, Call, Program, Shop

GOOD = ("59.971 mm", "59.970 mm", "59.971 mm")
NOW_US = time.time_ns() // 1000


def with_gauge(shop: Shop, **keys: str) -> Shop:
    """The shop's gauge has a file, by the name of mic."""
    (shop.home / "gauges").mkdir(parents=True)
    (shop.home / "profiles").mkdir()
    (shop.home / "profiles" / "bench-gauge.toml").write_text(PROFILE)
    lines = ["schema = 1", 'profile = "bench-gauge"', f'port = "{shop.gauge.port}"']
    lines += [f'{key} = "{value}"' for key, value in keys.items()]
    (shop.home / "gauges" / "mic.toml").write_text("\n".join(lines) + "\n")
    return shop


def proving(shop: Shop, *more: str, has_keyboard: bool = False) -> Program:
    """Start `prove` and wait until it asks for readings."""
    program = shop.run(
        "prove",
        *("--gauge", "mic", "--stack", "59.97 mm", "--readings", "3", "--max-error", "0.002 mm"),
        *("--least-interval", "0"),
        *more,
        has_keyboard=has_keyboard,
    )
    program.wait_for_talk(" in and ")
    return program


def kept(shop: Shop) -> list[CheckRecord]:
    data = history_path("mic", shop.home).read_bytes()
    return [line.record for line in found_in(data).lines if isinstance(line.record, CheckRecord)]


def send(shop: Shop, program: Program, *values: str) -> None:
    """Press send for each value, one after the other."""
    for value in values:
        seen = len(program.talk)
        shop.gauge.send(value)
        program.wait_for_talk(since=seen)


def test_a_proven_gauge_is_0_and_its_check_is_in_its_history(shop: Shop) -> None:
    program = proving(with_gauge(shop), "--operator", "Ada", "--stack-temp", "20.5")
    send(shop, program, *GOOD)
    assert program.end() == 0
    assert program.result["passed"] is True
    assert program.result["mean_error_mm"] == "0.00067"
    (check,) = kept(shop)
    assert check.readings == ("59.971", "59.970", "59.971")
    assert (check.operator, check.stack_temp_c, check.gauge) == ("Ada", "20.5", "mic")
    assert program.result["history"] == str(history_path("mic", shop.home))


def test_a_gauge_that_is_off_is_1_and_that_is_kept_too(shop: Shop) -> None:
    program = proving(with_gauge(shop))
    send(shop, program, "59.975 mm", "59.976 mm", "59.975 mm")
    assert program.end() == 1
    assert program.result["reason"] == "mean error +0.00533 mm, permitted 0.0020 mm"
    assert [check.passed for check in kept(shop)] == [False]


def test_a_reading_that_is_not_of_the_stack_is_asked_for_again(shop: Shop) -> None:
    program = proving(with_gauge(shop))
    send(shop, program, "59.971 mm", "50.123 mm", "2.3610 in", "59.970 mm", "59.971 mm")
    assert program.end() == 0
    assert sum("does not count" in line for line in program.talk) == 2
    assert kept(shop)[0].readings == ("59.971", "59.970", "59.971")


def test_ten_odd_readings_in_a_row_end_it_and_nothing_is_kept(shop: Shop) -> None:
    program = proving(with_gauge(shop))
    send(shop, program, *["50.000 mm"] * 10)
    assert program.end() == 1
    assert "10 readings in a row did not count" in program.talk[-1]
    assert not history_path("mic", shop.home).exists()


def test_back_takes_a_reading_back_and_stop_ends_it(shop: Shop) -> None:
    program = proving(with_gauge(shop), has_keyboard=True)
    send(shop, program, "59.979 mm")
    program.type("back")
    program.wait_for_talk("taken back")
    send(shop, program, "59.970 mm")
    program.type("stop dirty stack")
    assert program.end() == 1
    assert "not proven: dirty stack. Nothing was kept" in program.talk[-1]
    assert not history_path("mic", shop.home).exists()


def test_a_history_that_cannot_be_written_is_4_and_the_result_is_told(shop: Shop) -> None:
    (with_gauge(shop).home / "history").write_text("a file where the folder belongs")
    program = proving(shop)
    send(shop, program, *GOOD)
    assert program.end() == 4
    assert program.result["passed"] is True
    assert program.result["history"] is None
    assert "could be stored" in program.result["trouble"]
    assert "NOT in the gauge's history" in program.talk[-1]


def test_an_unplugged_gauge_is_3_and_nothing_is_kept(shop: Shop) -> None:
    program = proving(with_gauge(shop))
    send(shop, program, "59.971 mm")
    shop.gauge.unplug()
    assert program.end() == 3
    assert not history_path("mic", shop.home).exists()


def test_ctrl_c_is_130(shop: Shop) -> None:
    program = proving(with_gauge(shop))
    send(shop, program, "59.971 mm")
    program.interrupt()
    assert program.end() == 130
    assert not history_path("mic", shop.home).exists()


def test_a_port_that_nobody_can_know_again_has_no_history_and_that_is_said(shop: Shop) -> None:
    program = shop.run(
        *("prove", "--port", shop.gauge.port, "--profile", str(shop.profile)),
        *("--least-interval", "0"),
        *("--stack", "59.97 mm", "--readings", "2", "--max-error", "0.002 mm"),
        has_keyboard=False,
    )
    program.wait_for_talk("press send")
    send(shop, program, "59.970 mm", "59.970 mm")
    assert program.end() == 0
    assert program.result["history"] is None
    assert not (shop.home / "history").exists()


def test_an_asked_gauge_is_asked_by_enter(shop: Shop) -> None:
    with_gauge(shop)
    asks = PROFILE.replace(
        'kind = "text"\n', 'kind = "text"\n[trigger]\nsend = "Q\\r"\nreply_ms = 5000\n'
    )
    (shop.home / "profiles" / "bench-gauge.toml").write_text(asks)
    program = proving(shop, has_keyboard=True)
    for value in GOOD:
        program.type("")
        assert os.read(shop.gauge._master, 10) == b"Q\r"
        send(shop, program, value)
    assert program.end() == 0
    assert len(kept(shop)[0].readings) == 3


def streamed(shop: Shop) -> Program:
    """A gauge that is proven by presses, as it speaks without end and says when it was zeroed."""
    with_gauge(shop)
    layout = '[[layout]]\nname = "flag"\nmap = { Z = "zeroed" }\noptional = true\n'
    (shop.home / "profiles" / "bench-gauge.toml").write_text(PROFILE + layout)
    return proving(shop, "--continuous", has_keyboard=True)


def press(shop: Shop, program: Program, *values: str) -> None:
    """Press Enter for each value, which the stream sends a moment later."""
    for value in values:
        program.type("")
        time.sleep(0.2)
        send(shop, program, value)


def test_of_a_stream_one_reading_a_press_counts(shop: Shop) -> None:
    program = streamed(shop)
    for value in GOOD:
        shop.gauge.send("59.990 mm")  # nobody pressed for it
        time.sleep(0.2)
        press(shop, program, value)
    assert program.end() == 0
    assert list(kept(shop)[0].readings) == [value.removesuffix(" mm") for value in GOOD]


def test_a_zero_that_is_lost_between_two_presses_of_a_stream_begins_the_check_again(
    shop: Shop,
) -> None:
    program = streamed(shop)
    press(shop, program, *GOOD[:2])
    send(shop, program, "0.000 mmZ")
    program.wait_for_talk("the check begins again")
    press(shop, program, *GOOD)
    assert program.end() == 0
    assert len(kept(shop)[0].readings) == 3
    assert sum("/3  59.97" in line for line in program.talk) == 5


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--gauge", "mic"], "--stack is missing"),
        (["--gauge", "mic", "--stack", "60 mm"], "--max-error is missing"),
        (["--stack", "60 mm"], "--port is missing"),
        (["--gauge", "mic", "--stack", "60", "--max-error", "0.002 mm"], "no stack '60'"),
        (["--gauge", "mic", "--stack", "60 mm", "--max-error", "2"], "not a length"),
        (["--gauge", "mic", "--stack", "60 mm", "--max-error", "0 mm"], "not above zero"),
        (
            ["--gauge", "mic", "--stack", "60 mm", "--max-error", "1 mm", "--stack-temp", "41"],
            "outside 5 to 40",
        ),
    ],
)
def test_a_wrong_option_is_2_and_named(
    shop: Shop, call: Call, options: list[str], words: str
) -> None:
    with_gauge(shop)
    done = call("prove", *options)
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_a_stack_outside_the_gauges_range_is_refused(shop: Shop, call: Call) -> None:
    with_gauge(shop)
    file = shop.home / "gauges" / "mic.toml"
    file.write_text(file.read_text() + 'range = ["25 mm", "50 mm"]\n')
    done = call("prove", "--gauge", "mic", "--stack", "60 mm", "--max-error", "0.002 mm")
    assert done.returncode == 2
    assert "outside the range of the gauge, 25 mm to 50 mm" in done.stderr


def test_the_permitted_error_of_the_gauge_file_is_the_limit(shop: Shop) -> None:
    with_gauge(shop, permitted_error="0.001 mm")
    program = shop.run(
        *("prove", "--gauge", "mic", "--stack", "59.97 mm", "--readings", "2"),
        *("--least-interval", "0"),
        has_keyboard=False,
    )
    program.wait_for_talk("press send")
    send(shop, program, "59.972 mm", "59.972 mm")
    assert program.end() == 1
    assert program.result["max_error_mm"] == "0.001"


# What a session leaves in the history.


def measure(shop: Shop, *more: str) -> Program:
    program = shop.run(
        *("measure", str(shop.plan), "--gauge", "mic", "--session", str(shop.session), *more),
        has_keyboard=False,
    )
    program.wait_for("stint")
    return program


def whole_session(shop: Shop, *more: str) -> Program:
    program = measure(shop, *more)
    shop.check(program)
    shop.press(program, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")
    shop.check(program)
    return program


def test_a_sessions_checks_are_in_the_gauges_history(shop: Shop) -> None:
    program = whole_session(with_gauge(shop))
    assert program.end() == 0
    assert [(check.phase, check.passed) for check in kept(shop)] == [
        ("before", True),
        ("after", True),
    ]
    assert {check.source for check in kept(shop)} == {program.result["session_id"]}


def test_a_history_that_cannot_be_written_loses_no_session(shop: Shop, call: Call) -> None:
    with_gauge(shop)
    program = measure(shop)
    history_path("mic", shop.home).mkdir(parents=True)  # a folder where the file belongs
    shop.check(program)
    shop.press(program, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")
    shop.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    assert (shop.session / "journals.csv").exists()
    assert call("verify", str(shop.session)).returncode == 0
    assert any("The session's record holds the checks" in line for line in program.talk)


def bad_history(shop: Shop, age_days: int = 1) -> None:
    """Six good occasions and one far outside them."""
    errors = [0.4, 0.9, 0.2, 0.7, 0.5, 0.3, 6.0]
    start = NOW_US - (len(errors) - 1 + age_days) * DAY_US
    append("mic", shop.home, [(start + n * DAY_US, near(e)) for n, e in enumerate(errors)])


def test_a_gauge_out_of_control_opens_no_session_without_a_reason(shop: Shop, call: Call) -> None:
    bad_history(with_gauge(shop))
    options = ("measure", str(shop.plan), "--gauge", "mic", "--session", str(shop.session))
    done = call(*options)
    assert done.returncode == 2
    assert "error +0.00600 mm lies outside -0.00055 to +0.00155 mm" in done.stderr
    assert "--despite-history" in done.stderr
    assert not shop.session.exists()


def test_the_reason_is_in_the_ledger_with_what_the_history_said(shop: Shop) -> None:
    bad_history(with_gauge(shop))
    program = whole_session(shop, "--despite-history", "stack was dirty, cleaned")
    assert program.end() == 0
    notes = [event for event in program.events if event.get("kind") == "note"]
    (note,) = [event for event in notes if "stack was dirty, cleaned" in event["text"]]
    assert "outside -0.00055 to +0.00155 mm" in note["text"]
    reasons = program.result["reasons"]
    assert any("despite its history: stack was dirty, cleaned" in reason for reason in reasons)


def test_a_first_check_that_failed_does_not_lock_the_gauge_out(shop: Shop) -> None:
    append("mic", with_gauge(shop).home, [(NOW_US - DAY_US, near(9.0))])
    program = whole_session(shop)
    assert program.end() == 0
    told = program.wait_for_talk("the last check of the gauge mic at 59.970 mm")
    assert "failed (mean error +0.0090 mm)" in told
    assert "the check before measuring decides" in told


def test_a_good_prove_opens_the_gate_again(shop: Shop) -> None:
    bad_history(with_gauge(shop))
    program = proving(shop)
    send(shop, program, *GOOD)
    assert program.end() == 0
    assert program.result["control"] == "in control"
    assert whole_session(shop).end() == 0


# jbridge history.


def test_history_shows_every_size_and_is_1_while_out_of_control(shop: Shop, call: Call) -> None:
    bad_history(with_gauge(shop))
    done = call("history", "mic")
    assert done.returncode == 1
    assert "OUT OF CONTROL at 59.970 mm" in done.stdout
    assert "e-Handbook 2.3.5.2" in done.stdout.replace("\n  ", " ")
    call("history", "mic", "--adjusted", "anvils cleaned and zero set")
    again = call("history", "mic")
    assert again.returncode == 0
    assert "adjusted: anvils cleaned and zero set" in again.stdout


def test_history_writes_a_picture_and_json(shop: Shop, call: Call, tmp_path: Path) -> None:
    bad_history(with_gauge(shop))
    target = tmp_path / "mic.svg"
    done = call("history", "mic", "--json", "--picture", str(target))
    document = json.loads(done.stdout)
    assert len(document["sizes"][0]["checks"]) == 7
    assert ElementTree.parse(target).getroot().tag.endswith("svg")
    assert not list(tmp_path.glob(".mic*"))


def test_a_damaged_line_is_told_with_its_number_and_the_rest_is_shown(
    shop: Shop, call: Call
) -> None:
    bad_history(with_gauge(shop))
    path = history_path("mic", shop.home)
    harmed = path.read_bytes().replace(b'"mean_error_mm":"0.00020"', b'"mean_error_mm":"0.00010"')
    path.write_bytes(harmed)
    done = call("history", "mic")
    assert "line 3 is damaged" in done.stdout
    assert "6 checks" in done.stdout
    assert done.returncode == 1
    assert path.read_bytes() == harmed


def test_a_newest_line_that_cannot_be_read_opens_no_session(shop: Shop, call: Call) -> None:
    # It was the one that called the gauge out of control, and damage must not lift that.
    bad_history(with_gauge(shop))
    path = history_path("mic", shop.home)
    harmed = path.read_bytes().replace(b'"mean_error_mm":"0.00600"', b'"mean_error_mm":"0.00000"')
    for data in (harmed, path.read_bytes()[:-20]):
        path.write_bytes(data)
        done = call("measure", str(shop.plan), "--gauge", "mic", "--session", str(shop.session))
        assert done.returncode == 2
        assert "newest line" in done.stderr
        assert "Note: " in done.stderr
        assert not shop.session.exists()
    program = proving(shop)
    send(shop, program, *GOOD)
    assert program.end() == 0
    assert whole_session(shop).end() == 0


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["nobody"], "no history of 'nobody'"),
        (["../etc"], "no history of"),
        (["mic", "--size", "10 mm"], "No check at 10 mm"),
        (["mic", "--size", "10"], "not a length"),
        (["mic", "--due", "soon"], "not a day like"),
        (["mic", "--note", " "], "say something"),
    ],
)
def test_a_wrong_word_is_2(shop: Shop, call: Call, options: list[str], words: str) -> None:
    bad_history(with_gauge(shop))
    before = history_path("mic", shop.home).read_bytes()
    done = call("history", *options)
    assert done.returncode == 2
    assert words in done.stderr
    assert history_path("mic", shop.home).read_bytes() == before


def test_a_gauge_never_checked_is_told_what_to_do(shop: Shop, call: Call) -> None:
    with_gauge(shop)
    done = call("history", "mic")
    assert done.returncode == 0
    assert "no check yet" in done.stdout
    assert not (shop.home / "history").exists()


def test_a_picture_that_cannot_be_written_is_4(shop: Shop, call: Call, tmp_path: Path) -> None:
    bad_history(with_gauge(shop))
    done = call("history", "mic", "--picture", str(tmp_path / "nowhere" / "x.svg"))
    assert done.returncode == 4
    assert "cannot be written" in done.stderr


def test_the_moment_of_a_check_is_utc(shop: Shop) -> None:
    program = proving(with_gauge(shop))
    send(shop, program, *GOOD)
    program.end()
    ((line,),) = [found_in(history_path("mic", shop.home).read_bytes()).lines]
    assert abs(line.at_us - utc_micros(program.result["at"])) == 0
