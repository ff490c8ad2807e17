"""`python -m bench.run`: measure all goals and write RESULTS.md."""

import argparse
import os
import platform
import sys
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from bench import (
    append,
    counts,
    decision,
    design_table,
    export,
    idle,
    ingest,
    many,
    modules,
    reevaluate,
    sounds,
    stacks,
    startup,
    tables,
    teach,
)
from bench.ratio import LEAST_ROUNDS, SLACK, Row

MET, GATE_MISSED, CANNOT = 0, 1, 2
RESULTS = Path(__file__).with_name("RESULTS.md")


def counted(folder: Path) -> list[Row]:
    """The exact goals: the same on every machine, however busy it is."""
    return [*counts.measure(folder), *idle.measure(folder), *modules.measure(folder)]


def timed(folder: Path, rounds: int) -> list[Row]:
    """The goals that are ratios of times."""
    return [
        append.measure(folder, rounds),
        ingest.measure(rounds),
        many.measure(rounds),
        *startup.measure(folder, rounds),
        *stacks.measure(rounds),
        *reevaluate.measure(rounds),
        *sounds.measure(_new(folder, "sounds"), rounds),
        *tables.measure(_new(folder, "tables"), rounds),
        *export.measure(_new(folder, "export"), rounds),
    ]


def table(rows: Sequence[Row], runs: Sequence[Sequence[Row]] = ()) -> str:
    """A Markdown table; `runs` are the timed rows of every run, the last of them shown in full."""
    lines = [
        "| goal | bound | limit | ours | ratio or count | rounds | every run | verdict |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for row in rows:
        if row.is_timed:
            every = ", ".join(
                f"{same.value:.2f}" for run in runs for same in run if same.goal == row.goal
            )
            bound, value = f"<= {row.bound:g}x", f"{row.value:.2f}"
        else:
            sign = "=" if row.is_exact or not row.bound else "<="
            every, bound, value = "", f"{sign} {row.bound:g}", f"{row.value:g}"
        cells = (row.goal, bound, row.limit, row.ours, value, row.spread, every, row.verdict)
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines)


def machine(folder: Path) -> list[tuple[str, str]]:
    """What the figures belong to."""
    return [
        ("CPU", f"{os.cpu_count()} x {_cpu()}"),
        ("kernel", f"{platform.system()} {platform.release()}"),
        ("filesystem of the appends", append.filesystem(folder)),
        ("Python", f"{platform.python_implementation()} {platform.python_version()}"),
        ("date", datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")),
    ]


def _cpu() -> str:
    try:
        text = Path("/proc/cpuinfo").read_text(encoding="utf-8")
    except OSError:
        return platform.processor() or "unknown"
    for line in text.splitlines():
        if line.startswith("model name"):
            return line.partition(":")[2].strip()
    return platform.processor() or "unknown"


def document(
    about: Sequence[tuple[str, str]],
    rows: Sequence[Row],
    runs: Sequence[Sequence[Row]],
    rounds: int,
    note: str,
    taught: teach.Tally,
    decided: decision.Simulated,
) -> str:
    """The whole of RESULTS.md."""
    facts = "\n".join(f"- {name}: {text}" for name, text in about)
    return f"""# Results

Written by `python -m bench.run`; README.md says how to read it.

{facts}
- rounds: {rounds} in each of {len(runs)} runs; the table shows the last run
{f"- note: {note}" if note else ""}

{table(rows, runs)}

Timed goals: medians over the rounds; "rounds" is the smallest and the largest ratio in a round.
The gate of a timed goal has {SLACK - 1:.0%} slack; that of a count has none.

## Teaching

{teach.words(taught)}

## Decision

{decision.words(decided)}

### Beside the published design table

{design_table.WORDS}
"""


def main() -> int:
    """Measure what the options say; gives the exit code."""
    parser = argparse.ArgumentParser(prog="python -m bench.run", description=__doc__)
    parser.add_argument("--counts", action="store_true", help="only the exact counts; writes none")
    parser.add_argument("--gate", action="store_true", help="end in 1 if a gate is missed")
    parser.add_argument("--rounds", type=int, default=LEAST_ROUNDS, help="rounds of a run")
    parser.add_argument("--runs", type=int, default=1, help="how often to time everything")
    parser.add_argument("--cranks", type=int, default=decision.CRANKS, help="simulated a case")
    parser.add_argument("--folder", type=Path, help="where on a disk to append; default: temporary")
    parser.add_argument("--out", type=Path, default=RESULTS, help="the file to write")
    parser.add_argument("--note", default="", help="a remark on the machine, for the file")
    options = parser.parse_args()
    if options.rounds < LEAST_ROUNDS or options.runs < 1 or options.cranks < decision.LEAST_CRANKS:
        parser.error(f"at least {LEAST_ROUNDS} rounds, 1 run, {decision.LEAST_CRANKS} cranks")
    try:
        with tempfile.TemporaryDirectory(prefix="bench-", dir=options.folder) as name:
            return _measure(Path(name), options)
    except (counts.NoStrace, append.NotADisk) as error:
        print(f"bench: {error}", file=sys.stderr)
        return CANNOT


def _measure(folder: Path, options: argparse.Namespace) -> int:
    counts.need_strace()
    if not options.counts:
        append.need_disk(folder)
    taught = teach.tally(teach.QUICK_SETS if options.counts else teach.SETS)
    rows = [*counted(_new(folder, "counts")), *teach.rows(taught)]
    if options.counts:
        print(table(rows))
        return _told(rows)
    before = os.getloadavg()[0]
    runs = [timed(_new(folder, f"run-{no}"), options.rounds) for no in range(options.runs)]
    about = machine(folder)
    load = f"{before:.2f} before, {os.getloadavg()[0]:.2f} after"
    about.append(("load average, last minute", load))
    about.append(
        ("memory of an export of 100,000 events", export.memory_words(_new(folder, "memory")))
    )
    decided = decision.simulated(options.cranks, decision.SEED)
    rows = [*runs[-1], *rows, *decision.goals(decided.found)]
    text = document(about, rows, runs, options.rounds, options.note, taught, decided)
    options.out.write_text(text, encoding="utf-8")
    print(table(rows, runs))
    return _told(rows) if options.gate else MET


def _told(rows: Sequence[Row]) -> int:
    """The exit code of the gates; each one missed is told on stderr."""
    missed = [row for row in rows if row.is_missed]
    for row in missed:
        print(f"bench: missed: {row.goal}: {row.value:.4g}, not {row.bound:g}", file=sys.stderr)
    return GATE_MISSED if missed else MET


def _new(folder: Path, name: str) -> Path:
    (folder / name).mkdir()
    return folder / name


if __name__ == "__main__":
    sys.exit(main())
