"""`jbridge doctor` on the machine that the tests run on: whatever it lacks, never a traceback."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.places import ROOT
from tests.system.conftest import Call

KEYS = {"name", "ok", "needed", "message"}
ASKED = {
    *("libusb", "services", "home", "disk", "clock", "terminal", "python", "packages"),
    *("sound", "speech", "browser"),
}
"""Named on every machine; ports and rules only where there are some."""


def test_it_looks_at_everything_and_leaves_the_home_as_it_was(call: Call, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    done = call("doctor", "--home", str(home), "--json")
    found = json.loads(done.stdout)
    assert all(one.keys() == KEYS for one in found)
    assert {one["name"] for one in found} >= ASKED
    assert done.returncode == int(any(one["needed"] and not one["ok"] for one in found))
    assert list(home.iterdir()) == []


def test_people_get_a_line_a_finding_and_what_it_comes_to(call: Call, tmp_path: Path) -> None:
    done = call("doctor", "--home", str(tmp_path / "new"))
    begun = [line for line in done.stdout.splitlines() if line[:1] != " "]
    assert {line[:6] for line in begun} <= {"ok    ", "note  ", "MEND  "}
    assert {line[6:18].strip() for line in begun} >= ASKED
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "new").exists()


def test_a_home_that_cannot_be_is_the_answer_no(call: Call, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    done = call("doctor", "--home", str(tmp_path / "file"))
    assert done.returncode == 1
    assert "MEND  home" in done.stdout
    assert "to mend before a session" in done.stderr


HERE = {"PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"]}


@pytest.mark.parametrize(
    "surroundings",
    [
        {},
        {"PATH": ""},
        {"TZ": "no/where", "LANG": "none", "COLUMNS": "many", "TERM": ""},
        {"PYTHONIOENCODING": "ascii"},
        {"JBRIDGE_HOME": "~no-such-user-here/x"},
        {"JBRIDGE_HOME": "relative/home"},
        {"JBRIDGE_HOME": "/dev/null/x"},
        {"JBRIDGE_HOME": "/x" * 3000},
        {"JBRIDGE_HOME": "/" + "x" * 300},
        {"HOME": "/no/where", "XDG_DATA_HOME": "/proc/none"},
    ],
    ids=lambda given: " ".join(f"{key}={value[:20]}" for key, value in given.items()) or "none",
)
def test_no_surroundings_make_it_stumble(surroundings: dict[str, str], tmp_path: Path) -> None:
    """In a folder that is gone, with stdin closed, and with as little around it as can be."""
    gone = tmp_path / "gone"
    gone.mkdir()
    script = 'rmdir "$PWD"; exec "$0" -m daq doctor --json <&-'
    done = subprocess.run(
        ["/bin/sh", "-c", script, sys.executable],
        cwd=gone,
        env={**HERE, "HOME": str(tmp_path), **surroundings},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr
    assert "Traceback" not in done.stderr
    assert len(json.loads(done.stdout)) >= len(ASKED)


def test_a_package_that_everything_is_made_of_is_missed_in_words(tmp_path: Path) -> None:
    script = (
        "import sys, runpy; sys.modules['msgspec'] = None; sys.argv.insert(1, 'doctor'); "
        "runpy.run_module('daq', run_name='__main__')"
    )
    for more in ((), ("--json",)):
        done = subprocess.run(
            [sys.executable, "-c", script, *more],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 1
        assert "pip install msgspec" in done.stdout
        assert "Traceback" not in done.stderr


def test_it_works_where_everything_is_gone_that_windows_lacks(tmp_path: Path) -> None:
    done = subprocess.run(
        [
            *(sys.executable, "-m", "tests.system.without_posix"),
            *("doctor", "--home", str(tmp_path), "--json"),
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr
    found = {one["name"]: one for one in json.loads(done.stdout)}
    assert "sleeps" in found["clock"]["message"] or not found["clock"]["ok"]
    assert found["home"]["ok"]
    assert list(tmp_path.iterdir()) == []
