"""A session run by a Python program, over a real pseudo-terminal: the guide's own example, and what
else a program does.
"""

import os
import re
import threading
import time
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

import daq
from daq.board.board import Board
from daq.errors import LedgerNotWritten, Refused, UsageError
from daq.guide.topics import text_of
from daq.services.live_session import LiveSession
from daq.services.verify import verify
from drivers.errors import PortLost, PortUnavailable
from tests.builders import ONE, at_once

STACK = ("59.970", "59.971")


class Gauge:
    """A gauge with a send button, on a pty."""

    def __init__(self) -> None:
        self._far, near = os.openpty()
        tty.setraw(near)
        self.port = os.ttyname(near)
        self._near = near

    def press(self, *values: str) -> None:
        for value in values:
            os.write(self._far, f"{value} mm\r\n".encode())

    def press_slowly(self, home: Path, *values: str) -> None:
        """From another thread, once the session below `home` is there (what came before the port
        was opened is no reading), each value when the one before has been stored and answered, and
        again where it came before the program was ready.
        """

        def work() -> None:
            stored = ledger_after(b"", home)
            for value in values:
                is_taken = False
                while not is_taken:
                    self.press(value)
                    before, stored = stored, ledger_after(stored, home)
                    is_taken = b"it came before" not in stored[len(before) :]
                    if not is_taken:
                        time.sleep(0.2)  # the profile's repeat window is shorter

        threading.Thread(target=work, daemon=True).start()

    def unplug(self) -> None:
        for fd in (self._far, self._near):
            if fd >= 0:
                os.close(fd)
        self._far = self._near = -1


def ledger_after(before: bytes, home: Path) -> bytes:
    """The ledger below `home` once it is longer and no held reading waits in it."""
    until_s = time.monotonic() + 20.0
    while True:
        found = list(home.glob("sessions/*/ledger.jsonl"))
        now = found[0].read_bytes() if found else b""
        last = now.splitlines()[-1] if now.endswith(b"\n") else b'"kind":"held"'
        if len(now) > len(before) and b'"kind":"held"' not in last:
            return now
        assert time.monotonic() < until_s
        time.sleep(0.005)


@pytest.fixture
def gauge() -> Iterator[Gauge]:
    made = Gauge()
    yield made
    made.unplug()


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "crank.toml"
    path.write_text(at_once(ONE))
    return path


def begun(gauge: Gauge, plan: Path, tmp_path: Path, *, is_attended: bool = True) -> LiveSession:
    return daq.open_session(
        plan,
        port=gauge.port,
        profile="number-unit-crlf",
        home=tmp_path,
        job="4711",
        is_attended=is_attended,
    )


def until(session: LiveSession, done: int) -> None:
    """Wait until so many places are done."""
    while session.board.places_done < done:
        before = session.board
        assert session.wait(10.0) is not before


def test_the_guide_s_example_runs_a_session_from_check_to_tables(
    gauge: Gauge, plan: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = text_of("python")
    (example,) = re.findall(r"```python\n(import daq\n\nwith daq\.open_session.*?)```", text, re.S)
    assert len(example.splitlines()) < 30
    monkeypatch.chdir(plan.parent)
    monkeypatch.setenv("JBRIDGE_HOME", str(tmp_path / "home"))
    gauge.press_slowly(tmp_path / "home", *STACK, "59.980", "61.000", "59.981", *STACK)
    found: dict[str, object] = {}
    exec(example.replace("/dev/ttyUSB0", gauge.port), found)
    session = found["session"]
    assert isinstance(session, LiveSession)
    assert session.verdict == "accepted"
    assert verify(session.folder).is_whole
    assert list(daq.load(session.folder).journals["smallest_mm"]) == [59.9795]  # 59.980 less 0.0005
    assert any("permitted error" in note for note in session.notes)


def test_words_are_said_and_refused_as_at_the_keyboard(
    gauge: Gauge, plan: Path, tmp_path: Path
) -> None:
    with begun(gauge, plan, tmp_path) as session:
        with pytest.raises(Refused, match="not checked yet"):
            session.say("skip no access")
        gauge.press(*STACK, "59.980")
        until(session, 1)
        assert session.say("back").places_done == 0
        assert session.say("skip no access").places_done == 1
        assert session.say("abandon the lamp is out").verdict == "abandoned"
        assert session.is_done
        assert session.wait(5.0) is session.board  # at once: nothing more comes
    assert session.reasons[0] == "abandoned: the lamp is out"
    assert not (session.folder / "readings.csv").exists()


def test_a_session_left_open_is_carried_on(gauge: Gauge, plan: Path, tmp_path: Path) -> None:
    with begun(gauge, plan, tmp_path) as session:
        gauge.press(*STACK, "59.980")
        until(session, 1)
    assert session.verdict == "open"
    with daq.resume_session(session.folder, same_gauge="same mike", home=tmp_path) as again:
        assert again.board.check is not None
        gauge.press(*STACK, "59.981", *STACK)
        boards: list[Board] = []
        assert again.run(boards.append) == "accepted"
    assert boards[-1].verdict == "accepted"
    assert (again.folder / "readings.csv").exists()
    with pytest.raises(Refused, match="is closed"):
        daq.resume_session(again.folder, home=tmp_path)


def test_nobody_attending_drops_what_is_held(gauge: Gauge, plan: Path, tmp_path: Path) -> None:
    with begun(gauge, plan, tmp_path, is_attended=False) as session:
        gauge.press(*STACK, "61.000", "59.980", "59.981", *STACK)
        assert session.run() == "accepted"
    assert daq.load(session.folder).readings["value_text"].tolist() == ["59.980", "59.981"]


def test_what_cannot_be_opened_leaves_no_folder(plan: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="--profile is missing"):
        daq.open_session(plan, port="/dev/ttyS99", home=tmp_path)
    with pytest.raises(PortUnavailable):
        daq.open_session(plan, port="/dev/no-such-port", profile="number-unit-crlf", home=tmp_path)
    assert not (tmp_path / "sessions").exists()


def test_it_runs_in_any_thread_and_leaves_signals_alone(
    gauge: Gauge, plan: Path, tmp_path: Path
) -> None:
    """Signal handlers can be set in the main thread only: a program's own stay as they are."""
    verdicts: list[str] = []

    def work() -> None:
        with begun(gauge, plan, tmp_path) as session:
            verdicts.append(session.run())

    gauge.press_slowly(tmp_path, *STACK, "59.980", "59.981", *STACK)
    thread = threading.Thread(target=work)
    thread.start()
    thread.join(20.0)
    assert verdicts == ["accepted"]


def test_a_session_given_back_takes_nothing_more(gauge: Gauge, plan: Path, tmp_path: Path) -> None:
    session = begun(gauge, plan, tmp_path)
    stored = (session.folder / "ledger.jsonl").read_bytes()
    session.close()
    session.close()
    assert session.is_done
    assert session.run() == "open"  # at once: nothing will ever come
    for misuse in (lambda: session.say("note too late"), session.press):
        with pytest.raises(Refused, match="let go"):
            misuse()
    assert (session.folder / "ledger.jsonl").read_bytes() == stored


def test_a_gauge_that_is_gone_for_good_is_told_at_each_wait(
    gauge: Gauge, plan: Path, tmp_path: Path
) -> None:
    """A bare pseudo-terminal cannot come back, so it is not waited for."""
    with begun(gauge, plan, tmp_path) as session:
        gauge.unplug()
        with pytest.raises(PortLost):
            session.run()
        assert session.board.link.is_lost
        with pytest.raises(PortLost):
            session.wait(60.0)
        session.say("abandon the gauge is gone")  # words are taken all the same
    assert session.verdict == "abandoned"


def test_an_error_of_the_program_s_own_gives_port_and_session_back(
    gauge: Gauge, plan: Path, tmp_path: Path
) -> None:
    with pytest.raises(KeyboardInterrupt), begun(gauge, plan, tmp_path) as session:
        raise KeyboardInterrupt
    with daq.resume_session(session.folder, home=tmp_path) as again:
        assert again.board.status == "waiting"


def test_an_opening_that_fails_holds_neither_port_nor_session(
    gauge: Gauge, plan: Path, tmp_path: Path, mocker: MockerFixture
) -> None:
    kept = mocker.patch(
        "daq.services.opening._keep_plan", side_effect=LedgerNotWritten(tmp_path, "disk full")
    )
    with pytest.raises(LedgerNotWritten):
        begun(gauge, plan, tmp_path)
    kept.side_effect = None
    (folder,) = (tmp_path / "sessions").iterdir()
    with daq.resume_session(folder, home=tmp_path) as again:
        assert again.board.status == "waiting"


def test_the_input_line_of_the_command_is_no_port_of_a_program(plan: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="where a person types"):
        daq.open_session(plan, port="typed:", profile="keyboard-number-enter", home=tmp_path)
    assert not (tmp_path / "sessions").exists()
