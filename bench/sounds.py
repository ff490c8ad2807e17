"""A tone asked for by a step, until its player runs: against starting the same program alone.

The player is a program that writes one byte into a pipe as it starts. Ours goes from the call that
shows a step through the queue and the thread to that byte; the limit is `subprocess.Popen` of the
same program with the same file, called where the byte is waited for.
"""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter_ns, sleep

from msgspec.structs import replace

from bench.ratio import Row, interleaved, timed_row
from daq.board.board import Asked, Board, LinkShown
from daq.board.cue import KEPT
from daq.sounds.listening import SoundShow
from daq.sounds.tones import length_s

BOUND = 2.0
"""Chosen by us: beside the process itself, which is most of it, a thread to wake and a session of
its own to begin."""

REPEATS = 5
"""So many tones in a round, of which the median counts."""

_BOARD = Board(
    step=1,
    made_at="",
    session="s",
    job="",
    part="",
    operator="",
    status="measuring",
    asked=Asked("M1  front  0°", "press send"),
    link=LinkShown("mic", "usb-1", "/dev/ttyUSB0"),
    cue=KEPT,
)


@contextmanager
def _only_program(folder: Path, pipe: Path) -> Iterator[str]:
    """A player that is the only program on the path; its name."""
    programs = folder / "programs"
    programs.mkdir()
    player = programs / "aplay"
    player.write_text(f"#!/bin/sh\nprintf x > {pipe}\n", encoding="utf-8")
    player.chmod(0o755)
    path = os.environ["PATH"]
    os.environ["PATH"] = str(programs)
    try:
        yield str(player)
    finally:
        os.environ["PATH"] = path


def measure(folder: Path, rounds: int) -> list[Row]:
    """Wall times over `rounds`; the program lies in `folder`."""
    pipe_name = folder / "pipe"
    os.mkfifo(pipe_name)
    pipe = os.open(pipe_name, os.O_RDWR)
    with _only_program(folder, pipe_name) as player:
        show = SoundShow(with_sound=True, with_speech=False, tell=_stop)
        file = str(pipe_name)  # any name: it is not read

        def ours() -> float:
            times = []
            for number in range(REPEATS):
                board = replace(_BOARD, step=number)
                start = perf_counter_ns()
                show.step(board, None)
                os.read(pipe, 1)
                times.append((perf_counter_ns() - start) / 1e6)
                sleep(length_s(KEPT))  # as long as a player would be busy; both begin from rest
            return median(times)

        def bare() -> float:
            times = []
            for _ in range(REPEATS):
                start = perf_counter_ns()
                process = subprocess.Popen(
                    [player, "-q", file],
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                )
                os.read(pipe, 1)
                times.append((perf_counter_ns() - start) / 1e6)
                process.wait()
                sleep(length_s(KEPT))
            return median(times)

        try:
            ours()  # the first waits for the tones to be made
            times = interleaved({"ours": ours, "bare": bare}, rounds)
        finally:
            show.end()
            os.close(pipe)
    goal = "a tone's player running after the step / `subprocess.Popen` of it"
    return [timed_row(goal, BOUND, times["ours"], times["bare"], "ms")]


def _stop(text: str) -> None:
    raise RuntimeError(text)
