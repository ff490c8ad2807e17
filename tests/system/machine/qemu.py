"""One boot of the guest: shared folders in, output and results out, an end in any case."""

import os
import selectors
import shutil
import subprocess
import sys
import time
from pathlib import Path

from tests.system.machine.archive import cpio, file
from tests.system.machine.tree import System

_KERNEL_LINE = (
    "console=ttyS0 quiet panic=-1 rdinit=/init nokaslr mitigations=off random.trust_cpu=on"
    " tsc=reliable no_timer_check norandmaps"
)
_WORDS = (
    *("-accel", "tcg"),  # by name: the host's kvm may be there and not fit for this kernel
    *("-M", "q35", "-cpu", "max", "-smp", "2", "-m", "1536"),
    *("-nodefaults", "-no-user-config", "-display", "none", "-monitor", "none", "-nic", "none"),
    "-no-reboot",
    *("-device", "virtio-serial-pci", "-device", "qemu-xhci,id=xhci"),
    *("-chardev", "file,id=output,path=/dev/stdout"),
    *("-device", "virtserialport,chardev=output,name=output"),
)
PAIRS = {"qmp": "monitor", "adapter": "far-end"}
"""Ports of the guest, and what of QEMU itself is at their other end: its monitor, and the line of
the serial adapter that a test plugs in (as `chardev=far-end`).
"""


class TimedOut(Exception):
    """The guest did not come to its end; it has been killed."""


class Machine:
    """A guest with its files in `folder`, to be started once."""

    def __init__(self, system: System, shares: list[Path], folder: Path) -> None:
        self._system = system
        self._shares = shares
        self._folder = folder
        self.results = folder / "results"
        self.console = folder / "console"
        self.results.mkdir()

    def run(self, settings: dict[str, str], limit_s: float) -> None:
        """Boot, show the output as it comes, wait for the end; raises TimedOut."""
        settings = settings | {"SHARES": " ".join(map(str, self._shares))}
        lines = "".join(f"{key}='{value}'\n" for key, value in settings.items())
        files = self._folder / "files"
        shutil.copyfile(self._system.files, files)
        with files.open("ab") as stream:  # the kernel unpacks one archive after the other
            stream.write(cpio({"etc/machine": file(lines)}))
        process = subprocess.Popen(
            [*_not_outliving_us(), *self._command(files)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        try:
            _show(process, time.monotonic() + limit_s)
        finally:
            process.kill()
            process.wait()

    def _command(self, files: Path) -> list[str]:
        words = ["qemu-system-x86_64", *_WORDS]
        words += ["-kernel", str(self._system.kernel), "-initrd", str(files)]
        words += ["-append", _KERNEL_LINE, "-serial", f"file:{self.console}"]
        for number, share in enumerate(self._shares):
            words += _share(f"share{number}", share, ",readonly=on")
        words += _share("results", self.results)
        for port, far in PAIRS.items():
            socket = self._folder / port
            words += ["-chardev", f"socket,id={port},path={socket},server=on,wait=off"]
            words += ["-device", f"virtserialport,chardev={port},name={port}"]
            words += ["-chardev", f"socket,id={far},path={socket}"]
        return [*words, "-mon", "chardev=monitor,mode=control"]


def _share(tag: str, folder: Path, more: str = "") -> list[str]:
    where = str(folder).replace(",", ",,")
    return [
        *("-fsdev", f"local,id={tag},path={where},security_model=none,multidevs=remap{more}"),
        *("-device", f"virtio-9p-pci,fsdev={tag},mount_tag={tag}"),
    ]


def _not_outliving_us() -> list[str]:
    """The kernel then ends QEMU even where we are killed."""
    found = shutil.which("setpriv")
    return [found, "--pdeathsig", "KILL"] if found else []


def _show(process: subprocess.Popen[bytes], deadline: float) -> None:
    assert process.stdout is not None
    with selectors.DefaultSelector() as selector, process.stdout as stream:
        selector.register(stream, selectors.EVENT_READ)
        while True:
            left_s = deadline - time.monotonic()
            if left_s <= 0:
                raise TimedOut
            if not selector.select(left_s):
                continue
            data = os.read(stream.fileno(), 65536)
            if not data:
                break
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()
    try:
        process.wait(max(0.0, deadline - time.monotonic()))
    except subprocess.TimeoutExpired:
        raise TimedOut from None
