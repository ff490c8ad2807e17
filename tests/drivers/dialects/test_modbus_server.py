"""The Modbus dialect against pymodbus's own RTU server, over ptys and the real serial port."""

import os
import select
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.ports import open_port
from drivers.profile.file import parse_profile
from drivers.profile.profile import Link
from drivers.reading import Outcome, Reading, plain

PATIENCE_S = 20.0


class Cable:
    """Two ptys joined; `has_echo` gives the program its own bytes back first, as some RS-485
    adapters do.
    """

    def __init__(self) -> None:
        self._server, self._server_end = os.openpty()
        self._program, self._program_end = os.openpty()
        for end in (self._server_end, self._program_end):
            tty.setraw(end)
        self.server_path = os.ttyname(self._server_end)
        self.program_path = os.ttyname(self._program_end)
        self.has_echo = False
        self._stop_read, self._stop_write = os.pipe()
        self._thread = threading.Thread(target=self._pump, daemon=True)
        self._thread.start()

    def _pump(self) -> None:
        while True:
            ready, _, _ = select.select([self._server, self._program, self._stop_read], [], [])
            if self._stop_read in ready:
                return
            for descriptor in ready:
                data = os.read(descriptor, 4096)
                if descriptor == self._server:
                    os.write(self._program, data)
                else:
                    if self.has_echo:
                        os.write(self._program, data)
                    os.write(self._server, data)

    def close(self) -> None:
        os.write(self._stop_write, b"x")
        self._thread.join(PATIENCE_S)
        ends = (self._server, self._server_end, self._program, self._program_end)
        for descriptor in (*ends, self._stop_read, self._stop_write):
            with suppress(OSError):
                os.close(descriptor)


@pytest.fixture(scope="module")
def served() -> Iterator[Cable]:
    """A cable with the server running at its far end."""
    cable = Cable()
    script = str(Path(__file__).with_name("modbus_server.py"))
    with subprocess.Popen(
        [sys.executable, script, cable.server_path],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as server:
        assert server.stdout is not None
        assert server.stderr is not None
        try:
            first = server.stdout.readline().strip()
            assert first == "ready", server.stderr.read()
            yield cable
        finally:
            server.kill()
            server.wait(PATIENCE_S)
            cable.close()


@pytest.fixture(params=[False, True], ids=["no echo", "local echo"])
def cable(served: Cable, request: pytest.FixtureRequest) -> Cable:
    served.has_echo = request.param
    return served


def profile_text(keys: str, unit_id: int = 17) -> str:
    return (
        'schema = 1\nid = "t"\nkind = "modbus-rtu"\n[frame]\nidle_ms = 200\n'
        f'[modbus]\nunit_id = {unit_id}\n{keys}\n[value]\nunit = "mm"\n'
    )


def answer(cable: Cable, keys: str, unit_id: int = 17, presses: int = 1) -> list[Outcome]:
    """The outcomes of so many requests, each waited for."""
    codec = codec_for(parse_profile(profile_text(keys, unit_id), "t"))
    clock = Clock()
    port = open_port(cable.program_path, Link(baud=19200))
    outcomes: list[Outcome] = []
    try:
        for press in range(presses):
            request = codec.request()
            assert request is not None
            port.write(request)
            deadline = time.monotonic() + PATIENCE_S
            while len(outcomes) <= press and time.monotonic() < deadline:
                data = port.read(codec.silence_s or 0.5)
                now = clock.now()
                outcomes += codec.feed(data, now) if data else codec.idle(now)
    finally:
        port.close()
    return outcomes


def told(outcomes: list[Outcome]) -> list[str]:
    return [plain(o.value) if isinstance(o, Reading) else o.code for o in outcomes]


@pytest.mark.parametrize(
    ("keys", "value"),
    [
        ('function = 3\naddress = 0\ncount = 1\ntype = "int16"\ndecimals = 3', "-12.345"),
        ('function = 3\naddress = 1\ncount = 1\ntype = "uint16"', "65535"),
        ('function = 3\naddress = 1\ncount = 1\ntype = "int16"', "-1"),
        (
            'function = 3\naddress = 2\ncount = 2\ntype = "int32"\nwords = "big"\ndecimals = 4',
            "-12.3456",
        ),
        ('function = 3\naddress = 4\ncount = 2\ntype = "uint32"\nwords = "big"', "4000000000"),
        (
            'function = 3\naddress = 6\ncount = 2\ntype = "float32"\nwords = "big"\ndecimals = 3',
            "12.345",
        ),
        (
            'function = 3\naddress = 10\ncount = 2\ntype = "int32"\nwords = "little"\ndecimals = 4',
            "-12.3456",
        ),
        ('function = 3\naddress = 12\ncount = 2\ntype = "uint32"\nwords = "little"', "4000000000"),
        (
            'function = 3\naddress = 14\ncount = 2\ntype = "float32"\nwords = "little"\n'
            "decimals = 3",
            "12.345",
        ),
        (
            'function = 3\naddress = 65534\ncount = 2\ntype = "int32"\nwords = "big"\ndecimals = 4',
            "59.9820",
        ),
        ('function = 4\naddress = 0\ncount = 1\ntype = "int16"', "777"),
        (
            'function = 4\naddress = 2\ncount = 2\ntype = "float32"\nwords = "big"\ndecimals = 3',
            "-0.001",  # the single nearest to -0.0005 lies below it
        ),
        # the request 11 04 04 00 .. begins as its reply 11 04 04 00 .. does
        ('function = 4\naddress = 1024\ncount = 2\ntype = "int32"\nwords = "big"', "8"),
    ],
)
def test_a_number_of_every_type_is_what_the_server_holds(
    cable: Cable, keys: str, value: str
) -> None:
    assert told(answer(cable, keys)) == [value]


INT32 = 'count = 2\ntype = "int32"\nwords = "big"\n'
FLOAT32 = 'count = 2\ntype = "float32"\nwords = "big"\ndecimals = 3\n'


@pytest.mark.parametrize(
    ("keys", "code"),
    [
        ("function = 3\naddress = 200\n" + INT32, "modbus.exception-02"),
        ("function = 4\naddress = 4\n" + INT32, "modbus.exception-02"),
        ("function = 3\naddress = 16\n" + FLOAT32, "gauge.not-a-number"),
        ("function = 3\naddress = 18\n" + FLOAT32, "gauge.not-a-number"),
        (
            "function = 3\naddress = 20\n"
            + INT32
            + 'sentinel_hex = "80000000"\nsentinel_name = "no-signal"',
            "gauge.no-signal",
        ),
    ],
)
def test_what_gives_no_number_is_told_by_its_code(cable: Cable, keys: str, code: str) -> None:
    assert told(answer(cable, keys)) == [code]


def test_each_press_gives_one_reading(cable: Cable) -> None:
    keys = 'function = 3\naddress = 0\ncount = 1\ntype = "int16"'
    assert told(answer(cable, keys, unit_id=1, presses=5)) == ["-12345"] * 5


def test_the_refusal_of_an_absent_unit_is_told_by_its_code(cable: Cable) -> None:
    # this server answers for units that it does not play; a real line would stay silent
    assert told(answer(cable, "function = 3\naddress = 0\n" + INT32, unit_id=9)) == [
        "modbus.exception-04"
    ]
