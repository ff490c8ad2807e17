"""Opening a run: what lies in the folder when it stands."""

import os
from pathlib import Path

import pytest

from daq.plan.plan import parse_plan
from daq.services.opening import Around, NewSession, open_new
from daq.services.run_wanted import Attendance, RunWanted
from tests.builders import ONE


def test_the_copy_of_the_plan_is_synced_and_so_is_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the calls that are made: a cut of power cannot be had here."""
    folder, calls = tmp_path / "session", list[str]()
    sync, replace = os.fsync, os.replace

    def seen_sync(fd: int) -> None:
        calls.append(f"sync {Path(os.readlink(f'/proc/self/fd/{fd}')).name}")
        sync(fd)

    def seen_replace(source: str, target: str) -> None:
        calls.append(f"name {Path(target).name}")
        replace(source, target)

    monkeypatch.setattr(os, "fsync", seen_sync)
    monkeypatch.setattr(os, "replace", seen_replace)
    there = Attendance(has_keyboard=True, is_terminal=False)
    around = Around(tmp_path, there, lambda text: None, lambda trouble: None)
    new = NewSession(plan=parse_plan(ONE, "plan.toml"), plan_name="plan.toml", folder=folder)
    run = open_new(RunWanted(port="loop://", profile="number-unit-crlf"), new, around)
    run.port.close()
    run.manager.close()
    assert (folder / "plan.toml").read_text(encoding="utf-8") == ONE
    part = next(n for n, call in enumerate(calls) if call.startswith("sync .plan.toml."))
    name = calls.index("name plan.toml")
    assert part < name < len(calls) - 1 - calls[::-1].index("sync session")
