"""A session in which every text is one that some reader takes for something else."""

from pathlib import Path

from daq.export.csv_files import files_of, write_files
from daq.record.events import Temperatures
from daq.rules.commands import Back, Note
from daq.storage.ledger import scan
from tests.builders import MAINS, PLAN, Bench, opened, setup

UNDERSIZE = """
[[group.undersize]]
name = "0.50"
by = "0.50 mm"
low = "50.280 mm"
high = "50.300 mm"
"""
NAMES = {
    '"M1"': '"0047"',
    '"R1"': '"1E5"',
    '"front", "rear"': '"TRUE", "NA"',
    '"middle"': '"=1+2"',
    '"mains"': '"007"',
    '"rods"': '"-1"',
    'stack = "50.780 mm"\n': f'stack = "50.780 mm"\n{UNDERSIZE}',
}
NOTES = ("=cmd|' /C calc'!A0", "NA", "1e5", '"quoted", and\nbroken', "nan", "59,982", "12-11-10")
PART = "Ø 東京 \u202eגל\u202c 🦀"
"""Letters of many scripts, one from right to left with its marks, an emoji."""


def awkward(folder: Path) -> Bench:
    """A whole session, accepted, with two groups, one of them to grind; its tables beside it."""
    plan = PLAN
    for name, worse in NAMES.items():
        plan = plan.replace(name, worse)
    warm = setup(gauge="1E5", temperatures=Temperatures(part="22", gauge="20.5", stack="21"))
    first = opened(plan, job="0047", part=PART, operator="NA", with_setup=warm)
    bench = Bench.new(folder, first).press("59.970", "59.971", *MAINS[:3], "59.985")
    bench.say(Back())
    for text in NOTES:
        bench.say(Note(text))
    bench.press("59.982", "59.970", "59.970")
    bench.press("50.780", "50.781", "50.770", "50.771", "50.780", "50.780").close()
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    write_files(folder, files_of(bench.state, scan(folder)))
    return bench
