"""Network serial against a real server of Debian's: ser2net, over a pseudo-terminal."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import tty
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest

from drivers.errors import PortBusy, PortError, PortLost, PortUnavailable
from drivers.ports import open_port
from drivers.ports.base import Port
from drivers.profile.profile import Link
from tests.places import ROOT

PATIENCE_S = 30.0
LINK = Link()
EVERY_BYTE = bytes(range(256))

pytestmark = pytest.mark.filterwarnings(
    "ignore:set(Daemon|Name).. is deprecated:DeprecationWarning"
)
"""pyserial 3.5 starts the thread of an rfc2217 client in a way that Python calls outdated."""


class Ser2net:
    """The server with one gauge on a pseudo-terminal, on three TCP ports: plain, telnet that takes
    settings, and telnet that does not.
    """

    def __init__(self, folder: Path) -> None:
        self.gauge, self._slave = os.openpty()
        tty.setraw(self._slave)
        device = os.ttyname(self._slave)
        self.plain, self.rfc2217, self.telnet = free_ports(3)
        self._config, self._log = folder / "ser2net.yaml", folder / "ser2net.log"
        self._config.write_text(
            "%YAML 1.1\n---\n"
            + "".join(
                f"connection: &{name}\n"
                f"  accepter: {accepter},tcp,127.0.0.1,{port}\n"
                f"  connector: serialdev,{device},9600n81,local\n"
                for name, accepter, port in (
                    ("telnet", "telnet", self.telnet),
                    ("settable", "telnet(rfc2217)", self.rfc2217),
                )
            )
            + f"connection: &plain\n  accepter: tcp,127.0.0.1,{self.plain}\n"
            f"  connector: serialdev,{device},9600n81,local\n"
        )
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        """Run the server until it answers."""
        program = shutil.which("ser2net") or "/usr/sbin/ser2net"
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                [program, "-n", "-d", "-c", str(self._config)], stdout=log, stderr=log
            )
        deadline = time.monotonic() + PATIENCE_S
        for port in (self.plain, self.rfc2217, self.telnet):
            while True:
                try:
                    socket.create_connection(("127.0.0.1", port), 1.0).close()
                    break
                except OSError:
                    is_running = self._process.poll() is None
                    if not is_running or time.monotonic() > deadline:
                        self.close()
                        raise AssertionError(
                            f"ser2net does not start: {self._log.read_text()}"
                        ) from None
                    time.sleep(0.05)
            time.sleep(0.5)  # it serves one client, and must first notice that this one has gone

    def kill(self) -> None:
        """End the server as a crash would."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()

    def send(self, data: bytes) -> None:
        """Send as the gauge would."""
        os.write(self.gauge, data)

    def close(self) -> None:
        """End all of it."""
        self.kill()
        for descriptor in (self.gauge, self._slave):
            os.close(descriptor)


def free_ports(count: int) -> list[int]:
    """TCP ports that nobody has now."""
    servers = [socket.create_server(("127.0.0.1", 0)) for _ in range(count)]
    ports = [int(server.getsockname()[1]) for server in servers]
    for server in servers:
        server.close()
    return ports


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Ser2net]:
    with closing(Ser2net(tmp_path)) as made:
        yield made


def gathered(port: Port, count: int) -> bytes:
    got = b""
    deadline = time.monotonic() + PATIENCE_S
    while len(got) < count and time.monotonic() < deadline:
        got += port.read(1.0)
    return got


def received(server: Ser2net, count: int) -> bytes:
    got = b""
    while len(got) < count:
        got += os.read(server.gauge, 4096)
    return got


def refused(name: str) -> PortError:
    with pytest.raises(PortError) as caught:
        open_port(name, LINK)
    return caught.value


def test_every_byte_passes_both_ways_on_a_plain_port(server: Ser2net) -> None:
    with closing(open_port(f"socket://127.0.0.1:{server.plain}", LINK)) as port:
        port.write(EVERY_BYTE)
        assert received(server, 256) == EVERY_BYTE
        server.send(EVERY_BYTE)
        assert gathered(port, 256) == EVERY_BYTE
        assert port.notices() == ()


def test_every_byte_passes_both_ways_by_rfc2217_though_the_port_has_no_modem_lines(
    server: Ser2net,
) -> None:
    """A pseudo-terminal has none, so the server never answers for DTR: opened without these."""
    with closing(open_port(f"rfc2217://127.0.0.1:{server.rfc2217}", LINK)) as port:
        assert port.notices() == ("no-modem-lines",)
        port.write(EVERY_BYTE)
        assert received(server, 256) == EVERY_BYTE
        server.send(EVERY_BYTE)
        assert gathered(port, 256) == EVERY_BYTE


def test_a_telnet_port_without_settings_is_named(server: Ser2net) -> None:
    error = refused(f"rfc2217://127.0.0.1:{server.telnet}")
    assert isinstance(error, PortUnavailable)
    assert "takes no settings by RFC 2217" in error.reason


def test_a_plain_port_opened_by_rfc2217_is_named(server: Ser2net) -> None:
    error = refused(f"rfc2217://127.0.0.1:{server.plain}")
    assert isinstance(error, PortUnavailable)
    assert "try socket://" in error.reason


def test_a_second_client_of_a_plain_port_is_told_that_it_is_in_use(server: Ser2net) -> None:
    name = f"socket://127.0.0.1:{server.plain}"
    with (
        closing(open_port(name, LINK)),
        closing(open_port(name, LINK)) as second,
        pytest.raises(PortLost, match="another program is connected"),
    ):
        gathered(second, 1000)


def test_a_second_client_of_an_rfc2217_port_is_told(server: Ser2net) -> None:
    name = f"rfc2217://127.0.0.1:{server.rfc2217}?ign_set_control"
    with closing(open_port(name, LINK)):
        error = refused(name)
    # Whether the server's words come through before it hangs up is a race.
    assert isinstance(error, PortBusy) or "another program is connected" in error.reason, error


@pytest.mark.parametrize("scheme", ["socket", "rfc2217"])
def test_a_server_that_crashes_is_lost_and_found_again(server: Ser2net, scheme: str) -> None:
    name = {
        "socket": f"socket://127.0.0.1:{server.plain}",
        "rfc2217": f"rfc2217://127.0.0.1:{server.rfc2217}?ign_set_control",
    }[scheme]
    with closing(open_port(name, LINK)) as port:
        server.kill()
        with pytest.raises(PortLost, match="Check it"):
            gathered(port, 1)
    assert "refused the connection" in refused(name).reason
    server.start()
    with closing(open_port(name, LINK)) as port:
        server.send(b"1.5\r\n")
        assert gathered(port, 5) == b"1.5\r\n"


def listened(port: str, server: Ser2net, *frames: bytes) -> tuple[list[dict[str, Any]], str]:
    """What `jbridge listen` prints and says for frames that the gauge sends."""
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "daq", "listen", "--json", "--port", port),
            *("--profile", "number-unit-crlf", "--count", str(len(frames))),
        ],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    said = process.stderr.readline()  # that it listens
    for frame in frames:
        server.send(frame)
        time.sleep(0.2)
    with suppress(subprocess.TimeoutExpired):
        out, more = process.communicate(timeout=PATIENCE_S)
        return [json.loads(line) for line in out.splitlines()], said + more
    process.kill()
    out, more = process.communicate()
    raise AssertionError(f"listen does not end: {out} {said} {more}")


def test_listen_reads_a_gauge_behind_a_plain_port(server: Ser2net) -> None:
    rows, _ = listened(f"socket://127.0.0.1:{server.plain}", server, b"+59.980 mm\r\n")
    assert rows[0]["value"] == "59.980"


def test_listen_reads_a_gauge_by_rfc2217(server: Ser2net) -> None:
    rows, _ = listened(f"rfc2217://127.0.0.1:{server.rfc2217}", server, b"+59.980 mm\r\n")
    assert rows[0]["value"] == "59.980"


@pytest.mark.parametrize("kind", ["rfc2217", "telnet"])
def test_a_telnet_port_opened_as_plain_tcp_is_recognised(server: Ser2net, kind: str) -> None:
    rows, said = listened(
        f"socket://127.0.0.1:{getattr(server, kind)}", server, b"+59.980 mm\r\n", b"+59.981 mm\r\n"
    )
    assert rows[0]["raw_hex"].startswith("fffb")
    assert "Open it as rfc2217:// instead of socket://" in said
