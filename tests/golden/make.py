"""The ledger of one released version and its tables, made once by that version and then kept:

    python -m tests.golden.make

Every kind of line stands in it. What is in the folder already is never written again: later
versions must read it as it is and derive the same tables.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec

from daq.export.csv_files import files_of
from daq.record.events import Repeatability, Temperatures
from daq.rules.commands import (
    Back,
    CheckNow,
    Drop,
    FindLink,
    GaugeZeroed,
    Keep,
    LinkNote,
    LoseLink,
    Note,
    Skip,
    TakeReject,
)
from daq.storage.ledger import scan
from daq.version import __version__
from tests.builders import MINUTE_US, PLAN, Bench, opened, reject, setup

GOLDEN = Path(__file__).parent

UNDERSIZE = """
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "50.530 mm"
high = "50.550 mm"
"""
"""For the rods, so that a next step has its columns."""

STACK = """\
schema = 1
size = "50.780 mm"
grade = "1"
certificate = "C-17"
certificate_date = 2026-06-01
certificate_due = 2027-06-01
expansion = "10.8e-6 /K"
[[block]]
nominal = "0.780 mm"
deviation = "+0.10 um"
uncertainty = "0.06 um"
[[block]]
nominal = "50 mm"
deviation = "-0.40 um"
uncertainty = "0.10 um"
"""
"""50.780 mm + 0.10 um - 0.40 um: 50.7797 mm."""


def measure(folder: Path) -> Bench:
    """A session in which everything happens once. Limits of the checks are 0.002 mm, windows
    0.5 mm; places are M1 front/0 front/90 rear/0 rear/90, then R1 middle/0 middle/90.
    """
    warm = msgspec.structs.replace(
        setup(temperatures=Temperatures(part="22", gauge="20.5", stack="21")),
        saved_stacks={"rods": "50.7797 mm"},
        stack_files={"rods": STACK},
        study=Repeatability("0.0004", "18", "20261101T080000Z-aaaa"),
    )
    plan = PLAN.replace('stack = "50.780 mm"\n', f'stack = "rods"\n{UNDERSIZE}')
    first = opened(plan, job="=4711, Ø 60", part='No. 2 "Ada"', operator="A. L.\n", with_setup=warm)
    bench = Bench.new(folder, first)
    bench.say(TakeReject(reject(b"\xff9.9")))
    bench.say(TakeReject(reject(b"?"), 480, b"!"))
    bench.press("59.970", "59.971")  # before: mean error 0.0005
    bench.press("59.980")  # M1/front/0
    bench.press("59.98", resolution="0.01")  # a digit is lost: held
    bench.say(Keep())  # M1/front/90
    bench.press("65.000")  # outside the window: held
    bench.say(Drop())
    bench.press("59.985")
    bench.say(Back())
    bench.press("59.979", flags=("peak", "low-battery"))  # M1/rear/0
    bench.say(CheckNow())
    bench.press("59.970", "59.969")  # during: mean error -0.0005, drift -0.001
    bench.say(Skip("behind the oil hole"))  # M1/rear/90
    bench.press("59.970")
    bench.press("59.970", flags=("repeat",))  # held
    bench.say(Keep())  # after: mean error 0; the rods need another stack
    bench.say(Note("coffee =1+2"))
    bench.say(LoseLink("unplugged"))
    bench.close()

    bench = Bench.again(folder, bench.now_us + 10 * MINUTE_US, warm)
    bench.press("50.780", "50.781")
    bench.press("50.790")  # R1/middle/0
    bench.say(LinkNote("rollover (2 times)"))
    bench.say(LoseLink("unplugged"))
    bench.say(FindLink(warm.source))  # it may have lost its zero: the place is asked for again
    bench.press("50.780", "50.781")
    bench.press("50.791")  # R1/middle/0
    bench.say(GaugeZeroed())  # not proven any more, asked for again in a new stint
    bench.press("1.99920", "1.99920", unit="in", resolution="0.00005")  # 50.77968 mm
    bench.press("1.99960", "1.99880", unit="in", resolution="0.00005")
    bench.press("1.99925", "1.99920", unit="in", resolution="0.00005")
    return bench.close()


def main() -> None:
    """Make the folder of this version."""
    kept = GOLDEN / f"v{__version__}"
    with TemporaryDirectory() as name:
        bench = measure(Path(name) / "s")
        ledger = (bench.folder / "ledger.jsonl").read_bytes()
        files = files_of(bench.state, scan(bench.folder))
    kept.mkdir()
    (kept / "ledger.jsonl").write_bytes(ledger)
    for name, data in files.items():
        (kept / name).write_bytes(data)


if __name__ == "__main__":
    main()
