"""`jbridge teach` as a user calls it: from a capture, from a gauge on a pty, and in a talk."""

import json
import os
import select
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.places import ROOT
from tests.system.conftest import PATIENCE_S, Call, PtyGauge
from tests.system.launcher import JBRIDGE, Launcher

FRAMES = b"C1 59.982 mm\rC1 -0.345 mm\rC1 12.300 mm\r"
KNOWN = ("--shows", "1: 59.982 mm", "--port", "/dev/ttyUSB0")


@pytest.fixture
def capture(tmp_path: Path) -> str:
    """A file with three presses."""
    file = tmp_path / "capture.bin"
    file.write_bytes(FRAMES)
    return str(file)


def test_a_capture_makes_a_gauge_that_listen_understands(call: Call, capture: str) -> None:
    taught = call(
        "teach", "bore", "--from", capture, *KNOWN, "--answer", "field-1=channel", "--accept"
    )
    assert taught.returncode == 0, taught.stderr
    assert "59.982 mm, step 0.001, channel 1" in taught.stdout
    heard = call("listen", "--gauge", "bore", "--from", capture, "--json")
    rows = [json.loads(line) for line in heard.stdout.splitlines()]
    assert [(row["value"], row["unit"], row["channel"]) for row in rows] == [
        ("59.982", "mm", "1"),
        ("-0.345", "mm", "1"),
        ("12.300", "mm", "1"),
    ]


@pytest.mark.parametrize(
    ("options", "named"),
    [
        ((), "--shows '3: SIZE UNIT'"),
        (("--shows", "1: 59.982 mm"), "--answer other-unit=none|in|um"),
        (("--shows", "1: 59.982 mm", "--accept"), "--port is missing"),
    ],
)
def test_a_missing_answer_is_exit_2_and_names_its_option(
    call: Call, capture: str, options: tuple[str, ...], named: str, tmp_path: Path
) -> None:
    taught = call("teach", "bore", "--from", capture, *options)
    assert taught.returncode == 2
    assert named in taught.stderr
    assert "press  bytes" in taught.stdout  # what was understood so far is shown all the same
    assert not (tmp_path / "home").exists()


def test_files_are_only_replaced_on_request(call: Call, capture: str) -> None:
    command = ("teach", "bore", "--from", capture, *KNOWN, "--accept")
    assert call(*command).returncode == 0
    again = call(*command)
    assert again.returncode == 2
    assert "--replace" in again.stderr
    assert call(*command, "--replace").returncode == 0


def test_json_is_one_document_with_all_that_is_open(call: Call, capture: str) -> None:
    told = call("teach", "bore", "--from", capture, *KNOWN, "--json")
    assert told.returncode == 2
    document = json.loads(told.stdout)
    assert document["written"] is False
    assert [one["question"] for one in document["open"]] == ["fixed", "other-unit"]
    assert document["frames"][1]["value"] == "-0.345"
    assert document["frames"][1]["raw_hex"] == b"C1 -0.345 mm\r".hex()
    done = json.loads(call("teach", "bore", "--from", capture, *KNOWN, "--json", "--accept").stdout)
    assert done["written"] is True
    assert Path(done["files"][0]).read_text() == done["profile"]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "Nothing came"),
        (b"C1 59.982 mm\r", "at least 3 are needed"),
        (bytes(range(256)) * 20, "no text"),
        (b"7" * 1_000_000, "longer than 64 KiB"),
    ],
)
def test_a_bad_capture_is_refused(call: Call, tmp_path: Path, data: bytes, said: str) -> None:
    file = tmp_path / "bad.bin"
    file.write_bytes(data)
    taught = call("teach", "bore", "--from", str(file), *KNOWN, "--accept")
    assert taught.returncode == 2
    assert said in taught.stderr
    assert "Traceback" not in taught.stderr
    assert "\x1b" not in taught.stderr


def test_keyboard_reports_are_read_from_a_text_file(call: Call, tmp_path: Path) -> None:
    keys = {"1": 0x1E, "2": 0x1F, "3": 0x20, ".": 0x37, "m": 0x10, "-": 0x38, "\n": 0x28}
    lines = ["# a gauge set to German"]
    for text in ("-1.23mm\n", "3.21mm\n", "2.22mm\n"):
        for char in text:
            lines += [f"0000{keys[char]:02x}0000000000", "0000000000000000"]
        lines.append("")
    file = tmp_path / "reports.txt"
    file.write_text("\n".join(lines))
    options = ("--shows", "1: -1.23 mm", "--port", "usb:1234:0001", "--accept", "--json")
    taught = call("teach", "keys", "--from", str(file), "--keyboard", *options)
    assert taught.returncode == 0, taught.stderr
    document = json.loads(taught.stdout)
    assert 'keyboard = "de"' in document["profile"]
    assert [frame["value"] for frame in document["frames"]] == ["-1.23", "3.21", "2.22"]
    file.write_text("zz\n")
    refused = call("teach", "other", "--from", str(file), "--keyboard", *options)
    assert refused.returncode == 2
    assert "line 1" in refused.stderr


class Talk:
    """The program with a terminal for its keyboard."""

    def __init__(self, *args: str, launcher: Launcher, home: Path) -> None:
        self._master, slave = os.openpty()
        words, streams = ("teach", *args, "--home", str(home)), (slave, slave, slave)
        self._process = launcher.start(JBRIDGE, *words, streams=streams, own_session=True)
        os.close(slave)
        self.said = ""
        self._heard = 0

    def wait_for(self, text: str) -> None:
        """Read until `text` was said behind what the last call waited for."""
        while text not in self.said[self._heard :]:
            assert select.select([self._master], [], [], PATIENCE_S)[0], self.said
            self.said += os.read(self._master, 4096).decode()
        self._heard = self.said.index(text, self._heard) + len(text)

    def type(self, line: str) -> None:
        """A line on the keyboard."""
        os.write(self._master, f"{line}\n".encode())

    def end(self) -> int:
        """The exit code."""
        code = self._process.wait(PATIENCE_S)
        os.close(self._master)
        return code

    def kill(self) -> None:
        """Whatever still runs."""
        self._process.kill()
        self._process.wait()


Teach = Callable[..., Talk]


@pytest.fixture
def teach(launcher: Launcher, tmp_path: Path) -> Teach:
    """Start `jbridge teach` at a terminal."""
    return lambda *args: Talk(*args, launcher=launcher, home=tmp_path)


def test_a_talk_at_the_gauge(teach: Teach, tmp_path: Path) -> None:
    gauge = PtyGauge()
    talk = teach("bore", "--port", gauge.port)
    try:
        for number, frame in enumerate(
            (b"C1 59.982 mm\r", b"C1 -0.345 mm\r", b"C2 12.300 mm\r"), 1
        ):
            talk.wait_for(f"Press {number} of 3")
            gauge.raw(frame)
        talk.wait_for("All its digits, and the unit")
        talk.type("12.3 kg")
        talk.wait_for("All its digits, and the unit")
        talk.type("12.300 mm")
        talk.wait_for("field-1:")
        talk.type("sausage")
        talk.wait_for("field-1:")
        talk.type("channel")
        talk.wait_for("other-unit")
        talk.wait_for("[none]")
        talk.type("in")
        talk.wait_for("[Y/n]")
        talk.type("")
        talk.wait_for("Try it: jbridge listen --gauge bore")
        assert talk.end() == 0
    finally:
        talk.kill()
        gauge.unplug()
    profile = (tmp_path / "profiles" / "bore.toml").read_text()
    assert 'name = "channel"' in profile
    assert 'map = { mm = "mm", in = "in" }' in profile
    assert f'port = "{gauge.port}"' in (tmp_path / "gauges" / "bore.toml").read_text()


def test_unattended_at_the_gauge(call: Call, tmp_path: Path) -> None:
    gauge = PtyGauge()
    command = [sys.executable, "-m", "daq", "teach", "bore", "--port", gauge.port, "--accept"]
    process = subprocess.Popen(
        [*command, "--shows", "7.500 mm", "--home", str(tmp_path)],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    try:
        for frame in (b"+1.250 mm\r\n", b"-0.5 mm\r\n", b"+7.500 mm\r\n"):
            while "Press" not in process.stderr.readline():
                assert process.poll() is None
            gauge.raw(frame)
        out, err = process.communicate(timeout=PATIENCE_S)
    finally:
        process.kill()
        gauge.unplug()
    assert process.returncode == 0, err
    assert "7.500 mm, step 0.001" in out


def test_a_port_that_is_not_there_is_exit_3(call: Call) -> None:
    taught = call("teach", "bore", "--port", "/dev/nowhere")
    assert taught.returncode == 3
    assert call("teach", "bore", "--port", "nowhere").returncode == 2
    assert "--port is missing" in call("teach", "bore").stderr


def test_bytes_that_are_no_text_lead_to_the_next_line_setting(teach: Teach, tmp_path: Path) -> None:
    gauge = PtyGauge()
    port = tmp_path / "gauge"  # a name of its own: behind /dev/pts there is no line to set
    port.symlink_to(gauge.port)
    talk = teach("bore", "--port", str(port), "--shows", "7.5 mm", "--accept")
    try:
        talk.wait_for("Press 1 of 3")
        gauge.raw(b"\x00\xf8\x80\x00\xfe\x06\x9e")
        talk.wait_for("At 9600-8N1 that is no text: \\x00\\xf8")
        for number, frame in enumerate((b"+1.2 mm\r\n", b"-0.5 mm\r\n", b"+7.5 mm\r\n"), 1):
            talk.wait_for(f"Press {number} of 3")
            gauge.raw(frame)
        talk.wait_for("Written")
        assert talk.end() == 0
    finally:
        talk.kill()
        gauge.unplug()
    assert "baud = 4800" in (tmp_path / "profiles" / "bore.toml").read_text()


def test_a_gauge_that_does_not_answer_is_exit_2_and_says_what_to_check(call: Call) -> None:
    gauge = PtyGauge()
    try:
        taught = call("teach", "bore", "--port", gauge.port, "--ask", r"R\r", "--accept")
    finally:
        gauge.unplug()
    assert taught.returncode == 2
    assert "No answer came within 2 s. Is the gauge on" in " ".join(taught.stderr.split())


def test_somebody_at_the_terminal_may_ask_a_silent_gauge_again(teach: Teach) -> None:
    gauge = PtyGauge()
    talk = teach("bore", "--port", gauge.port, "--ask", r"R\r")
    try:
        talk.wait_for("Enter asks the gauge")
        talk.type("")
        talk.wait_for("No answer came within 2 s")
        assert os.read(gauge._master, 2) == b"R\r"
        talk.wait_for("Enter asks the gauge")
        talk.type("")
        assert os.read(gauge._master, 2) == b"R\r"
        gauge.raw(b"+1.250 mm\r\n")
        talk.wait_for("1  +1.250 mm")
    finally:
        talk.kill()
        gauge.unplug()


def test_a_gauge_that_never_pauses_is_refused(teach: Teach) -> None:
    gauge = PtyGauge()
    talk = teach("bore", "--port", gauge.port)
    try:
        talk.wait_for("Press 1 of 3")
        for _ in range(9):
            gauge.raw(b"+1.234 mm\r\n" * 50)
        talk.wait_for("sends without a pause")
        assert talk.end() == 2
    finally:
        talk.kill()
        gauge.unplug()
