"""A serial gauge of another machine: Debian's ser2net over a real port with modem lines."""

import os
import socket
import subprocess
import termios
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from drivers.ports import open_port
from drivers.profile.profile import Link
from simulator.gadgets import SerialGadget
from tests.system.kernel.conftest import Plugging, wait_until
from tests.system.kernel.test_reading import gathered

pytestmark = pytest.mark.filterwarnings(
    "ignore:set(Daemon|Name).. is deprecated:DeprecationWarning"
)
"""pyserial 3.5 starts the thread of an rfc2217 client in a way that Python calls outdated."""

SERVERS = {"socket": ("tcp", 7001), "rfc2217": ("telnet(rfc2217),tcp", 7002)}
CONFIG = "%YAML 1.1\n---\n" + "".join(
    f"connection: &{name}\n"
    f"  accepter: {accepter},127.0.0.1,{port}\n"
    "  connector: serialdev,/dev/ttyACM0,9600n81,local\n"
    for name, (accepter, port) in SERVERS.items()
)


def is_open(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port), 1.0).close()
    except OSError:
        return False
    return True


def is_raw() -> bool:
    """The line of the gauge passes all bytes as they are."""
    fd = os.open("/dev/ttyACM0", os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    try:
        return not termios.tcgetattr(fd)[0] & termios.ICRNL
    finally:
        os.close(fd)


@pytest.fixture
def gauge(plugging: Plugging, tmp_path: Path) -> Iterator[SerialGadget]:
    """A gauge that ser2net serves."""
    made = plugging.serial()
    config = tmp_path / "ser2net.yaml"
    config.write_text(CONFIG)
    with subprocess.Popen(["/usr/sbin/ser2net", "-n", "-d", "-c", str(config)]) as server:
        wait_until(lambda: is_open(SERVERS["socket"][1]), "ser2net answers")
        time.sleep(0.5)  # it serves one client, and must first notice that this one has gone
        yield made
        server.terminate()


@pytest.mark.parametrize("scheme", list(SERVERS))
def test_a_gauge_behind_ser2net_is_read_and_asked(gauge: SerialGadget, scheme: str) -> None:
    with closing(open_port(f"{scheme}://127.0.0.1:{SERVERS[scheme][1]}", Link())) as port:
        assert port.notices() == ()  # no fault of a line that is whole
        # The server opens the gauge when a client comes, and translates line ends until it has set
        # the line.
        wait_until(is_raw, "ser2net has set the line")
        gauge.send("+59.982 mm\r\n")
        assert gathered(port, 12) == b"+59.982 mm\r\n"
        port.write(b"?\xff\r")
        assert gauge.received() == b"?\xff\r"
