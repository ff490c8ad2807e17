"""The way of one reading as DEVELOPERS.md tells it, against a reading under a profile hook: bytes
on a pseudo-terminal in, one line drawn on a screen, tables written.
"""

import os
import re
import sys
import threading
import tty
from pathlib import Path
from types import FrameType
from typing import Any

from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.acquisition.sources import Sources
from daq.cli.displays import LiveShow
from daq.plan.plan import parse_plan
from daq.services.finish import write_tables
from daq.services.opening import Around, NewSession, OpenRun, given_back, open_new
from daq.services.run_wanted import Attendance, RunWanted
from tests.builders import ONE, at_once
from tests.house.guide import named, part
from tests.places import ROOT

Call = tuple[str, str]
"""A file and a function in it."""

VALUES = ("59.970", "59.971", "59.980", "59.981", "59.970", "59.971")
FOLLOWED = 3
"""Of these, the one whose way is told: the last place of the part, its stint begun long ago."""

WAITING: set[Call] = {
    ("drivers/ports/serial_port.py", "SerialPort.read"),
    ("drivers/gauge/reader.py", "GaugeReader._loop"),
}
"""Where the gauge's thread stands before its bytes come: called before they do."""


class Watch:
    """A profile hook: every function of the product that was called, and those of one reading."""

    def __init__(self) -> None:
        self.ever: set[Call] = set()
        self.way: list[Call] = []
        self.is_followed = False

    def __call__(self, frame: FrameType, event: str, argument: Any) -> None:
        file = frame.f_code.co_filename
        if event != "call" or not file.startswith(f"{ROOT}/"):
            return
        call = Path(file).relative_to(ROOT).as_posix(), frame.f_code.co_qualname
        self.ever.add(call)
        if self.is_followed and call not in self.way:
            self.way.append(call)


def opened_on(port: str, home: Path) -> OpenRun:
    """A session of one journal with the gauge on that port."""
    return open_new(
        RunWanted(port=port, profile="number-unit-crlf"),
        NewSession(plan=parse_plan(at_once(ONE), "the plan"), plan_name="crank.toml"),
        Around(home, Attendance(True, False), lambda words: None, lambda trouble: None),
    )


def followed(home: Path) -> Watch:
    """What a session called, and the way of one reading through it."""
    far, near = os.openpty()
    tty.setraw(near)
    run = opened_on(os.ttyname(near), home)
    show, watch, profile = LiveShow(), Watch(), run.chosen.profile
    inputs = Sources(run.port, profile, run.clock, None, run.mode, with_signals=False)
    owner = SessionRun(run.manager, run.first, run.clock, show, is_attended=True)
    loop = RunLoop(inputs, owner, run.clock, run.mode, profile.kind)
    before = sys.getprofile()
    threading.setprofile(watch)
    sys.setprofile(watch)
    try:
        with given_back(run, lambda words: None), inputs.listening():
            owner.begin()
            for number, value in enumerate(VALUES):
                watch.is_followed = number == FOLLOWED
                os.write(far, f"{value} mm\r\n".encode())
                last = owner.board
                while owner.board is last:
                    loop.step(20.0)
            watch.is_followed = True
            write_tables(run.manager)
    finally:
        sys.setprofile(before)
        threading.setprofile(None)
        show.end()
        os.close(far)
        os.close(near)
    return watch


def test_one_reading_goes_the_way_that_the_guide_tells(tmp_path: Path) -> None:
    watch = followed(tmp_path)
    steps = re.split(r"^\d+\. ", part("The way of one reading"), flags=re.MULTILINE)[1:]
    told = [call for step in steps for call in named(step)]
    assert len(steps) == 12
    assert len(told) > 30
    assert [call for call in told if call not in watch.ever] == []
    ordered = [call for call in told if call not in WAITING]
    assert ordered == sorted(ordered, key=watch.way.index)
    assert (tmp_path / "sessions").exists()
