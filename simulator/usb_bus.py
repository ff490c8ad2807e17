"""The USB sockets of a simulated machine, and what people do at them: plug, unplug, type."""

from __future__ import annotations

import errno
import threading

from simulator.errors import SimulatorError
from simulator.keystrokes import Hand, typed
from simulator.usb_device import SimulatedDevice
from simulator.usb_errors import trouble


class UsbBus:
    """All sockets and what is plugged into them. Any thread may plug and type while others read.

    desktop is what the system's keyboard driver took, and so typed into whatever window has the
    focus: device and report, in order. log is what programs did to interfaces, in order:
    detach, claim, release or attach, and its number. readers is the number of reads under way.
    changed guards all of it.
    """

    def __init__(self) -> None:
        self.desktop: list[tuple[SimulatedDevice, bytes]] = []
        self.log: list[tuple[str, int]] = []
        self.readers = 0
        self._devices: list[SimulatedDevice] = []
        self._next_address: dict[int, int] = {}
        self.changed = threading.Condition()

    def devices(self) -> list[SimulatedDevice]:
        """What is plugged in, in the order of plugging."""
        with self.changed:
            return list(self._devices)

    def wait_for_reader(self, timeout_s: float) -> bool:
        """Whether a read is waiting, which may take so many seconds to begin."""
        with self.changed:
            return self.changed.wait_for(lambda: self.readers > 0, timeout_s)

    def plug(
        self, device: SimulatedDevice, *, bus: int = 1, ports: tuple[int, ...] | None = None
    ) -> SimulatedDevice:
        """Plug a device in, at a new address; without ports into the first free socket of the bus.

        The system takes its interfaces. Raises SimulatorError when it is plugged in already or the
        socket is taken.
        """
        with self.changed:
            if device.is_present:
                raise SimulatorError(f"the device is plugged in already, at {device.socket}")
            taken = {one.ports for one in self._devices if one.bus == bus}
            if ports is None:
                ports = next((n,) for n in range(1, len(taken) + 2) if (n,) not in taken)
            if ports in taken:
                raise SimulatorError(f"socket {bus}-{'.'.join(map(str, ports))} is taken")
            device.bus, device.ports = bus, ports
            device.address = self._next_address.get(bus, 2)  # 1 is the host itself
            self._next_address[bus] = device.address + 1
            device.is_present, device.is_silent, device.dying_error = True, False, None
            device.configuration = 1
            for interface in device.interfaces:
                interface.power_up()
            self._devices.append(device)
            self.changed.notify_all()
        return device

    def unplug(
        self, device: SimulatedDevice, *, error: int = errno.ENODEV, is_silent: bool = False
    ) -> None:
        """Pull a device out; a read that waits fails with the error, ENODEV or EIO, and every call
        after it with ENODEV. is_silent: reads go on as if nothing were typed. Twice is harmless.
        """
        with self.changed:
            if not device.is_present:
                return
            self._devices.remove(device)
            device.is_present, device.is_silent, device.dying_error = False, is_silent, error
            for interface in device.interfaces:
                interface.is_bound, interface.holder = False, None
                interface.packets.clear()
            self.changed.notify_all()

    def replug(
        self,
        device: SimulatedDevice,
        *,
        bus: int | None = None,
        ports: tuple[int, ...] | None = None,
    ) -> None:
        """Pull it out if need be and plug it in again: the same socket unless another is named."""
        self.unplug(device)
        self.plug(
            device,
            bus=device.bus if bus is None else bus,
            ports=device.ports if ports is None and bus is None else ports,
        )

    def send(self, device: SimulatedDevice, *reports: bytes, interface: int = 0) -> None:
        """Have the device send reports; with a driver bound, the desktop gets them."""
        with self.changed:
            if not device.is_present:
                return
            one = device.interfaces[interface]
            if one.is_bound:
                self.desktop += [(device, report) for report in reports]
                return
            for report in reports:
                one.queue(report)
            self.changed.notify_all()

    def type(
        self,
        device: SimulatedDevice,
        text: str,
        layout: str = "us",
        *,
        hand: Hand = "released",
        interface: int = 0,
    ) -> None:
        """Have the device type a text as a keyboard of this layout; LF is Enter."""
        self.send(device, *typed(text, layout, hand=hand), interface=interface)

    def stall(
        self, device: SimulatedDevice, *, interface: int = 0, is_for_good: bool = False
    ) -> None:
        """Halt the endpoint: reads fail with EPIPE until the halt is cleared, or for good."""
        with self.changed:
            one = device.interfaces[interface]
            one.is_halted, one.stays_halted = True, is_for_good
            self.changed.notify_all()

    def fail(self, device: SimulatedDevice, error: int, *, interface: int = 0) -> None:
        """Have one read fail with this errno, behind what waits already."""
        with self.changed:
            device.interfaces[interface].packets.append(trouble(error))
            self.changed.notify_all()

    def seize(self, device: SimulatedDevice, *, interface: int = 0) -> None:
        """Another program takes the interface, from the driver too; None else can have it."""
        with self.changed:
            one = device.interfaces[interface]
            one.is_bound, one.holder = False, "another program"

    def let_go(self, device: SimulatedDevice, *, interface: int = 0) -> None:
        """Whoever holds the interface is killed: nobody has it, and no driver comes back."""
        with self.changed:
            device.interfaces[interface].holder = None
