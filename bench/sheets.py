"""`python -m bench.sheets`: the customer's sheet, as a page and as PDF, in seconds and against the
PDF library alone. It needs the extra `pdf`; nothing of it is part of `bench.run`.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from bench.crank_sessions import Job
from bench.ratio import LEAST_ROUNDS, Row, interleaved, timed_row
from bench.run import machine, table
from bench.startup import ROOT
from bench.tables import session
from daq.cli.sheet_run import page_of
from daq.sheet.pdf import pdf_of
from daq.storage.whole import whole

JOB = Job(tolerance=20, repeats=2, journals=9)
WAITED_S = {"html": 2.0, "pdf": 5.0}
"""What a customer at the counter may wait, the start of the program and all. Chosen by us."""

MOST_OF_LIBRARY = 1.5
"""The PDF against the library that makes it, from the record on. Chosen by us."""


def _seconds(work: Callable[[], object]) -> Callable[[], float]:
    def run() -> float:
        began_s = time.perf_counter()
        work()
        return time.perf_counter() - began_s

    return run


def _command(folder: Path, ending: str) -> Callable[[], object]:
    """The command as it is typed, in a process of its own."""
    target = folder.parent / f"sheet.{ending}"
    typed = ["-m", "daq", "sheet", str(folder), "--output", str(target), "--replace"]
    return lambda: subprocess.run(
        [sys.executable, *typed], cwd=ROOT, check=True, stdout=subprocess.DEVNULL
    )


def measure(folder: Path, rounds: int) -> list[Row]:
    """Each round by round."""
    import weasyprint  # noqa: PLC0415 - an extra, and slow to load

    one = session(folder / "one", JOB)
    state, found = whole(one)
    made = page_of(state, len(found.entries), found.chain, "", None)

    def ours() -> object:
        state, found = whole(one)
        return pdf_of(page_of(state, len(found.entries), found.chain, "", None), "a4")

    def theirs() -> object:
        return weasyprint.HTML(string=made).write_pdf()

    for warm in (ours, theirs):
        warm()
    times = interleaved(
        {
            "html": _seconds(_command(one, "html")),
            "pdf": _seconds(_command(one, "pdf")),
            "ours": _seconds(ours),
            "library": _seconds(theirs),
        },
        rounds,
    )
    waited = [
        timed_row(
            f"`sheet` of {JOB.journals} journals as {ending.upper()}, the whole command, against "
            f"{most_s:g} s",
            1,
            times[ending],
            [most_s] * rounds,
            "s",
        )
        for ending, most_s in WAITED_S.items()
    ]
    against = "its PDF from the record on, against the library alone with the same page"
    return [*waited, timed_row(against, MOST_OF_LIBRARY, times["ours"], times["library"], "s")]


def main() -> int:
    """Measure; 1 with --gate if a goal was missed."""
    parser = argparse.ArgumentParser(prog="python -m bench.sheets", description=__doc__)
    parser.add_argument("--rounds", type=int, default=LEAST_ROUNDS)
    parser.add_argument("--gate", action="store_true", help="end in 1 if a goal is missed")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-") as name:
        for about, text in machine(Path(name)):
            print(f"- {about}: {text}")
        rows = measure(Path(name), options.rounds)
    print("\n" + table(rows))
    return int(options.gate and any(row.is_missed for row in rows))


if __name__ == "__main__":
    sys.exit(main())
