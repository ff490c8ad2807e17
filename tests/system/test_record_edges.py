"""At the edges of the system: streams closed or full, encodings, homes, signals at start-up, files
that are none, files of others, names and arguments that nobody chose well.
"""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.builders import accepted, opened
from tests.places import ROOT
from tests.system.conftest import Call, Shop


def shell(command: str, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["/bin/sh", "-c", command.replace("JBRIDGE", f"{sys.executable} -m daq")],
        cwd=ROOT,
        capture_output=True,
        encoding=env.get("PYTHONIOENCODING", "utf-8"),
        timeout=60,
        check=False,
        stdin=subprocess.DEVNULL,
        env={**os.environ, **env},
    )


@pytest.fixture
def session(tmp_path: Path) -> Path:
    return accepted(tmp_path / "s", opened(part="☃ µ 😀")).folder


@pytest.mark.parametrize("streams", [">&-", "2>&-", ">&- 2>&-", "<&- >&- 2>&-", "2>/dev/full"])
@pytest.mark.parametrize("command", ["verify", "verify --json", "export", "budget"])
def test_closed_and_full_streams_change_no_answer(
    session: Path, streams: str, command: str
) -> None:
    done = shell(f"JBRIDGE {command} {session} {streams}")
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    ledger = session / "ledger.jsonl"
    ledger.write_bytes(ledger.read_bytes().replace(b"59.980", b"59.989", 1))
    assert shell(f"JBRIDGE {command} {session} {streams}").returncode == 1


@pytest.mark.parametrize("command", ["verify", "verify --json", "budget", "plan schema"])
def test_a_result_that_cannot_be_written_is_this_machines_failure(
    session: Path, command: str
) -> None:
    where = "" if "plan" in command else session
    done = shell(f"JBRIDGE {command} {where} > /dev/full")
    assert done.returncode == 4, done.stderr
    assert "Traceback" not in done.stderr
    assert "No space left on device" in done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_an_encoding_that_lacks_characters_shows_them_escaped(
    session: Path, tmp_path: Path, encoding: str
) -> None:
    named = session.rename(tmp_path / "☃ µ")
    for command in ("verify", "export", "budget", "verify --json", "export --json"):
        done = shell(f"JBRIDGE {command} '{named}'", PYTHONIOENCODING=encoding)
        assert done.returncode == 0, done.stderr
        assert "Traceback" not in done.stderr
        if "--json" in command:
            assert json.loads(done.stdout)[0]["folder"] == str(named)


def test_json_lines_of_a_session_stay_json_in_ascii(shop: Shop) -> None:
    # In an interpreter of its own: an encoding is taken when one starts.
    ascii_only = {**os.environ, "PYTHONIOENCODING": "ascii"}
    program = shop.measure("--part", "☃ 😀", module="daq", env=ascii_only)
    assert program.events[0]["part"] == "☃ 😀"
    program.type("abandon ☃")
    assert program.end() == 1


@pytest.mark.parametrize("home", ["~nouser/x", "~no such user"])
def test_a_home_that_leads_nowhere_is_refused_in_words(home: str) -> None:
    for command, more in (
        ("history x", {"JBRIDGE_HOME": home}),
        (f"history x --home '{home}'", {}),
    ):
        done = shell(f"JBRIDGE {command}", **more)
        assert done.returncode == 2, done.stderr
        assert "no such user's folder" in done.stderr
        assert "Traceback" not in done.stderr


START_UP = """
import sys
class Told:
    def find_spec(self, name, path, target=None):
        if name == "daq.cli":
            sys.stdout.write("x")
            sys.stdout.flush()
sys.meta_path.insert(0, Told())
sys.argv = ["jbridge", "budget", "SESSION"]
from daq.__main__ import main
main()
"""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_storm_of_signals_at_start_up_ends_in_130_without_a_traceback(
    session: Path, number: signal.Signals
) -> None:
    """From the moment on at which the program loads the first of its modules."""
    script = START_UP.replace("SESSION", str(session))
    for tenths in range(12):
        process = subprocess.Popen(
            [sys.executable, "-c", script],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        assert process.stdout is not None
        process.stdout.read(1)
        time.sleep(tenths * 0.02)
        for _ in range(40):
            if process.poll() is None:
                process.send_signal(number)
                time.sleep(0.001)
        _, said = process.communicate(timeout=20)
        assert process.returncode in (0, 130), said
        assert b"Traceback" not in said


WHILE_LOADING = """
import os, signal, sys, time
class Ends:
    def METHOD:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(0.1)
class Told:
    def find_spec(self, name, path, target=None):
        if name == "daq.cli.commands.budget":
            WHAT
            time.sleep(5)
sys.meta_path.insert(0, Told())
sys.argv = ["jbridge", "budget", "SESSION"]
from daq.__main__ import main
main()
"""


@pytest.mark.parametrize(
    ("method", "what"),
    [
        pytest.param("__del__(self)", "Ends()", id="a destructor, which can raise nothing"),
        pytest.param(
            "__set_name__(self, owner, name)",
            "type('Kind', (), {'end': Ends()})",
            id="the making of a class, which makes another error of it",
        ),
    ],
)
def test_a_request_to_end_while_loading_is_met_wherever_it_comes(
    session: Path, method: str, what: str
) -> None:
    script = WHILE_LOADING.replace("METHOD", method).replace("WHAT", what)
    found = subprocess.run(
        [sys.executable, "-c", script.replace("SESSION", str(session))],
        cwd=ROOT,
        capture_output=True,
        timeout=20,
        check=False,
    )
    assert found.returncode == 130, found.stderr
    assert found.stderr.strip() == b"jbridge: interrupted."


@pytest.mark.parametrize("kind", ["fifo", "zero"])
def test_only_plain_files_are_read_and_the_others_refused_at_once(
    shop: Shop, call: Call, tmp_path: Path, kind: str
) -> None:
    def odd(path: Path) -> Path:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        if kind == "fifo":
            os.mkfifo(path)
        else:
            path.symlink_to("/dev/zero")
        return path

    home = tmp_path / "home"
    port = ("--port", shop.gauge.port)
    profile = ("--profile", str(shop.profile))
    cases: list[tuple[str, ...]] = [
        ("measure", str(odd(tmp_path / "odd.toml")), *port, *profile),
        ("plan", "check", str(tmp_path / "odd.toml")),
        ("measure", str(shop.plan), *port, "--profile", str(odd(tmp_path / "profile.toml"))),
        ("verify", str(odd(tmp_path / "session" / "ledger.jsonl").parent)),
        ("export", str(tmp_path / "session")),
        ("resume", str(tmp_path / "session")),
    ]
    odd(home / "gauges" / "mike.toml")
    cases.append(("measure", str(shop.plan), "--gauge", "mike"))
    odd(home / "history" / "old.jsonl")
    cases.append(("history", "old"))
    odd(home / "stacks" / "mine.toml")
    cases.append(("prove", *port, *profile, "--stack", "mine", "--max-error", "0.004 mm"))
    capture = str(odd(tmp_path / "capture"))
    cases.append(("listen", "--from", capture, *profile))
    cases.append(("teach", "new", "--from", capture, *port))
    cases.append(("simulate", "--script", capture))
    for case in cases:
        began_s = time.monotonic()
        done = call(*case)
        assert done.returncode == 2, (case, done.stderr)
        assert "Traceback" not in done.stderr
        assert done.stderr.startswith("jbridge: ")
        assert time.monotonic() - began_s < 20


def kept_history(home: Path) -> None:
    from daq.gauges.history import NoteRecord
    from daq.storage.history_file import append_note

    append_note("mike", home, 1_795_593_600_000_000, NoteRecord(about="note", text="x", program=""))


def test_a_picture_replaces_only_a_picture(shop: Shop, call: Call, tmp_path: Path) -> None:
    kept_history(tmp_path / "home")
    plan = shop.plan.read_bytes()
    done = call("history", "mike", "--picture", str(shop.plan))
    assert done.returncode == 2
    assert "--replace" in done.stderr
    assert shop.plan.read_bytes() == plan
    picture = tmp_path / "p.svg"
    for _ in range(2):  # the second time over its own
        assert call("history", "mike", "--picture", str(picture)).returncode == 0
        assert picture.read_text().startswith("<!-- made by jbridge history -->\n<svg")
    assert call("history", "mike", "--picture", str(shop.plan), "--replace").returncode == 0
    assert shop.plan.read_bytes() == picture.read_bytes()
    odd = tmp_path / "fifo"
    os.mkfifo(odd)
    done = call("history", "mike", "--picture", str(odd), "--replace")
    assert done.returncode == 2
    assert odd.is_fifo()


def test_names_from_the_disk_are_shown_without_their_control_characters(
    session: Path, call: Call, tmp_path: Path
) -> None:
    named = session.rename(tmp_path / "a\x1b[31mb\x9b\u202ec")
    gauges = tmp_path / "home" / "gauges"
    gauges.mkdir(parents=True)
    (gauges / "g\x1b[31m\x9b.toml").write_text("schema = 1\n")
    calls: list[tuple[str, ...]] = [
        *(("verify", str(named)), ("export", str(named)), ("ports",), ("udev",)),
        *(("budget", str(named)), ("resume", str(named)), ("verify", str(named) + "x")),
        ("measure", "x.toml", "--gauge", "none"),
    ]
    for case in calls:
        done = call(*case)
        for mark in ("\x1b", "\x9b", "\u202e"):
            assert mark not in done.stdout + done.stderr, case


@pytest.mark.parametrize(
    "case",
    [
        ("LONG",),
        ("verify", "LONG"),
        ("export", "LONG"),
        ("resume", "LONG"),
        ("measure", "LONG"),
        ("budget", "LONG", "--journal", "LONG"),
        ("history", "LONG"),
        ("history", "x", "--home", "LONG"),
        ("history", "x", "--interval=LONG"),
        ("simulate", "--format", "LONG"),
    ],
)
@pytest.mark.parametrize("text", ["x", "x y ", "é\t"])
def test_a_long_argument_is_echoed_in_80_characters_at_most(
    call: Call, case: tuple[str, ...], text: str
) -> None:
    long = (text * 65_536)[: 65_536 // len(text.encode())]
    done = call(*(word.replace("LONG", long) for word in case))
    assert done.returncode == 2, done.stderr[:500]
    assert "Traceback" not in done.stderr
    assert len(done.stderr) < 700
    assert text * 81 not in done.stderr


def test_a_folder_that_may_not_be_written_is_not_told_to_free_space(shop: Shop) -> None:
    arguments: dict[str, Any] = {}
    where = "/sys/kernel/session"
    done = subprocess.run(
        [
            *(sys.executable, "-m", "daq", "measure", str(shop.plan), "--session", where),
            *("--port", shop.gauge.port, "--profile", str(shop.profile)),
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        stdin=subprocess.DEVNULL,
        **arguments,
    )
    assert done.returncode == 4, done.stderr
    assert "space" not in done.stderr
    assert "permission" in done.stderr or "read-only" in done.stderr
