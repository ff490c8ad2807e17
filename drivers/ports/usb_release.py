"""Keyboards that a killed program left without a driver: given back to the system."""

import contextlib
import errno
from typing import Literal

import msgspec

from drivers.errors import PortUnavailable
from drivers.ports import usb_interface
from drivers.ports.usb_bus import Backend, Bus, Device, claim, clean, dispose, release
from drivers.ports.usb_choice import BusDevice, identity
from drivers.ports.usb_requests import describes_keyboard


class Released(msgspec.Struct, frozen=True):
    """What became of one keyboard that had no driver: `device` by its own name, its product text.

    `happened`: the driver is back, another program has the device (left alone), this user may not,
    or it failed; `detail` is what the system said.
    """

    device: str
    title: str
    happened: Literal["released", "in use", "not permitted", "failed"]
    detail: str = ""


def release_keyboards(backend: Backend | None = None) -> tuple[Released, ...]:
    """Put the kernel's driver back on every keyboard that has none and that no program uses, in the
    order of their sockets. What has its driver is not touched and not told of.

    Raises PortUnavailable where USB cannot be used at all.
    """
    bus = Bus("usb", backend if backend is not None else usb_interface.BACKEND)
    try:
        attached = bus.attached()
    except OSError as error:
        raise PortUnavailable("usb", f"USB cannot be looked at ({clean(str(error))})") from error
    facts = [one for _, one in attached]
    done = []
    for device, one in attached:
        who = identity(one, facts).text
        for number in sorted({*one.keyboards, *one.others} - {*one.bound}):
            result = _released(device, one, number, who)
            if result is not None:
                done.append(result)
        with contextlib.suppress(OSError):
            dispose(device)
    return tuple(done)


def _released(device: Device, facts: BusDevice, number: int, who: str) -> Released | None:
    """None if there is nothing to do: it has its driver, or is no keyboard."""
    try:
        if device.is_kernel_driver_active(number):
            return None
        claim(device, number)  # fails where a program has it
        try:
            is_one = number in facts.keyboards or describes_keyboard(device, number)
        finally:
            release(device, number)
        if not is_one:
            return None
        device.attach_kernel_driver(number)
    except (OSError, NotImplementedError) as error:
        code = getattr(error, "errno", None)
        if code == errno.EBUSY:
            return Released(who, facts.title, "in use", clean(str(error)))
        if code in (errno.EACCES, errno.EPERM):
            return Released(who, facts.title, "not permitted", clean(str(error)))
        return Released(who, facts.title, "failed", clean(str(error)))
    return Released(who, facts.title, "released")
