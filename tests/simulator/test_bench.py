"""A gauge on its cable: asked and faulty, in fake time and on real terminals and sockets."""

from __future__ import annotations

import os
import select
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from simulator.answering import Manner, answerer_for
from simulator.bench import Bench
from simulator.by_hand import play_by_hand
from simulator.clock import WallClock
from simulator.errors import LinkError
from simulator.example import EXAMPLE
from simulator.faults import Fault
from simulator.formats import FORMATS
from simulator.gauge import Micrometer
from simulator.links import Link, PtyLink, TcpLink
from simulator.player import Player, SendBytes
from simulator.scenario import Played, parse, play

PATIENCE_S = 5.0


class FakeClock:
    """Time that passes only by waiting."""

    def __init__(self) -> None:
        self.time_s = 1000.0

    def now_s(self) -> float:
        return self.time_s

    def sleep_s(self, seconds: float) -> None:
        assert seconds >= 0
        self.time_s += seconds


class FakeLink:
    """A cable in fake time, on which requests come at set times and everything is written down."""

    def __init__(self, clock: FakeClock, requests: dict[float, bytes] | None = None) -> None:
        self.clock = clock
        self.requests = {1000.0 + at_s: data for at_s, data in (requests or {}).items()}
        self.sent: list[tuple[float, bytes]] = []
        self.names: list[Path | None] = []
        self.is_plugged = True
        self.is_stuck = False

    @property
    def port(self) -> str:
        return "fake"

    def send(self, data: bytes) -> bool:
        if self.is_stuck:
            raise LinkError("the reader took nothing")
        if self.is_plugged:
            self.sent.append((round(self.clock.time_s - 1000.0, 6), data))
        return self.is_plugged

    def receive(self, timeout_s: float, wake: int | None = None) -> bytes:
        assert self.is_plugged
        end_s = self.clock.time_s + timeout_s
        due_s = min(self.requests, default=float("inf"))
        if due_s > end_s:
            self.clock.time_s = end_s
            return b""
        self.clock.time_s = max(self.clock.time_s, due_s)
        return self.requests.pop(due_s)

    def unplug(self) -> None:
        self.is_plugged = False

    def replug(self, link_path: Path | None = None) -> None:
        self.is_plugged = True
        self.names.append(link_path)

    def close(self) -> None:
        self.unplug()


class Shop:
    """A bench in fake time."""

    def __init__(
        self,
        name: str = "number-unit-crlf",
        requests: dict[float, bytes] | None = None,
        *,
        manner: Manner | None = None,
        faults: tuple[Fault, ...] = (),
        seed: int = 0,
        link_path: Path | None = None,
    ) -> None:
        self.clock = FakeClock()
        self.link = FakeLink(self.clock, requests)
        self.player = Player(EXAMPLE, Micrometer(), FORMATS[name], manner=manner, faults=faults)
        self.told: list[SendBytes] = []
        self.ports: list[str] = []
        self.bench = Bench(
            self.link,
            self.player,
            self.clock,
            answerer=answerer_for(FORMATS[name], 1, self.player.measured),
            seed=seed,
            link_path=link_path,
            tell=self.told.append,
            plugged_in=self.ports.append,
        )

    def play(self, script: str) -> Played:
        played = play(parse(script), self.player, self.bench, self.bench)
        self.bench.finish()
        return played

    @property
    def sent(self) -> list[tuple[float, bytes]]:
        return self.link.sent


# --- asked ---


def test_it_answers_while_the_script_waits() -> None:
    shop = Shop("ask-number-unit-cr", {1.0: b"?\r", 2.0: b"?\r"}, manner=Manner(delay_s=0.2))
    played = shop.play("stack 50 mm\nwait 1.5\nstack 60 mm\nwait 10")
    assert shop.sent == [(1.2, b"50.000 mm\r"), (2.2, b"60.000 mm\r")]
    assert played == Played(sent=0, lost=0)
    assert [one.about for one in shop.told] == [
        "gauge blocks 50 mm: 50.000 mm",
        "gauge blocks 60 mm: 60.000 mm",
    ]
    assert shop.clock.time_s == pytest.approx(1011.5)


def test_a_late_answer_comes_behind_the_next_step_and_after_the_script() -> None:
    shop = Shop("ask-number-unit-cr", {0.5: b"?\r"})
    shop.play("stack 50 mm\nreply 3000\nwait 1\nraw 2B\nwait 1")
    assert shop.sent == [(1.0, b"+"), (3.5, b"50.000 mm\r")]


def test_manners_change_while_it_plays() -> None:
    shop = Shop("ask-number-unit-cr", {0.5: b"?\r", 1.5: b"?\r", 2.5: b"?\r"})
    shop.play(
        "stack 50 mm\nreply 0\necho on\nwait 1\nanswer off\nwait 1\nanswer on\necho off\nwait 1"
    )
    assert shop.sent == [
        (0.5, b"?\r"),
        (0.5, b"50.000 mm\r"),
        (1.5, b"?\r"),
        (2.5, b"50.000 mm\r"),
    ]


def test_a_gauge_that_cannot_be_asked_only_waits() -> None:
    shop = Shop("number-unit-crlf", {0.5: b"?\r"})
    shop.play("stack 50 mm\nwait 1\npress")
    assert shop.sent == [(1.0, b"+50.000 mm\r\n")]


# --- faults ---


def test_bytes_go_through_the_faults_and_in_their_time() -> None:
    shop = Shop(faults=(Fault("stall", 1.0),), seed=2)
    played = shop.play("stack 50 mm\npress\nwait 2")
    assert b"".join(data for _, data in shop.sent) == b"+50.000 mm\r\n"
    assert [at_s for at_s, _ in shop.sent][-1] == 1.0
    assert played == Played(sent=1, lost=0)


def test_answers_go_through_them_too() -> None:
    shop = Shop("ask-number-unit-cr", {1.0: b"?\r"}, faults=(Fault("split", 1.0),))
    shop.play("stack 50 mm\nwait 2")
    assert [data for _, data in shop.sent] == [bytes([byte]) for byte in b"50.000 mm\r"]


def test_a_later_frame_does_not_overtake_a_stalled_one() -> None:
    shop = Shop(faults=(Fault("stall", 1.0),), seed=2)
    shop.play("stack 50 mm\npress 3")
    assert b"".join(data for _, data in shop.sent) == b"+50.000 mm\r\n" * 3


def test_faults_come_and_go_with_the_script() -> None:
    shop = Shop()
    shop.play("stack 50 mm\npress\nfault split\npress\nfault off\npress")
    assert [len(data) for _, data in shop.sent] == [12, *[1] * 12, 12]


def test_a_frame_held_back_for_the_next_one_comes_at_last() -> None:
    shop = Shop(faults=(Fault("join", 1.0),))
    shop.play("stack 50 mm\npress\nwait 1")
    assert shop.sent == [(0.25, b"+50.000 mm\r\n")]


def test_the_same_seed_is_the_same_session() -> None:
    def session(seed: int) -> list[tuple[float, bytes]]:
        faults = tuple(Fault(name, 0.3) for name in ("drop", "flip", "cut", "return"))
        shop = Shop(faults=faults, seed=seed)
        shop.play("stack 50 mm\npress 30")
        return shop.sent

    assert session(1) == session(1)
    assert session(1) != session(2)


def test_unplugged_within_a_frame_and_back_under_other_names() -> None:
    shop = Shop(faults=(Fault("elsewhere", 1.0),), link_path=Path("/shop/gauge"))
    played = shop.play("stack 50 mm\npress\nwait 2\npress\nwait 2\nunplug\npress\nreplug\nwait 1")
    assert shop.ports == ["/shop/gauge-2", "/shop/gauge-3", "/shop/gauge-3"]
    assert shop.link.names == [Path("/shop/gauge-2"), Path("/shop/gauge-3"), None]
    assert played.lost == 1


def test_pulled_by_the_script_what_was_on_its_way_is_lost() -> None:
    shop = Shop(faults=(Fault("stall", 1.0),), seed=2)
    shop.play("stack 50 mm\npress\nunplug\nwait 3\nreplug\nfault off\npress")
    assert shop.sent[-1] == (4.0, b"+50.000 mm\r\n")
    assert len(b"".join(data for _, data in shop.sent[:-1])) < 12


def test_a_stream_that_nobody_reads_runs_over_and_a_frame_does_not() -> None:
    shop = Shop()
    shop.link.is_stuck = True
    assert shop.play("stack 50 mm\nstream 10\nwait 1\nstream off").lost == 10
    with pytest.raises(LinkError):
        shop.play("press")


# --- on real links, in real time ---


@contextmanager
def playing(link: Link, name: str, script: str, **more: object) -> Iterator[Bench]:
    """A bench that plays in a thread until the block ends."""
    player = Player(EXAMPLE, Micrometer(), FORMATS[name], press_every_s=0)
    answerer = answerer_for(FORMATS[name], 1, player.measured)
    bench = Bench(link, player, WallClock(), answerer=answerer)
    for step in parse(script):
        player.perform(step)
    over = threading.Event()

    def work() -> None:
        while not over.is_set():
            bench.serve(0.02)

    thread = threading.Thread(target=work)
    thread.start()
    try:
        yield bench
    finally:
        over.set()
        thread.join(PATIENCE_S)


def take(descriptor: int, count: int) -> bytes:
    got = b""
    while len(got) < count and select.select([descriptor], [], [], PATIENCE_S)[0]:
        got += os.read(descriptor, count - len(got))
    return got


def test_asked_on_a_terminal() -> None:
    with PtyLink() as link, playing(link, "ask-number-unit-cr", "stack 59.982 mm"):
        reader = os.open(link.port, os.O_RDWR | os.O_NOCTTY)
        try:
            for _ in range(3):
                os.write(reader, b"?\r")
                assert take(reader, 10) == b"59.982 mm\r"
        finally:
            os.close(reader)


def test_asked_on_a_socket() -> None:
    with TcpLink() as link, playing(link, "ask-number-unit-cr", "stack 59.982 mm"):
        host, _, port = link.port.removeprefix("socket://").partition(":")
        for _ in range(2):
            with closing(socket.create_connection((host, int(port)), PATIENCE_S)) as client:
                client.sendall(b"?")
                client.sendall(b"\r?\r")
                assert take(client.fileno(), 20) == b"59.982 mm\r" * 2


def test_modbus_is_understood_by_a_client_that_nobody_here_wrote() -> None:
    from pymodbus.client import ModbusSerialClient

    expected = {
        # 59.982 mm: thousandths 59982 = 0 and EA4E hex; hundredths 5998; as a single 426F ED91 hex
        "modbus-int32": [0x0000, 0xEA4E],
        "modbus-uint32": [0x0000, 0xEA4E],
        "modbus-int16": [5998],
        "modbus-uint16": [5998],
        "modbus-float32": [0x426F, 0xED91],
    }
    for name, registers in expected.items():
        with PtyLink() as link, playing(link, name, "stack 59.982 mm"):
            client = ModbusSerialClient(link.port, baudrate=19200, timeout=PATIENCE_S, retries=0)
            assert client.connect()
            try:
                count = len(registers)
                holding = client.read_holding_registers(0, count=count, device_id=1)
                assert holding.registers == registers
                assert (
                    client.read_input_registers(0, count=count, device_id=1).registers == registers
                )
                beyond = client.read_holding_registers(5, count=1, device_id=1)
                assert (beyond.isError(), beyond.exception_code) == (True, 2)
                coils = client.read_coils(0, count=1, device_id=1)
                assert coils.exception_code == 1
            finally:
                client.close()  # type: ignore[no-untyped-call] # pymodbus has no type there


def test_that_client_reads_a_float_and_a_negative_number() -> None:
    from pymodbus.client import ModbusSerialClient

    for name, kind in (("modbus-float32", "FLOAT32"), ("modbus-int32", "INT32")):
        with PtyLink() as link, playing(link, name, "stack 0.001 mm\nbias -1.5"):
            client = ModbusSerialClient(link.port, baudrate=19200, timeout=PATIENCE_S, retries=0)
            assert client.connect()
            try:
                got = client.read_holding_registers(0, count=2, device_id=1).registers
                value = client.convert_from_registers(got, getattr(client.DATATYPE, kind))
                assert isinstance(value, int | float)
                assert value == pytest.approx(-1.499 if kind == "FLOAT32" else -1499)
            finally:
                client.close()  # type: ignore[no-untyped-call] # pymodbus has no type there


def test_that_client_gets_no_answer_and_then_a_wrong_one() -> None:
    from pymodbus.client import ModbusSerialClient
    from pymodbus.exceptions import ModbusIOException

    for manner in ("answer off", "answer wrong-crc", "answer wrong-unit"):
        script = f"stack 59.982 mm\n{manner}"
        with PtyLink() as link, playing(link, "modbus-int32", script):
            client = ModbusSerialClient(link.port, baudrate=19200, timeout=0.2, retries=0)
            assert client.connect()
            try:
                with pytest.raises(ModbusIOException):
                    client.read_holding_registers(0, count=2, device_id=1)
            finally:
                client.close()  # type: ignore[no-untyped-call] # pymodbus has no type there


def test_lines_typed_while_it_answers_and_streams() -> None:
    near, far = os.pipe()
    complaints: list[str] = []
    with PtyLink() as link:
        player = Player(EXAMPLE, Micrometer(), FORMATS["ask-number-unit-cr"], press_every_s=0)
        answerer = answerer_for(FORMATS["ask-number-unit-cr"], 1, player.measured)
        bench = Bench(link, player, WallClock(), answerer=answerer)
        thread = threading.Thread(
            target=play_by_hand, args=(near, player, bench, complaints.append)
        )
        thread.start()
        reader = os.open(link.port, os.O_RDWR | os.O_NOCTTY)
        try:
            os.write(far, b"\nstack 50 mm\n\nfly away\n")
            assert take(reader, 10) == b"50.000 mm\r"
            os.write(reader, b"?\r")
            assert take(reader, 10) == b"50.000 mm\r"
            os.write(far, b"stack 60 mm\nstream 200\n")
            assert take(reader, 100) == b"60.000 mm\r" * 10
            os.write(far, b"stream off\nstack 70 mm\n")
            os.write(far, b"press")  # without an end of line
            os.close(far)
            thread.join(PATIENCE_S)
            assert not thread.is_alive()
            assert os.read(reader, 4096).endswith(b"70.000 mm\r")
        finally:
            os.close(reader)
            os.close(near)
    assert [line.partition(":")[0] for line in complaints] == ["line 1", "line 4"]


def test_a_waiting_bench_does_not_tick() -> None:
    near, far = os.pipe()
    with PtyLink() as link:
        player = Player(EXAMPLE, Micrometer(), FORMATS["modbus-int32"])
        answerer = answerer_for(FORMATS["modbus-int32"], 1, player.measured)
        bench = Bench(link, player, WallClock(), answerer=answerer)
        began_s = time.thread_time()
        bench.serve(0.3, wake=near)
        assert time.thread_time() - began_s < 0.03
        os.write(far, b"x")
        began_s = time.monotonic()
        bench.serve(PATIENCE_S, wake=near)
        assert time.monotonic() - began_s < PATIENCE_S / 2
    os.close(near)
    os.close(far)
