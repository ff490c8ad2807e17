"""A machine's own tree of devices, made of folders and links as Linux shows them.

Source: the kernel's Documentation/ABI (sysfs-bus-usb, sysfs-tty) and the layout on a Debian 12
machine, from memory.
"""

from pathlib import Path

from drivers.attached.machine import Machine


class FakeMachine:
    """Plug devices in and out; `machine` is what the program is given."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.machine = Machine(
            sys=root / "sys",
            dev=root / "dev",
            proc=root / "proc",
            run=root / "run",
            rules=(root / "etc/rules.d", root / "usr/rules.d"),
        )
        for folder in ("class/tty", "bus/usb/devices", "bus/usb-serial/devices", "drivers"):
            (self.machine.sys / folder).mkdir(parents=True)
        self.machine.dev.mkdir()
        self._number = 1

    def usb(
        self, socket: str, *, vendor: str = "1209", product: str = "0001", **texts: str
    ) -> Path:
        """A USB device in a socket; `texts` are serial, product text (`title`), manufacturer."""
        folder = self.machine.sys / "devices/pci0/usb1" / socket
        folder.mkdir(parents=True)
        self._number += 1
        facts = {
            "idVendor": vendor,
            "idProduct": product,
            "bDeviceClass": "00",
            "busnum": socket.split("-", maxsplit=1)[0],
            "devnum": str(self._number),
            "power/control": texts.pop("power", "on"),
            "product": texts.pop("title", "Gauge 9"),
            **texts,
        }
        for name, text in facts.items():
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_bytes(text.encode("utf-8", "surrogateescape") + b"\n")
        (self.machine.sys / "bus/usb/devices" / socket).symlink_to(folder)
        node = self.machine.dev / f"bus/usb/{int(facts['busnum']):03}/{self._number:03}"
        node.parent.mkdir(parents=True, exist_ok=True)
        node.touch()
        return folder

    def interface(
        self, device: Path, number: int = 0, kind: str = "ff0000", driver: str = ""
    ) -> Path:
        """An interface of a device; `kind` is class, subclass and protocol in hexadecimal."""
        folder = device / f"{device.name}:1.{number}"
        folder.mkdir()
        for name, text in (
            ("bInterfaceNumber", f"{number:02x}"),
            ("bInterfaceClass", kind[:2]),
            ("bInterfaceSubClass", kind[2:4]),
            ("bInterfaceProtocol", kind[4:]),
        ):
            (folder / name).write_text(text + "\n")
        if driver:
            place = self.machine.sys / "drivers" / driver
            place.mkdir(exist_ok=True)
            (folder / "driver").symlink_to(place)
        return folder

    def tty_usb(
        self, device: Path, name: str, number: int = 0, latency_ms: int | None = None
    ) -> None:
        """The port of a USB adapter: between interface and tty lies a device of its own."""
        inner = self.interface(device, number, "ffffff", "ftdi_sio") / name
        (inner / "tty" / name).mkdir(parents=True)
        (inner / "port_number").write_text("0\n")
        if latency_ms is not None:
            (inner / "latency_timer").write_text(f"{latency_ms}\n")
        (self.machine.sys / "bus/usb-serial/devices" / name).symlink_to(inner)
        self._tty(inner, name)

    def tty_acm(self, device: Path, name: str, number: int = 0) -> None:
        """The port of a device with virtual COM port."""
        inner = self.interface(device, number, "020201", "cdc_acm")
        (inner / "tty" / name).mkdir(parents=True)
        self._tty(inner, name)

    def tty_onboard(self, name: str, kind: int = 4) -> None:
        """A port of the machine itself; type 0 is one without hardware."""
        inner = self.machine.sys / "devices/pnp0" / name
        (inner / "tty" / name).mkdir(parents=True)
        (inner / "tty" / name / "type").write_text(f"{kind}\n")
        self._tty(inner, name)

    def virtual_terminal(self, name: str) -> None:
        """A tty without a device."""
        folder = self.machine.sys / "devices/virtual/tty" / name
        folder.mkdir(parents=True)
        (self.machine.sys / "class/tty" / name).symlink_to(folder)

    def _tty(self, inner: Path, name: str) -> None:
        (inner / "tty" / name / "device").symlink_to(inner)
        (self.machine.sys / "class/tty" / name).symlink_to(inner / "tty" / name)
        (self.machine.dev / name).touch()

    def keyboard(self, socket: str, driver: str = "usbhid", **texts: str) -> Path:
        """A keyboard-type device."""
        device = self.usb(socket, **texts)
        self.interface(device, 0, "030101", driver)
        return device

    def described_keyboard(self, socket: str, descriptor: bytes, kind: str = "030000") -> Path:
        """A device that says in its report descriptor how its keys come."""
        device = self.usb(socket)
        inner = self.interface(device, 0, kind, "usbhid") / "0003:1209:0001.0001"
        inner.mkdir()
        (inner / "report_descriptor").write_bytes(descriptor)
        return device

    def input_list(self, text: str) -> None:
        """The system's list of input devices."""
        (self.machine.proc / "bus/input").mkdir(parents=True, exist_ok=True)
        (self.machine.proc / "bus/input/devices").write_text(text)

    def link(self, where: str, node: str) -> None:
        """A link below dev, as udev makes them."""
        path = self.machine.dev / where
        path.parent.mkdir(parents=True, exist_ok=True)
        path.symlink_to(self.machine.dev / node)

    def process(self, pid: int, command: str) -> Path:
        """A running process."""
        folder = self.machine.proc / str(pid)
        (folder / "fd").mkdir(parents=True)
        (folder / "comm").write_text(command + "\n")
        return folder
