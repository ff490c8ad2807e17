"""Inside the virtual machine: gauges that are plugged in, and what the system makes of them."""

import grp
import json
import os
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from simulator.gadgets import SOCKETS, Descriptor, KeyboardGadget, SerialGadget
from tests.system.launcher import JBRIDGE, Child, Done, Launcher

RULES = Path("/etc/udev/rules.d")
USER = "operator"
WAIT_S = 40.0

SERIAL = Descriptor(0x1209, 0x0001, "ACM123", "Virtual Caliper")
KEYBOARD = Descriptor(0x1209, 0x0002, "HID456", "Virtual Keyboard Gauge")
KEYBOARD_PORT = "usb:1209:0002:HID456"


def wait_until(is_so: Callable[[], object], what: str) -> None:
    """Look again and again; fails after WAIT_S."""
    deadline = time.monotonic() + WAIT_S
    while not is_so():
        assert time.monotonic() < deadline, f"never: {what}"
        time.sleep(0.02)


def settle() -> None:
    """Wait until udev has done with all events so far."""
    subprocess.run(["udevadm", "settle", "--timeout=20"], check=True)


def devices(attribute: str, value: str) -> list[Path]:
    """The attached USB devices with this text, as folders of sysfs."""
    found = []
    for path in Path("/sys/bus/usb/devices").glob(f"*/{attribute}"):
        try:
            if path.read_text(errors="replace").strip() == value:
                found.append(path.parent)
        except OSError:  # it went meanwhile
            continue
    return found


def nodes(serial: str, subsystem: str = "tty") -> list[str]:
    """The device nodes of this kind that a USB device has."""
    while True:
        try:
            found = [
                path for device in devices("serial", serial) for path in device.rglob(subsystem)
            ]
            names = [child.name for path in found if path.is_dir() for child in path.iterdir()]
        except FileNotFoundError:  # a folder went between being seen and being opened
            continue
        return sorted(f"/dev/{name}" for name in names)


def bound_to(driver: Path) -> str:
    """The driver this link of sysfs leads to; nothing when the kernel has just taken it away."""
    try:
        return os.path.basename(os.readlink(driver))
    except FileNotFoundError:
        return ""


def has_driver(serial: str) -> bool:
    """The system's own driver has the interface of this keyboard."""
    links = [path for device in devices("serial", serial) for path in device.glob("*:*/driver")]
    return any(bound_to(link) == "usbhid" for link in links)


def came(serial: str, subsystem: str) -> str:
    """Wait for a device that has just been plugged in; its node."""
    wait_until(lambda: nodes(serial, subsystem), f"{serial} attached")
    settle()
    return nodes(serial, subsystem)[0]


def went(serial: str) -> None:
    """Wait until a device is gone, for udev too."""
    wait_until(lambda: not devices("serial", serial), f"{serial} gone")
    settle()


class Plugging:
    """Gauges of one test; all are taken away when it ends."""

    def __init__(self, stack: ExitStack) -> None:
        self._stack = stack
        self._made = 0

    def _name(self) -> str:
        self._made += 1
        return f"g{self._made}"

    def serial(self, says: Descriptor = SERIAL, socket: str = SOCKETS[0]) -> SerialGadget:
        """A gauge with a virtual COM port, plugged in and known to udev."""
        self._stack.callback(went, says.serial)
        gauge = self._stack.enter_context(SerialGadget(self._name(), says))
        gauge.plug(socket)
        came(says.serial, "tty")
        return gauge

    def keyboard(self, says: Descriptor = KEYBOARD, socket: str = SOCKETS[1]) -> KeyboardGadget:
        """A gauge that types, plugged in and known to udev."""
        self._stack.callback(went, says.serial)
        gauge = self._stack.enter_context(KeyboardGadget(self._name(), says))
        gauge.plug(socket)
        came(says.serial, "hidraw")
        return gauge


@pytest.fixture
def plugging() -> Iterator[Plugging]:
    """Plug in gauges."""
    with ExitStack() as stack:
        yield Plugging(stack)


class Emulator:
    """The emulator's monitor, reached from inside: devices that nobody here wrote.

    Source: QEMU's QMP reference, device_add, device_del, send-key.
    """

    def __init__(self) -> None:
        self._port = os.open("/dev/virtio-ports/qmp", os.O_RDWR)
        self._got = b""
        self.command("qmp_capabilities")

    def command(self, name: str, **arguments: object) -> object:
        """Carry out one command; raises RuntimeError if the emulator refuses it."""
        words = {"execute": name, "arguments": arguments}
        os.write(self._port, json.dumps(words).encode() + b"\n")
        while True:
            while b"\n" not in self._got:
                self._got += os.read(self._port, 65536)
            line, _, self._got = self._got.partition(b"\n")
            answer = json.loads(line)
            if "error" in answer:
                raise RuntimeError(answer["error"])
            if "return" in answer:
                return answer["return"]

    def type(self, text: str) -> None:
        """Press keys of its keyboard."""
        names = {".": ["dot"], "-": ["minus"], "+": ["shift", "equal"], "\n": ["ret"]}
        for char in text:
            keys = [{"type": "qcode", "data": name} for name in names.get(char, [char])]
            self.command("send-key", keys=keys, **{"hold-time": 20})
            time.sleep(0.08)  # the emulator drops keys that come while others are held


@pytest.fixture(scope="session")
def emulator() -> Emulator:
    """The emulator that this machine runs in."""
    return Emulator()


@pytest.fixture
def adapter(emulator: Emulator) -> Iterator[int]:
    """Its USB serial adapter (FT0001), plugged in; the descriptor of the line's far end."""
    more = {"chardev": "far-end", "serial": "FT0001", "bus": "xhci.0"}
    emulator.command("device_add", driver="usb-serial", id="adapter", **more)
    came("FT0001", "tty")
    line = os.open("/dev/virtio-ports/adapter", os.O_RDWR)
    yield line
    os.close(line)
    emulator.command("device_del", id="adapter")
    went("FT0001")


@pytest.fixture
def users_keyboard(emulator: Emulator) -> Iterator[str]:
    """Its USB keyboard, plugged in; the name of its port."""
    more = {"serial": "KB77", "bus": "xhci.0"}
    emulator.command("device_add", driver="usb-kbd", id="keyboard", **more)
    came("KB77", "hidraw")
    yield "usb:0627:0001:KB77"
    emulator.command("device_del", id="keyboard")
    went("KB77")


class Rule:
    """A rule file of this machine, in force while a test runs."""

    def __init__(self, stack: ExitStack) -> None:
        self._stack = stack

    def install(self, name: str, text: str) -> Path:
        """Put it in force for what is plugged in from now on."""
        path = RULES / name
        path.write_text(text)
        self._stack.callback(self._reload)
        self._stack.callback(path.unlink)
        self._reload()
        return path

    def _reload(self) -> None:
        subprocess.run(["udevadm", "control", "--reload"], check=True)


@pytest.fixture
def rules() -> Iterator[Rule]:
    """Install udev rules."""
    RULES.mkdir(parents=True, exist_ok=True)
    with ExitStack() as stack:
        yield Rule(stack)


class Programs:
    """Processes beside this one."""

    def __init__(self, launcher: Launcher) -> None:
        self._launcher = launcher

    def python(self, code: str, *arguments: str, **options: Any) -> Child:
        """Code that may use the project's own modules, until the with-block ends."""
        return self._launcher.piped(code, *arguments, **options)

    def start(self, *arguments: str, **options: Any) -> Child:
        """`jbridge` with these arguments."""
        return self.python(JBRIDGE, *arguments, **options)

    def jbridge(self, *arguments: str, **options: Any) -> Done:
        """`jbridge` with these arguments, to its end."""
        with self.start(*arguments, **options) as child:
            return child.finish()


@pytest.fixture(scope="session", autouse=True)
def programs(launcher: Launcher) -> Programs:
    """Start other processes; from the first test on, so that the server is ready when needed."""
    return Programs(launcher)


def as_user(*groups: str) -> dict[str, Any]:
    """Options that start a process as the ordinary user, in these groups besides its own."""
    home = {"HOME": f"/home/{USER}", "JBRIDGE_HOME": f"/home/{USER}/jbridge"}
    return {"user": USER, "groups": [grp.getgrnam(name).gr_gid for name in groups], "env": home}
