"""The smaller commands as a user calls them: output, exit code, JSON, options before and after."""

import json
import os
import select
import subprocess
import sys
from pathlib import Path

import pytest

import daq
from tests.places import ROOT
from tests.system.conftest import Call, PtyGauge, Shop


def test_version_and_help(call: Call) -> None:
    assert call("--version").stdout == f"jbridge, version {daq.__version__}\n"
    shown = call("--help")
    assert shown.returncode == 0
    for command in (
        "budget",
        "demo",
        "doctor",
        "export",
        "history",
        "listen",
        "measure",
        "plan",
        "ports",
        "prove",
        "resume",
        "sessions",
        "simulate",
        "stack",
        "study",
        "teach",
        "udev",
    ):
        assert f"  {command} " in shown.stdout


@pytest.mark.parametrize(
    "command",
    [
        *(
            "budget",
            "demo",
            "doctor",
            "export",
            "history",
            "listen",
            "measure",
            "ports",
            "prove",
            "resume",
            "sessions",
            "simulate",
            "stack",
            "study",
            "teach",
            "udev",
            "verify",
        ),
        *("plan", "plan check", "plan schema", "plan show"),
    ],
)
def test_every_command_has_help_with_an_example(command: str) -> None:
    """Each in an interpreter of its own, which has loaded nothing that the command might miss."""
    shown = subprocess.run(
        [sys.executable, "-m", "daq", *command.split(), "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert shown.returncode == 0
    assert f"Example: jbridge {command.split(maxsplit=1)[0]}" in shown.stdout
    for option in ("--json", "--home", "--plain", "--debug"):
        assert option in shown.stdout


def test_common_options_stand_before_and_after_the_command(call: Call) -> None:
    before, after = call("--json", "ports"), call("ports", "--json")
    assert before.stdout == after.stdout
    assert isinstance(json.loads(before.stdout), list)


def test_plan_schema_is_json(call: Call) -> None:
    schema = json.loads(call("plan", "schema").stdout)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_demo_ends_accepted_within_30_seconds_with_one_of_each_fault(
    call: Call, tmp_path: Path
) -> None:
    result = call("demo", "--session", str(tmp_path / "demo"))  # `call` waits 60 s at most
    assert result.returncode == 0, result.stderr
    assert f"Tables are in {tmp_path / 'demo'}" in result.stdout
    session = daq.load(tmp_path / "demo")
    assert session.verdict == "accepted"
    assert sorted(session.journals["verdict"]) == [
        "below",
        "out-of-form",
        *["within"] * 5,
    ]
    taken = session.readings["taken_at"]
    checks = session.checks["taken_at"]
    assert (max(taken.max(), checks.max()) - checks.min()).total_seconds() < 30
    assert call("verify", str(tmp_path / "demo")).returncode == 0


def test_listen_decodes_a_capture_from_a_pipe() -> None:
    result = subprocess.run(
        [
            *(sys.executable, "-m", "daq", "listen", "--json"),
            *("--from", "-", "--profile", "number-unit-crlf"),
        ],
        cwd=ROOT,
        input=b"+059.980 mm\r\n59,98 mm\r\n2.3",
        capture_output=True,
        check=False,
    )
    rows = [json.loads(line) for line in result.stdout.splitlines()]
    assert rows[0] == {
        "value": "59.980",
        "unit": "mm",
        "resolution": "0.001",
        "flags": [],
        "channel": None,
        "raw_hex": b"+059.980 mm".hex(),
        "at": None,
    }
    assert [row["error"] for row in rows[1:]] == ["separator", "truncated"]
    assert rows[1].keys() == {"error", "message", "raw_hex", "at"}
    assert result.returncode == 0


def test_listen_shows_frames_of_a_port_as_they_come(shop: Shop) -> None:
    program = shop.run(
        *("listen", "--port", shop.gauge.port, "--profile", str(shop.profile), "--count", "2"),
        has_keyboard=False,
    )
    program.wait_for_talk()
    shop.gauge.send("59.980 mm")
    shop.gauge.raw(b"rubbish\x1b[2J\r\n")
    assert program.end() == 0
    assert program.events[0]["value"] == "59.980"
    assert program.events[0]["at"].endswith("Z")
    assert program.events[1]["error"] == "encoding"
    assert "\x1b" not in program.events[1]["message"]


def test_listen_ends_with_3_when_the_gauge_goes(shop: Shop) -> None:
    program = shop.run(
        *("listen", "--port", shop.gauge.port, "--profile", str(shop.profile)), has_keyboard=False
    )
    program.wait_for_talk()
    gone, shop.gauge = shop.gauge, PtyGauge()
    gone.unplug()
    assert program.end() == 3


def test_simulate_first_prints_its_port_and_obeys_its_keys(call: Call, tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "daq", "simulate", "--json", "--seed", "7"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    port = json.loads(process.stdout.readline())["port"]
    fd = os.open(port, os.O_RDWR | os.O_NOCTTY)
    process.stdin.write("stack 59.97 mm\n\nfly away\nunit in\n\n")
    process.stdin.flush()
    got = b""
    while got.count(b"\r\n") < 2 and select.select([fd], [], [], 20)[0]:
        got += os.read(fd, 100)
    os.close(fd)
    process.stdin.close()
    first, second = got.split(b"\r\n")[:2]
    assert first.startswith(b"+59.9")
    assert first.endswith(b" mm")
    assert second.endswith(b" in")
    assert process.wait(20) == 0
    assert process.stderr is not None
    assert "fly" in process.stderr.read()
    process.stdout.close()
    process.stderr.close()


def test_measure_over_tcp_with_a_simulated_gauge(shop: Shop) -> None:
    gauge = shop.run("simulate", "--tcp", "0", "--press-every", "0")
    port = gauge.wait_for_next()["port"]
    assert port.startswith("socket://127.0.0.1:")
    program = shop.run(
        *("measure", str(shop.plan), "--port", port, "--profile", "number-unit-crlf"),
        *("--session", str(shop.session)),
        has_keyboard=False,
    )
    program.wait_for("stint")
    # Each unlike the one before: equal ones so soon are held.
    for size in ("59.970", "59.971", "59.980", "59.982", "59.981", "59.980", "59.970", "59.971"):
        gauge.type(f"stack {size} mm\npress")
        program.wait_for("check_reading" if size.startswith("59.97") else "reading")
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"


def test_several_names_behind_only(shop: Shop) -> None:
    shop.plan.write_text(
        shop.plan.read_text()
        + '\n[[journal]]\nname = "M2"\nlow = "59.970 mm"\nhigh = "59.990 mm"\n'
        + '\n[[journal]]\nname = "R1"\ngroup = "rods"\nlow = "59.970 mm"\nhigh = "59.990 mm"\n'
    )
    program = shop.measure("--only", "mains", "M2", has_keyboard=False)
    assert program.events[0]["setup"]["only"] == ["mains", "M2"]
    shop.check(program)
    shop.press(program, *["59.980 mm"] * 8)
    shop.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "open"
    again = shop.resume("--only", "rods", has_keyboard=False)
    shop.check(again)
    shop.press(again, *["59.980 mm"] * 4)
    shop.check(again)
    assert again.end() == 0
    assert again.result["verdict"] == "accepted"


def test_a_saved_stack_is_called_by_its_name(shop: Shop) -> None:
    stacks = shop.home / "stacks"
    stacks.mkdir(parents=True)
    (stacks / "sixty.toml").write_text('schema = 1\nsize = "59.97 mm"\n')
    program = shop.measure("--stack", "sixty", has_keyboard=False)
    assert program.events[-1]["stack"] == "sixty"
    assert program.events[-1]["stack_size"] == "59.97 mm"
    shop.check(program)
    program.interrupt()
    assert program.end() == 130
    assert f"jbridge resume {shop.session}" in "\n".join(program.talk)


def test_a_session_is_found_by_its_id_below_home(shop: Shop, call: Call) -> None:
    program = shop.run(
        *("measure", str(shop.plan), "--port", shop.gauge.port, "--profile", str(shop.profile))
    )
    session = program.wait_for("opened")["session"]
    program.wait_for("stint")
    program.type("abandon enough")
    assert program.end() == 1
    assert call("verify", session, "--home", str(shop.home)).returncode == 0


def test_json_of_verify_and_export_is_one_document_whatever_is_found(
    shop: Shop, call: Call, tmp_path: Path
) -> None:
    program = shop.measure()
    program.type("abandon enough")
    assert program.end() == 1
    verified = call("verify", "--json", str(shop.session), str(tmp_path / "nope"))
    assert verified.returncode == 2
    good, missing = json.loads(verified.stdout)
    assert (good["ok"], good["verdict"]) == (True, "abandoned")
    assert (missing["ok"], missing["session_id"]) == (False, None)
    exported = call("export", "--json", str(shop.session))
    assert exported.returncode == 1
    assert json.loads(exported.stdout) == [
        {"folder": str(shop.session), "verdict": "abandoned", "files": []}
    ]


def test_damage_can_be_caught_by_its_name(shop: Shop) -> None:
    shop.session.mkdir()
    (shop.session / "ledger.jsonl").write_bytes(b"not a ledger\n")
    with pytest.raises(daq.LedgerDamaged):
        daq.load(shop.session)


@pytest.mark.parametrize("seconds", ["nan", "inf"])
def test_what_is_no_time_is_refused(call: Call, shop: Shop, seconds: str) -> None:
    source = ("--port", shop.gauge.port, "--profile", str(shop.profile))
    said = call("listen", *source, "--every", seconds, "--count", "1")
    assert said.returncode == 2
    assert f"'--every': {seconds} is not" in " ".join(said.stderr.split())


def test_a_capture_and_a_port_exclude_each_other(call: Call) -> None:
    said = call("listen", "--from", "-", "--port", "/dev/ttyS0", "--profile", "number-crlf")
    assert said.returncode == 2
    assert "--from and --port" in said.stderr
