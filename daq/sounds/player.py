"""Cues and texts played by a program of the machine, in a thread of its own: never waited for.

Each is a process of its own, in a process group of its own, so that Ctrl-C at the keyboard does not
reach it; at the end nothing of it is left.
"""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial

from daq.sounds.programs import Way
from daq.sounds.waiting import Sounding, with_one_more

MOST_WAITING = 2
"""So many wait behind what is played. Chosen by us: more would be heard too late to be of use."""

_REAP_S = 1.0
"""So long a killed program is waited for."""


class Player:
    """Plays what is `put`, one after the other, by the first of `ways` that works.

    `sendable` makes of what was put what a program is given, raising OSError where it cannot. It
    runs in the thread; beforehand for each of `known` in order, as long as nothing waits. A program
    that runs longer than `longest_s` is killed and not used again; each that fails is told once by
    `tell`, from the thread. Where none works `otherwise` is called with the sounding, and `instead`
    tells of that in words. `cuts`: a sounding that is no less urgent ends what is played.
    """

    def __init__(
        self,
        ways: Sequence[Way],
        tell: Callable[[str], None],
        *,
        sendable: Callable[[str], str],
        known: Sequence[str] = (),
        otherwise: Callable[[Sounding], None],
        instead: str,
        longest_s: float,
        cuts: bool = False,
    ) -> None:
        self._ways = list(ways)
        self._tell = tell
        self._sendable = sendable
        self._known = known
        self._otherwise = otherwise
        self._instead = instead
        self._longest_s = longest_s
        self._cuts = cuts
        self._told: set[str] = set()
        self._waiting: tuple[Sounding, ...] = ()
        self._now: tuple[Sounding, Way, subprocess.Popen[bytes]] | None = None
        self._is_cut = False
        self._is_ending = False
        self._is_over = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="sounds", daemon=True)
        self._thread.start()

    def put(self, sounding: Sounding) -> None:
        """Play this when its time has come; returns at once."""
        with self._changed:
            if self._is_ending:
                return
            self._waiting = with_one_more(self._waiting, sounding, MOST_WAITING)
            now = self._now
            if self._cuts and now and now[1].is_cut and sounding.urgency >= now[0].urgency:
                self._cut_short()
            self._changed.notify()

    def end(self, patience_s: float) -> None:
        """Play what waits, for so many seconds at most; then nothing of it runs any more."""
        with self._changed:
            self._is_ending = True
            self._changed.notify()
        try:
            self._thread.join(patience_s)
        finally:  # also where an interrupt came: who asks twice does not want to listen
            with self._changed:
                self._is_over, self._waiting = True, ()
                self._cut_short()
                self._changed.notify()
            self._thread.join(_REAP_S)

    def _cut_short(self) -> None:
        """End what is played, if anything is; the lock is held."""
        if self._now is not None:
            self._is_cut = True
            _kill(self._now[2])

    def _run(self) -> None:
        known = list(self._known)
        while True:
            while known and not self._waiting and not self._is_ending:
                with suppress(OSError):  # told when it is wanted
                    self._sendable(known.pop(0))
            sounding = self._next()
            if sounding is None:
                return
            self._play(sounding)

    def _next(self) -> Sounding | None:
        """The sounding whose time has come; None at the end."""
        with self._changed:
            while True:
                self._changed.wait_for(lambda: bool(self._waiting) or self._is_ending)
                if not self._waiting:
                    return None
                sounding, self._waiting = self._waiting[0], self._waiting[1:]
                is_overtaken = partial(self._is_overtaken, sounding)
                if not self._changed.wait_for(is_overtaken, sounding.after_s):
                    return sounding

    def _is_overtaken(self, sounding: Sounding) -> bool:
        """What came meanwhile would cut it short at once; the lock is held."""
        return self._is_over or (
            self._cuts and any(other.urgency >= sounding.urgency for other in self._waiting)
        )

    def _play(self, sounding: Sounding) -> None:
        for way in tuple(self._ways):
            failure = self._by(way, sounding)
            if not failure:
                return
            self._failed(way, failure)
        self._otherwise(sounding)

    def _by(self, way: Way, sounding: Sounding) -> str:
        """Play it this way; how that failed, empty if it did not."""
        try:
            what = self._sendable(sounding.what)
            if way.here is not None:
                way.here(what)
                return ""
            process = _started(way, what)
        except (OSError, RuntimeError) as error:
            trouble = getattr(error, "strerror", None) or error
            return f"cannot be started ({trouble})"
        with self._changed:
            self._now, self._is_cut = (sounding, way, process), False
            if self._is_over or (way.is_cut and self._is_overtaken(sounding)):
                self._cut_short()  # what came while it was started
        try:
            process.wait(self._longest_s)
        except subprocess.TimeoutExpired:
            self._ways.remove(way)
            _kill(process)
            process.wait()
            return f"did not end within {self._longest_s:g} s"
        finally:
            with self._changed:
                self._now = None
        exit_code = process.returncode
        return f"ended with code {exit_code}" if exit_code and not self._is_cut else ""

    def _failed(self, way: Way, failure: str) -> None:
        """Tell of it, the first time; from then on the others come before it."""
        if way.name in self._told:
            return
        self._told.add(way.name)
        self._ways.sort(key=lambda other: other.name in self._told)
        others = [other.name for other in self._ways if other.name not in self._told]
        instead = f"{others[0]} is used" if others else self._instead
        self._tell(f"The program {way.name} {failure}, so {instead}.")


def _started(way: Way, what: str) -> subprocess.Popen[bytes]:
    """The program, running; raises OSError."""
    process = subprocess.Popen(
        way.command(what),
        stdin=subprocess.PIPE if way.is_by_stdin else subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    if process.stdin is not None:
        with suppress(BrokenPipeError):  # it has ended, and its code says how
            # Less than a pipe holds, so never waited for.
            process.stdin.write(what.encode("utf-8", "replace"))
            process.stdin.close()
    return process


def _kill(process: subprocess.Popen[bytes]) -> None:
    """Kill a program with all that it started, if it still runs."""
    if sys.platform == "win32":
        process.kill()
    elif process.poll() is None:
        with suppress(ProcessLookupError):  # it has just ended
            os.killpg(process.pid, signal.SIGKILL)
