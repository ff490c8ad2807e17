"""The cable pulled in the middle of a session, and plugged in again: nothing is lost."""

import json
import socket as net
from pathlib import Path
from typing import Any

import pytest

from tests.system.conftest import PATIENCE_S, PLAN, Program, PtyGauge, Shop

GOOD = ("59.980 mm", "59.981 mm", "59.979 mm", "59.980 mm")
KEEPS_ZERO = PLAN.replace("[check]\n", "[check]\npower_loss_may_lose_zero = false\n")


class Socket:
    """A name that stays the same whichever pseudo-terminal is behind it, as a udev link does."""

    def __init__(self, shop: Shop, folder: Path) -> None:
        self.shop = shop
        self.port = str(folder / "gauge")
        self.plug()

    def plug(self) -> None:
        """A gauge on a new pseudo-terminal."""
        self.shop.gauge = PtyGauge()
        Path(self.port).symlink_to(self.shop.gauge.port)

    def pull(self) -> None:
        """Unplug: the name goes with the gauge."""
        Path(self.port).unlink()
        self.shop.gauge.unplug()

    def measure(self, *more: str, **options: Any) -> Program:
        """`measure` on this socket, until the first stint waits."""
        program = self.shop.run(
            "measure",
            str(self.shop.plan),
            *("--port", self.port, "--profile", str(self.shop.profile)),
            *("--session", str(self.shop.session), *more),
            **options,
        )
        program.wait_for("stint")
        return program


@pytest.fixture
def socket(shop: Shop, tmp_path: Path) -> Socket:
    return Socket(shop, tmp_path)


def ledger(shop: Shop) -> list[dict[str, Any]]:
    lines = (shop.session / "ledger.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def test_the_session_waits_and_a_new_stint_measures_what_was_not_proven(
    shop: Shop, socket: Socket
) -> None:
    program = socket.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    socket.pull()
    lost = program.wait_for("link_lost")
    assert "unplugged or switched off" in lost["reason"]
    socket.plug()
    program.wait_for("link_back")
    stint = program.wait_for("stint", stint=2, cause="power-loss")
    assert "lost its zero" in stint["why"]
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    voids = [line for line in ledger(shop) if line["kind"] == "void"]
    assert [line["why"] for line in voids] == ["measured again after a new check"] * 2
    assert "> Waiting for gauge" in "\n".join(program.talk)


def test_what_a_check_had_proven_before_stays_proven(shop: Shop, socket: Socket) -> None:
    program = socket.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    program.type("check")
    program.wait_for("note", about="check")
    shop.check(program)
    shop.press(program, GOOD[2])
    socket.pull()
    program.wait_for("link_lost")
    socket.plug()
    program.wait_for("stint", cause="power-loss")
    shop.check(program)
    shop.press(program, *GOOD[2:])
    shop.check(program)
    assert program.end() == 0
    assert sum(line["kind"] == "reading" for line in ledger(shop)) == 5


def test_a_gauge_that_keeps_its_zero_is_only_checked(shop: Shop, socket: Socket) -> None:
    shop.plan.write_text(KEEPS_ZERO)
    program = socket.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    socket.pull()
    program.wait_for("link_lost")
    socket.plug()
    program.wait_for("link_back")
    assert shop.check(program)["phase"] == "during"
    shop.press(program, *GOOD[2:])
    shop.check(program)
    assert program.end() == 0
    assert [line["kind"] for line in ledger(shop)].count("stint") == 1


def test_a_check_cut_short_begins_afresh(shop: Shop, socket: Socket) -> None:
    program = socket.measure()
    shop.gauge.send("59.970 mm")
    program.wait_for("check_reading")
    socket.pull()
    program.wait_for("link_lost")
    socket.plug()
    program.wait_for("link_back")
    assert shop.check(program)["readings"] == 2
    assert [line["kind"] for line in ledger(shop)].count("check_reading") == 3


def test_a_held_reading_is_dropped_by_the_loss(shop: Shop, socket: Socket) -> None:
    program = socket.measure()
    shop.check(program)
    shop.gauge.send("61.000 mm")
    program.wait_for("held")
    socket.pull()
    program.wait_for("link_lost")
    socket.plug()
    assert "cable" in program.wait_for("dropped")["why"]
    program.wait_for("stint", cause="power-loss")


def test_without_a_terminal_the_waiting_ends_with_3_and_resume_carries_on(
    shop: Shop, socket: Socket
) -> None:
    program = socket.measure("--wait-back", "0.3", has_keyboard=False)
    shop.check(program)
    shop.press(program, *GOOD[:2])
    socket.pull()
    program.wait_for("link_lost")
    assert program.end() == 3
    socket.plug()
    again = shop.resume()
    again.wait_for("stint", cause="power-loss")
    shop.check(again)
    shop.press(again, *GOOD)
    shop.check(again)
    assert again.end() == 0


def test_words_are_taken_while_it_waits(shop: Shop, socket: Socket) -> None:
    program = socket.measure()
    shop.check(program)
    socket.pull()
    program.wait_for("link_lost")
    program.type("note the cable is broken")
    program.wait_for("note", text="the cable is broken")
    program.type("abandon no other cable here")
    assert program.wait_for("closed")["verdict"] == "abandoned"
    assert program.end() == 1


def test_ctrl_c_while_it_waits_leaves_the_session_open(shop: Shop, socket: Socket) -> None:
    program = socket.measure()
    shop.check(program)
    socket.pull()
    program.wait_for("link_lost")
    program.interrupt()
    assert program.end() == 130
    assert shop.run("verify", str(shop.session)).end() == 0


def test_pulled_and_plugged_three_times(shop: Shop, socket: Socket) -> None:
    program = socket.measure()
    for stint in (1, 2, 3):
        shop.check(program)
        shop.press(program, GOOD[0])
        socket.pull()
        program.wait_for("link_lost")
        socket.plug()
        program.wait_for("stint", stint=stint + 1)
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    assert shop.run("verify", str(shop.session)).end() == 0


def test_a_bare_pseudo_terminal_is_not_waited_for(shop: Shop) -> None:
    """Its number belongs to whichever program opens one next: a shell, perhaps."""
    program = shop.measure()
    shop.gauge.unplug()
    assert program.end() == 3


class Server:
    """A serial-to-network converter that can be switched off and on again."""

    def __init__(self) -> None:
        self.listen(0)

    def listen(self, number: int) -> None:
        self._listener = net.create_server(("127.0.0.1", number))
        self.number = self._listener.getsockname()[1]

    def accept(self) -> None:
        self._listener.settimeout(PATIENCE_S)
        self._client, _ = self._listener.accept()

    def send(self, text: str) -> None:
        self._client.sendall(text.encode() + b"\r\n")

    def off(self) -> None:
        self._listener.close()
        self._client.close()


def test_a_network_gauge_is_found_again_when_its_server_is_back(shop: Shop) -> None:
    server = Server()
    program = shop.run(
        *("measure", str(shop.plan), "--port", f"socket://127.0.0.1:{server.number}"),
        *("--profile", str(shop.profile), "--session", str(shop.session)),
    )
    server.accept()
    program.wait_for("stint")  # what comes before is no reading
    for _ in range(2):
        server.send("59.970 mm")
    program.wait_for("check_judged", passed=True)
    server.off()
    assert "closed the connection" in program.wait_for("link_lost")["reason"]
    server.listen(server.number)
    server.accept()
    program.wait_for("stint", cause="power-loss")
    for text in ("59.970 mm",) * 2 + GOOD + ("59.970 mm",) * 2:
        server.send(text)
    assert program.end() == 0
    server.off()
