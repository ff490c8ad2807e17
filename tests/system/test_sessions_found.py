"""Sessions listed and found again through the program, on a terminal and off it."""

import fcntl
import json
import os
import signal
import struct
import subprocess
import sys
import termios
from pathlib import Path

import msgspec
import pytest

from tests.builders import Bench, accepted, opened
from tests.places import ROOT
from tests.system.conftest import PATIENCE_S, Call, Shop

KQWE, ABCD = "20261125T080000Z-kqwe", "20261126T080000Z-abcd"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The home of `call`, with an open and a closed session of one job."""
    sessions = tmp_path / "home" / "sessions"
    accepted(sessions / KQWE, msgspec.structs.replace(opened(), session=KQWE))
    Bench.new(sessions / ABCD, msgspec.structs.replace(opened(), session=ABCD)).close()
    return tmp_path / "home"


class Terminal:
    """The program on a terminal of so many columns, which it has for stdin, stdout and stderr."""

    def __init__(self, columns: int, home: Path, *args: str) -> None:
        self._master, slave = os.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "daq", *args],
            cwd=ROOT,
            env={**os.environ, "JBRIDGE_HOME": str(home), "TERM": "xterm", "COLUMNS": ""},
            stdin=slave,
            stdout=slave,
            stderr=slave,
        )
        os.close(slave)
        self._said = b""

    def wait_for(self, words: bytes) -> None:
        """Read until the program has said this."""
        while words not in self._said:
            self._said += os.read(self._master, 4096)

    def end(self) -> tuple[int, list[str]]:
        """The exit code, and all lines that the program sent, without their ends."""
        try:
            while piece := os.read(self._master, 4096):
                self._said += piece
        except OSError:  # Linux says so that the other end is closed
            pass
        os.close(self._master)
        return self.process.wait(PATIENCE_S), self._said.decode().split("\r\n")


def test_an_empty_home_says_so(call: Call, tmp_path: Path) -> None:
    said = call("sessions")
    assert (said.returncode, said.stdout) == (0, "")
    assert f"There are no sessions in {tmp_path / 'home'} yet" in said.stderr
    assert call("sessions", "--json").stdout == "[]\n"


def test_the_list_off_a_terminal_is_plain_text_with_the_open_one_first(
    call: Call, home: Path
) -> None:
    said = call("sessions")
    assert said.returncode == 0
    rows = said.stdout.splitlines()
    assert [row.split()[-1] for row in rows] == ["session", ABCD, KQWE]
    assert "2 sessions, 1 open." in said.stderr
    assert f"  jbridge resume {ABCD}\n" in said.stderr


def test_the_list_as_json_is_one_document(call: Call, home: Path) -> None:
    said = call("sessions", "--json")
    rows = json.loads(said.stdout)
    assert [row["session_id"] for row in rows] == [ABCD, KQWE]
    assert list(rows[1])[:7] == [
        *("session_id", "job", "part", "gauge", "verdict", "begun_at", "folder")
    ]
    assert rows[1] | {"fault": None} == {
        "session_id": KQWE,
        "job": "4711",
        "part": "No. 2",
        "gauge": "mic-50-75",
        "verdict": "accepted",
        "begun_at": "2026-11-25T08:00:00.000000Z",
        "folder": str(home / "sessions" / KQWE),
        "fault": None,
        "demo": False,
    }


def test_damage_is_listed_in_words_and_the_list_stays_good(call: Call, home: Path) -> None:
    (home / "sessions" / "20261127T080000Z-gone").mkdir()
    (home / "sessions" / ABCD / "ledger.jsonl").write_bytes(b'{"not":"one"}\n')
    said = call("sessions")
    assert said.returncode == 0
    assert "20261127T080000Z-gone: there is no ledger.jsonl here" in said.stdout
    assert f"{ABCD}: the record is damaged: line 1" in said.stdout
    assert "Traceback" not in said.stderr
    by_name = {
        Path(row["folder"]).name: row for row in json.loads(call("sessions", "--json").stdout)
    }
    assert by_name["20261127T080000Z-gone"]["verdict"] == "unreadable"
    assert (by_name[ABCD]["verdict"], by_name[ABCD]["job"]) == ("damaged", None)
    assert by_name[KQWE]["verdict"] == "accepted"


@pytest.mark.parametrize(
    ("command", "code"), [("verify", 0), ("export", 0), ("budget", 0), ("study", 2), ("resume", 0)]
)
def test_every_command_takes_the_last_letters_of_an_id(
    call: Call, home: Path, command: str, code: int
) -> None:
    """The session is no study (2); it is closed without tables, which `resume` writes."""
    said = call(command, "KQWE")
    assert said.returncode == code, said.stderr
    assert "fit" not in said.stderr.split("Note")[0]
    if command == "study":
        assert "study" in said.stderr


@pytest.mark.parametrize("command", ["verify", "export", "budget", "study", "resume"])
def test_every_command_names_both_sessions_of_one_job(call: Call, home: Path, command: str) -> None:
    said = call(command, "4711")
    assert said.returncode == 2
    assert "Session 4711: two sessions fit. Give the last four letters" in said.stderr
    assert f"\n  {ABCD}  open, " in said.stderr
    assert f"\n  {KQWE}  accepted, " in said.stderr


@pytest.mark.parametrize("command", ["verify", "export", "budget", "study", "resume"])
def test_every_command_says_that_nothing_fits(call: Call, home: Path, command: str) -> None:
    said = call(command, "9999")
    assert said.returncode == 2
    assert "Session 9999: it is no session's folder, and no session in the home" in said.stderr


def test_verify_takes_several_words_and_reports_each(call: Call, home: Path) -> None:
    said = call("verify", "--json", "kqwe", "4711", str(home / "sessions" / ABCD))
    assert said.returncode == 2
    whole, two_fit, by_path = json.loads(said.stdout)
    assert (whole["ok"], whole["session_id"]) == (True, KQWE)
    assert (two_fit["ok"], two_fit["verdict"]) == (False, "unreadable")
    assert "two sessions fit" in two_fit["faults"][0]
    assert (by_path["ok"], by_path["session_id"]) == (True, ABCD)


def test_export_of_an_open_session_prints_how_to_carry_it_on(call: Call, home: Path) -> None:
    said = call("export", ABCD)
    assert said.returncode == 2
    assert f"Finish it first:\n  jbridge resume {ABCD}\n" in said.stderr


@pytest.mark.parametrize("columns", [40, 60, 120])
def test_on_a_terminal_each_id_stands_whole_within_its_line(home: Path, columns: int) -> None:
    code, said = Terminal(columns, home, "sessions").end()
    assert code == 0
    for name in (ABCD, KQWE):
        assert any(name in line for line in said)
    listed = said[: next(n for n, line in enumerate(said) if line.startswith("2 sessions"))]
    assert max(len(line) for line in listed if "\x1b" not in line) <= columns
    assert f"  jbridge resume {ABCD}" in said


def test_a_run_that_ends_open_prints_its_command_in_one_line_of_a_narrow_terminal(
    shop: Shop,
) -> None:
    terminal = Terminal(
        *(40, shop.home, "measure", str(shop.plan)),
        *("--port", shop.gauge.port, "--profile", str(shop.profile)),
    )
    terminal.wait_for(b"59.97")  # the stack is asked for
    terminal.process.send_signal(signal.SIGINT)
    code, said = terminal.end()
    assert code == 130
    (folder,) = (shop.home / "sessions").iterdir()
    at = next(n for n, line in enumerate(said) if "The session stays open. To carry on:" in line)
    assert said[at + 1] == f"  jbridge resume {folder.name}"
    assert len(said[at + 1]) <= 40
