"""Sessions made in-process with fabricated readings and a clock that stands still: no waiting."""

import hashlib
from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path

import msgspec

from daq.acquisition.manager import SessionManager, Step
from daq.board.board import Board
from daq.board.of_session import first_shown, next_shown
from daq.export.tables import Table, tables
from daq.record.events import (
    FORMAT,
    RULES,
    CheckJudged,
    Entry,
    GaugeSource,
    Opened,
    Setup,
    Temperatures,
)
from daq.record.state import State
from daq.rules.commands import (
    Command,
    StopHere,
    TakeReading,
)
from daq.storage.ledger import scan
from drivers.reading import Instant, Reading, Reject, utc_micros

START_US = utc_micros("2026-11-25T08:00:00.000000Z")
SECOND_US = 1_000_000
MINUTE_US = 60 * SECOND_US

PLAN = """\
schema = 1
part = "crankshaft of the pump engine"

[check]
stack = "59.970 mm"
readings = 2
max_age_min = 60

[[group]]
name = "mains"

[[group]]
name = "rods"
stack = "50.780 mm"

[defaults]
stations = ["front", "rear"]
angles_deg = [0, 90]

[[journal]]
name = "M1"
group = "mains"
low = ["59.970 mm", "2.3610 in"]
high = "59.990 mm"
out_of_round = "0.005 mm"
taper = "0.005 mm"

[[journal]]
name = "R1"
group = "rods"
low = "50.780 mm"
high = "50.800 mm"
stations = ["middle"]
"""
"""Two journals on two stacks, four places and two. The check limits are derived: a tenth of
0.020 mm is 0.002 mm."""

ONE = """\
schema = 1
part = "crankshaft"

[check]
stack = "59.970 mm"
readings = 2
max_error = "0.002 mm"
max_spread = "0.002 mm"
max_drift = "0.002 mm"

[defaults]
stations = ["front"]
angles_deg = [0, 90]

[[journal]]
name = "M1"
low = "59.970 mm"
high = "59.990 mm"
"""
"""One journal, one stack, two places."""


def at_once(plan: str) -> str:
    """A plan for readings that come quicker than any hand."""
    for table in ("[check]\n", "[defaults]\n"):
        assert table in plan
        plan = plan.replace(table, f'{table}least_interval = "0 s"\n')
    return plan


PROFILE = 'schema = 1\nid = "bench"\nkind = "text"\n'
"""Recorded as it is; nothing in these sessions decodes frames."""

SESSION = "20261125T080000Z-test"


def source(device: str = "usb-1", gauge: str = "mic-50-75") -> GaugeSource:
    """A gauge on a port."""
    return GaugeSource(gauge=gauge, device=device, serial="A1", port="/dev/ttyUSB0")


def setup(
    device: str = "usb-1",
    *,
    gauge: str = "mic-50-75",
    gauge_file: str | None = None,
    only: tuple[str, ...] = (),
    temperatures: Temperatures | None = None,
) -> Setup:
    """What a run measures with."""
    return Setup(
        source=source(device, gauge),
        profile=PROFILE,
        gauge_file=gauge_file,
        only=only,
        stack=None,
        saved_stacks={},
        temperatures=temperatures or Temperatures(),
        local_offset="+01:00",
    )


def opened(
    plan: str = PLAN,
    *,
    job: str = "4711",
    part: str = "No. 2",
    operator: str = "Ada",
    with_setup: Setup | None = None,
    rules: int = RULES,
    format: int = FORMAT,
) -> Opened:
    """A first line."""
    return Opened(
        format=format,
        program="0.1.0",
        rules=rules,
        session=SESSION,
        job=job,
        part=part,
        operator=operator,
        plan_name="crank.toml",
        plan=plan,
        setup=with_setup or setup(),
    )


def reading(
    value: str,
    at_us: int = START_US,
    *,
    unit: str = "mm",
    resolution: str = "0.001",
    channel: str | None = None,
    flags: tuple[str, ...] = (),
    raw: bytes | None = None,
) -> Reading:
    """A number from the gauge; `raw` defaults to the value and its unit as text."""
    return Reading(
        value=Decimal(value),
        unit=unit,
        resolution=Decimal(resolution),
        raw=f"{value} {unit}".encode() if raw is None else raw,
        at=Instant(at_us, at_us * 1000),
        channel=channel,
        flags=flags,
    )


def reject(raw: bytes, mono_s: float = 0.0, code: str = "syntax") -> Reject:
    """Bytes that gave no reading, at `mono_s` seconds of the monotonic clock."""
    at = Instant(START_US + round(mono_s * 1e6), round(mono_s * 1e9))
    return Reject(code, "not a number", raw, at)


def tables_of(bench: "Bench") -> tuple[Table, ...]:
    """The tables of a session as it stands, by its ledger on the disk."""
    found = scan(bench.folder)
    return tables(bench.state, found.entries, found.chain)


class Bench:
    """A session under hand: every press comes a second after what was before."""

    def __init__(self, manager: SessionManager, first: Step, now_us: int) -> None:
        self.manager = manager
        self.steps = [first]
        self.now_us = now_us

    @classmethod
    def new(cls, folder: Path, first: Opened | None = None, now_us: int = START_US) -> "Bench":
        """A new session in `folder`."""
        manager, step = SessionManager.create(folder, first or opened(), now_us)
        return cls(manager, step, now_us)

    @classmethod
    def again(
        cls,
        folder: Path,
        now_us: int,
        with_setup: Setup | None = None,
        same_gauge: str | None = None,
    ) -> "Bench":
        """An open session carried on."""
        manager, step = SessionManager.resume(folder, with_setup or setup(), now_us, same_gauge)
        return cls(manager, step, now_us)

    @property
    def folder(self) -> Path:
        """Where the session lies."""
        return self.manager.folder

    @property
    def state(self) -> State:
        """The live state."""
        return self.manager.state

    def say(self, command: Command, after_us: int = SECOND_US) -> Step:
        """Submit a command, `after_us` after the last one."""
        self.now_us += after_us
        step = self.manager.submit(command, self.now_us)
        self.steps.append(step)
        return step

    def press(
        self,
        *values: str,
        unit: str = "mm",
        resolution: str = "0.001",
        channel: str | None = None,
        flags: tuple[str, ...] = (),
    ) -> "Bench":
        """Press send once for each value."""
        for value in values:
            at_us = self.now_us + SECOND_US
            self.say(
                TakeReading(
                    reading(
                        value,
                        at_us,
                        unit=unit,
                        resolution=resolution,
                        channel=channel,
                        flags=flags,
                    )
                )
            )
        return self

    @property
    def board(self) -> Board:
        """How things stand now, as if a run had just begun."""
        return first_shown(self.state, self.now_us).board

    def board_after(self, command: Command) -> tuple[Board, Step]:
        """The board once a command is taken, with its news, and what it stored."""
        last = first_shown(self.state, self.now_us)
        step = self.say(command)
        return next_shown(last, step.entries, self.state, self.now_us).board, step

    def kinds(self) -> list[str]:
        """The kinds of all lines so far, in order."""
        return [kind_of(entry) for step in self.steps for entry in step.entries]

    def close(self) -> "Bench":
        """Give the session back."""
        self.manager.close()
        return self


def kind_of(entry: Entry) -> str:
    """The word that the line of an entry carries as its kind."""
    tag = type(entry.event).__struct_config__.tag
    assert isinstance(tag, str)
    return tag


MAINS = ("59.980", "59.981", "59.979", "59.982")
RODS = ("50.790", "50.791")


def accepted(folder: Path, first: Opened | None = None) -> Bench:
    """A whole session of PLAN, closed as accepted; its ledger is given back."""
    bench = Bench.new(folder, first)
    bench.press("59.970", "59.971", *MAINS, "59.970", "59.970")
    bench.press("50.780", "50.781", *RODS, "50.780", "50.780")
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    return bench.close()


def rejected(folder: Path, first: Opened | None = None) -> Bench:
    """A session of PLAN that was stopped, whose closing check failed: 59.975 - 59.970 = 0.005."""
    bench = Bench.new(folder, first)
    bench.press("59.970", "59.971", *MAINS[:2])
    bench.say(StopHere("the shift ends"))
    bench.press("59.975", "59.975")
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "rejected"
    return bench.close()


def still_open(folder: Path, first: Opened | None = None) -> Bench:
    """A session of PLAN with three readings of the part, its ledger given back."""
    return Bench.new(folder, first).press("59.970", "59.971", *MAINS[:3]).close()


def resealed(bodies: Iterable[bytes]) -> bytes:
    """A ledger with a right chain over any bodies, as a forger would write it."""
    previous, out = "0" * 64, b""
    for body in bodies:
        previous = hashlib.sha256(previous.encode() + body).hexdigest()
        out += body + b',"chain":"' + previous.encode() + b'"}\n'
    return out


def bodies_of(ledger: bytes) -> list[bytes]:
    """The bodies of a ledger's lines: all before `,"chain":"` + 64 digits + `"}`."""
    return [line[: -(10 + 64 + 2)] for line in ledger.splitlines()]


def forge(folder: Path, old: bytes, new: bytes, line: int | None = None) -> None:
    """Change `old` to `new` in a ledger (or one line of it, from 1) and seal it again."""
    path = folder / "ledger.jsonl"
    bodies = bodies_of(path.read_bytes())
    places = [n for n, body in enumerate(bodies, 1) if old in body and line in (None, n)]
    assert places, f"no line holds {old!r}"
    for number in places:
        bodies[number - 1] = bodies[number - 1].replace(old, new)
    path.write_bytes(resealed(bodies))


def decoded(lines: Sequence[bytes]) -> list[dict[str, object]]:
    """Ledger lines as plain JSON objects."""
    return [msgspec.json.decode(line, type=dict[str, object]) for line in lines]


def judged(phase: str, *, passed: bool, check_no: int = 2) -> CheckJudged:
    """A check of the first stint as it was judged; while measuring a failed one ends the stint."""
    return CheckJudged(
        stint=1,
        check_no=check_no,
        phase=phase,
        stack_size_mm="59.970",
        readings=2,
        mean_error_mm="0.00000",
        spread_mm="0.000",
        drift_mm="",
        max_error_mm="0.002",
        max_spread_mm="0.002",
        max_drift_mm="0.002",
        passed=passed,
        reason="",
    )
