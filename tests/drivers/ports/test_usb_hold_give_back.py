"""However a program ends, the keyboard is the system's again: real processes, a played bus."""

import os
import signal
import subprocess
import sys

import pytest

from tests.places import ROOT

PROGRAM = """
import signal, sys, threading, time
from drivers.ports.usb_interface import open_keyboard
from tests.drivers.fake_usb import FakeDevice, FakeUsb

class Told(FakeUsb):
    def attach_kernel_driver(self, dev_handle, intf):
        super().attach_kernel_driver(dev_handle, intf)
        print("given back", intf, flush=True)

def interrupt(*_):
    raise KeyboardInterrupt

signal.signal(signal.SIGTERM, interrupt)
keyboard = open_keyboard("usb:1209:0002:KB1", Told(FakeDevice()))
"""
ENDS = {
    "end": "",
    "closed": "keyboard.close()",
    "closed twice": "keyboard.close(); keyboard.close()",
    "exception": "raise RuntimeError('made up')",
    "exit": "sys.exit(3)",
    "dropped": "del keyboard",
    "reader": "threading.Thread(target=keyboard.read_report, args=(None,), daemon=True).start()",
}
READING = "print('reading', flush=True); keyboard.read_report(None)"
WAITING = ENDS["reader"] + "; print('reading', flush=True); time.sleep(30)"


def started(last: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM + last],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )


@pytest.mark.parametrize("last", ENDS.values(), ids=ENDS.keys())
def test_every_end_of_a_program_gives_the_keyboard_back_once(last: str) -> None:
    with started(last) as program:
        told, _ = program.communicate(timeout=20)
    assert told == "given back 0\n"


@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("last", [READING, WAITING], ids=["in a read", "beside a reader"])
def test_a_signal_gives_the_keyboard_back(last: str, by: signal.Signals) -> None:
    with started(last) as program:
        assert program.stdout is not None
        assert program.stdout.readline() == "reading\n"
        program.send_signal(by)
        told, _ = program.communicate(timeout=20)
    assert told == "given back 0\n"
