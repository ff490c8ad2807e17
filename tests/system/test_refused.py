"""Bad input: one short paragraph, the contract's exit code, never a traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.places import ROOT
from tests.system.conftest import Call, Shop

HOSTILE_JOB = "=../../etc\n\x1b[31m[bold]red[/bold]\x07"


def refusal(result: subprocess.CompletedProcess[str], code: int) -> str:
    assert result.returncode == code, result.stderr
    assert "Traceback" not in result.stderr
    assert result.stdout == ""
    return result.stderr


def with_gauge(shop: Shop, *more: str) -> tuple[str, ...]:
    return ("--port", shop.gauge.port, "--profile", str(shop.profile), *more)


def test_a_plan_with_an_unknown_key_names_file_and_key(shop: Shop, call: Call) -> None:
    shop.plan.write_text(shop.plan.read_text() + "colour = 3\n")
    said = refusal(call("measure", str(shop.plan), *with_gauge(shop)), 2)
    assert str(shop.plan) in said
    assert "journal 1 (M1), colour: unknown key" in said


def test_a_profile_with_an_unknown_key_names_file_and_key(shop: Shop, call: Call) -> None:
    shop.profile.write_text(shop.profile.read_text().replace("idle_ms", "idel_ms"))
    said = refusal(call("measure", str(shop.plan), *with_gauge(shop)), 2)
    assert str(shop.profile) in said
    assert "frame.idel_ms" in said


def test_limits_upside_down_and_a_far_stack_are_refused(shop: Shop, call: Call) -> None:
    good = shop.plan.read_text()
    shop.plan.write_text(good.replace('high = "59.990 mm"', 'high = "59.950 mm"'))
    assert "upside down" in refusal(call("measure", str(shop.plan), *with_gauge(shop)), 2)
    shop.plan.write_text(good.replace('stack = "59.97 mm"', 'stack = "50.00 mm"'))
    assert "it proves nothing" in refusal(call("measure", str(shop.plan), *with_gauge(shop)), 2)
    shop.plan.write_text(good.replace('low = "59.970 mm"', 'low = ["59.970 mm", "2.3650 in"]'))
    assert "cross-check" in refusal(call("measure", str(shop.plan), *with_gauge(shop)), 2)


@pytest.mark.parametrize(
    ("port", "code", "fragment"),
    [
        ("/dev/no-such-gauge", 3, "there is no such port"),
        ("/dev/null", 3, "not a serial port"),
        ("socket://127.0.0.1:1", 3, "socket://127.0.0.1:1"),
        ("carrier-pigeon://loft", 2, "unknown kind"),
        ("ttyUSB0", 2, "not a device path"),
        ("/dev/tty\nUSB0", 2, "control characters"),
    ],
)
def test_a_port_that_cannot_be_used_says_why(
    shop: Shop, call: Call, port: str, code: int, fragment: str
) -> None:
    arguments = ("--port", port, "--profile", str(shop.profile), "--session", str(shop.session))
    said = refusal(call("measure", str(shop.plan), *arguments), code)
    assert fragment in said
    assert not shop.session.exists()


def test_missing_answers_without_a_terminal_name_the_option(shop: Shop, call: Call) -> None:
    assert "--port" in refusal(call("measure", str(shop.plan)), 2)
    said = refusal(call("measure", str(shop.plan), "--port", shop.gauge.port), 2)
    assert "--profile" in said


def test_an_existing_session_folder_is_refused(shop: Shop, call: Call) -> None:
    shop.session.mkdir()
    arguments = with_gauge(shop, "--session", str(shop.session))
    assert "exists already" in refusal(call("measure", str(shop.plan), *arguments), 2)


def test_a_coarse_gauge_is_refused_when_its_file_says_so(shop: Shop, call: Call) -> None:
    gauges = shop.home / "gauges"
    gauges.mkdir(parents=True)
    text = f'schema = 1\nprofile = "{shop.profile}"\nport = "{shop.gauge.port}"\n'
    (gauges / "caliper.toml").write_text(text + 'resolution = "0.01 mm"\n')
    said = refusal(
        call("measure", str(shop.plan), "--gauge", "caliper", "--home", str(shop.home)), 2
    )
    assert "too coarse" in said
    (gauges / "old-mike.toml").write_text(text + 'permitted_error = "0.008 mm"\n')
    said = refusal(
        call("measure", str(shop.plan), "--gauge", "old-mike", "--home", str(shop.home)), 2
    )
    assert "permitted error" in said


def test_a_coarse_gauge_is_found_out_by_its_first_reading(shop: Shop) -> None:
    program = shop.measure()
    shop.gauge.send("59.97 mm")
    assert program.end() == 1
    assert program.result["verdict"] == "rejected"
    assert "too coarse" in program.result["reasons"][0]


def test_a_hostile_job_name_enters_no_path_and_no_formula(shop: Shop) -> None:
    program = shop.measure("--job", HOSTILE_JOB, "--part", "@SUM(A1)", has_keyboard=False)
    shop.check(program)
    shop.press(program, "59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")
    shop.check(program)
    assert program.end() == 0
    text = (shop.session / "readings.csv").read_bytes().decode("utf-8")
    assert "'=../../etc\\x0a\\x1b[31m[bold]red[/bold]\\x07" in text
    assert ",'@SUM(A1)," in text
    assert "\x1b" not in "\n".join(program.talk)
    import daq

    assert set(daq.load(shop.session).readings["job"]) == {HOSTILE_JOB}


@pytest.mark.parametrize(
    "options",
    [("--part-temp", "45"), ("--gauge-temp", "warm"), ("--stack-temp", "-3"), ("--part-temp", "")],
)
def test_temperatures_that_nobody_measures_at_are_refused(
    shop: Shop, call: Call, options: tuple[str, str]
) -> None:
    said = refusal(call("measure", str(shop.plan), *with_gauge(shop, *options)), 2)
    assert options[0] in said


def test_a_word_for_only_that_is_no_journal_is_refused(shop: Shop, call: Call) -> None:
    said = refusal(call("measure", str(shop.plan), *with_gauge(shop, "--only", "M9")), 2)
    assert "M9" in said
    assert "M1" in said


def test_a_closed_session_is_final(shop: Shop, call: Call) -> None:
    program = shop.measure()
    program.type("abandon enough")
    program.end()
    said = refusal(call("resume", str(shop.session)), 2)
    assert "a closed session is final" in said


def test_damage_is_found_and_named_by_its_line(shop: Shop, call: Call) -> None:
    program = shop.measure()
    shop.check(program)
    program.interrupt()
    program.end()
    ledger = shop.session / "ledger.jsonl"
    data = ledger.read_bytes()
    ledger.write_bytes(data.replace(b'"59.970"', b'"59.979"', 1))
    said = refusal(call("verify", str(shop.session)), 1)
    assert "line 3" in said
    assert "line 3" in refusal(call("resume", str(shop.session)), 1)


def test_a_newer_ledger_format_is_left_to_the_newer_program(shop: Shop, call: Call) -> None:
    from daq.storage.chain import START, sealed

    shop.session.mkdir()
    body = b'{"seq":1,"at":"2030-01-01T00:00:00.000000Z","kind":"opened","format":2,"new":[]'
    line, _ = sealed(body, START)
    (shop.session / "ledger.jsonl").write_bytes(line + b"\n")
    for command in ("verify", "resume", "export"):
        assert "newer program" in refusal(call(command, str(shop.session)), 2)


def test_a_full_disk_ends_with_4_and_keeps_what_was_acknowledged(shop: Shop, call: Call) -> None:
    """A limit on file size stands for the full disk: the write fails the same way."""
    program = shop.run(
        *("measure", str(shop.plan), "--port", shop.gauge.port),
        *("--profile", str(shop.profile), "--session", str(shop.session)),
        file_bytes=9000,
    )
    program.wait_for("stint")
    shop.check(program)
    while program.process.poll() is None and len(program.events) < 200:
        shop.gauge.send("59.980 mm")
        try:  # whichever line it is that does not fit any more
            program.wait_for("reading")
            program.type("back")
            program.wait_for("void")
        except AssertionError:
            break
    assert program.end() == 4
    assert "was NOT kept" in program.talk[-1]
    acknowledged = [event for event in program.events if "seq" in event]
    from daq.storage.ledger import scan

    assert len(scan(shop.session).entries) >= len(acknowledged) > 10
    again = shop.resume()
    shop.check(again)
    again.type("stop enough")
    again.wait_for("note")
    shop.check(again)
    assert again.end() == 0


def test_a_reader_that_goes_away_ends_quietly(tmp_path: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    result = subprocess.run(
        [sys.executable, "-m", "daq", "plan", "schema"],
        cwd=ROOT,
        stdout=write,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(write)
    assert result.stderr == ""


def test_listen_explains_a_wrong_baud_rate(shop: Shop, call: Call, tmp_path: Path) -> None:
    capture = tmp_path / "capture.bin"
    capture.write_bytes(b"\xab\xb059.98\r\n" * 4 + b"+" * 5000)
    arguments = ("listen", "--from", str(capture), "--profile", str(shop.profile))
    result = call(*arguments, "--json")
    assert result.returncode == 0
    codes = [line.split('"error": "')[1].split('"')[0] for line in result.stdout.splitlines()]
    assert codes == ["encoding"] * 4 + ["overlong"]
    assert result.stderr.count("check the baud rate") == 1


def test_another_device_than_the_gauge_file_names_is_refused(shop: Shop, call: Call) -> None:
    gauges = shop.home / "gauges"
    gauges.mkdir(parents=True)
    text = f'schema = 1\nprofile = "{shop.profile}"\nport = "{shop.gauge.port}"\n'
    (gauges / "mic.toml").write_text(text + 'identity = "usb:1209:0001:A1"\n')
    arguments = ("--gauge", "mic", "--home", str(shop.home), "--session", str(shop.session))
    said = refusal(call("measure", str(shop.plan), *arguments), 2)
    assert "usb:1209:0001:A1" in said
    assert not shop.session.exists()


def test_a_resume_keeps_what_the_gauge_file_said(shop: Shop) -> None:
    gauges = shop.home / "gauges"
    gauges.mkdir(parents=True)
    text = f'schema = 1\nprofile = "{shop.profile}"\nport = "{shop.gauge.port}"\n'
    (gauges / "mic.toml").write_text(text + 'permitted_error = "0.002 mm"\n')
    program = shop.run(
        *("measure", str(shop.plan), "--gauge", "mic", "--session", str(shop.session))
    )
    program.wait_for("stint")
    shop.check(program)
    program.interrupt()
    program.end()
    again = shop.resume("--port", shop.gauge.port)
    assert again.events[-1]["setup"]["source"]["gauge"] == "mic"
    assert "permitted_error" in again.events[-1]["setup"]["gauge_file"]
    assert shop.check(again)["phase"] == "during"
    again.type("abandon enough")
    assert again.end() == 1
