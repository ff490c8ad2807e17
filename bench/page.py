"""`python -m bench.page`: the page at the bench, from a press to what is seen, idle, and crowded.

It needs Chromium and the extra `browser`; nothing of it is part of `bench.run`.
"""

import argparse
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, nullcontext
from functools import partial
from pathlib import Path
from statistics import quantiles

import msgspec
from playwright.sync_api import Browser, sync_playwright

from bench.page_rig import ARGUMENTS, CHROMIUM, Gauge, Marked, Watched, wait_until
from bench.ratio import Row, timed_row
from bench.run import machine, table
from bench.startup import ROOT

PRESSES, JOURNALS, REPEATS = 100, 5, 3
PARTS = ("decode", "decide", "disk", "judge", "send", "render", "paint")
SETTLING_S, WATCHED_S = 7.0, 10.0
"""Before it is watched, connections of the page's loading are closed for being idle."""

SESSIONS, PAIRS, A_BLOCK, PACE_S = 5, 4, 100, 0.03
CLIENTS = {"usual": 0.5, "slow": 0.5, "dead": 0.5, "hostile": 2.0, "busy": 0.5}
"""Each kind, and how long it takes to stand."""

CROWDS = (
    ("usual", "", "none"),
    ("slow", "", "a usual one alone"),
    ("dead", "", "a usual one alone"),
    ("hostile", "", "a usual one alone"),
    ("hostile", "busy", "a usual one and a busy loop, each pair on one processor"),
)
"""Each kind, what is there in the blocks without it, and that in words. Hostile clients take a
processor that those on other machines do not: so once against nothing, once against a busy loop.
"""

MOST_DELAY = 1.25
"""Of the p99 from press to disk with such clients to that without: the middle of the pairs of
blocks, as other load comes and goes. Chosen by us.
"""


class Press(msgspec.Struct, frozen=True):
    """What one press took, in ms: to page changed, page painted, terminal changed, and parts."""

    changed: float
    painted: float
    terminal: float = 0.0
    parts: dict[str, float] = msgspec.field(default_factory=dict)


@contextmanager
def marked(folder: Path, journals: int, repeats: int, *more: str) -> Iterator[Marked]:
    """A session that waits for its first check."""
    session = Marked(folder, journals, repeats, *more)
    try:
        yield session
    finally:
        session.close()


# From press to page -------------------------------------------------------------------------------


def latency(browser: Browser, folder: Path, presses: int) -> tuple[list[Press], list[Press]]:
    """Ours and the bare page's, press by press, in shuffled order within each pair."""
    gauge = Gauge()
    bare = subprocess.Popen(
        [sys.executable, "-m", "bench.bare_page", gauge.port],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert bare.stdout is not None
    try:
        with marked(folder, JOURNALS, REPEATS) as session:
            theirs = Watched(browser, bare.stdout.readline().strip())
            ours = Watched(browser, session.link)
            session.check()
            shuffle = random.Random(1)
            found: tuple[list[Press], list[Press]] = ([], [])
            for number in range(presses):
                size = f"59.98{number % 10}"
                for which in shuffle.sample((0, 1), 2):
                    time.sleep(shuffle.uniform(0.05, 0.1))  # in no step with the screen
                    found[which].append(
                        _bare_press(gauge, theirs, size)
                        if which
                        else _our_press(session, ours, size)
                    )
            return found
    finally:
        bare.kill()
        bare.wait()
        gauge.close()


def _bare_press(gauge: Gauge, page: Watched, size: str) -> Press:
    page.forget()
    at_ns = gauge.press(size)
    _, changed, painted = _seen(page, size)
    return Press((changed - at_ns) / 1e6, (painted - at_ns) / 1e6)


def _our_press(session: Marked, page: Watched, size: str) -> Press:
    page.forget()
    at_ns = session.gauge.press(size)
    came, changed, painted = _seen(page, size)
    wait_until(lambda: session.terminal.shown_ns(size, at_ns) is not None)
    terminal = session.terminal.shown_ns(size, at_ns) or 0
    marks = session.marks()

    def at(name: str) -> int:
        return next(mark for mark in marks[name] if mark > at_ns)

    parts = {
        "decode": at("decoded") - at_ns,
        "decide": at("disk-begins") - at("decoded"),
        "disk": at("disk-ends") - at("disk-begins"),
        "judge": at("judge-ends") - at("disk-ends"),
        "render": at("render-ends") - at("render-begins"),
        "send": at("render-begins") - at("judge-ends") + came - at("render-ends"),
        "paint": painted - came,
    }
    return Press(
        (changed - at_ns) / 1e6,
        (painted - at_ns) / 1e6,
        (terminal - at_ns) / 1e6,
        {name: took / 1e6 for name, took in parts.items()},
    )


def _seen(page: Watched, size: str) -> tuple[int, int, int]:
    wait_until(lambda: page.changed_ns(size) is not None)
    found = page.changed_ns(size)
    assert found is not None
    return found


def percentile(values: Sequence[float], percent: int) -> float:
    """Of so many values that there is one."""
    return quantiles(values, n=100, method="inclusive")[percent - 1]


def latency_table(ours: Sequence[Press], bare: Sequence[Press]) -> str:
    """A Markdown table; the bare page has no parts and no terminal."""
    lines = [
        "| from press to, in ms | p50 | p95 | bare p50 | bare p95 | ratio p50 | ratio p95 |",
        "|---|---|---|---|---|---|---|",
    ]
    for name in ("changed", "painted"):
        mine = [getattr(press, name) for press in ours]
        other = [getattr(press, name) for press in bare]
        p50, p95, b50, b95 = (
            percentile(values, percent) for values in (mine, other) for percent in (50, 95)
        )
        lines.append(
            f"| page {name} | {p50:.1f} | {p95:.1f} | {b50:.1f} | {b95:.1f} | {p50 / b50:.2f} | "
            f"{p95 / b95:.2f} |"
        )
    rows = {"terminal changed": [press.terminal for press in ours]}
    rows |= {f"of it: {part}": [press.parts[part] for press in ours] for part in PARTS}
    for name, values in rows.items():
        p50, p95 = (percentile(values, percent) for percent in (50, 95))
        lines.append(f"| {name} | {p50:.2f} | {p95:.2f} | | | | |")
    return "\n".join(lines)


# Idle ---------------------------------------------------------------------------------------------


def idle(browser: Browser, folder: Path) -> list[Row]:
    """Wake-ups with a page open and nothing going on."""
    with marked(folder, JOURNALS, 1) as session:
        page = Watched(browser, session.link)
        session.check()
        time.sleep(SETTLING_S)
        pids = (session.process.pid, session.server_pid)
        before = [wake_ups(pid) for pid in pids]
        time.sleep(WATCHED_S)
        measuring, server = (
            wake_ups(pid) - so_far for pid, so_far in zip(pids, before, strict=True)
        )
        page.page.context.close()
    span = f"in {WATCHED_S:g} s, a page open and idle"
    return [
        Row(f"wake-ups of the measuring threads {span}", "0", f"{measuring}", measuring, 0),
        Row(f"wake-ups of the page's server {span}", "1", f"{server}", server, 1),
    ]


def wake_ups(pid: int) -> int:
    """How often threads of a process have gone to sleep by themselves, and so woken up."""
    found = 0
    for status in Path(f"/proc/{pid}/task").glob("*/status"):
        for line in status.read_text(encoding="utf-8").splitlines():
            if line.startswith("voluntary_ctxt_switches"):
                found += int(line.split()[1])
    return found


# Crowded ------------------------------------------------------------------------------------------


def crowded(folder: Path, kind: str, other: str, against: str) -> Row:
    """From press to disk with clients of a kind and without, blocks of both in shuffled order; a
    usual viewer is there all the time, but where it is the one that is measured.
    """
    each: dict[bool, list[list[float]]] = {False: [], True: []}
    shuffle = random.Random(1)
    for number in range(SESSIONS):
        with marked(folder / str(number), 11, 10, "--json") as session, ExitStack() as at_the_end:
            session.check()
            if kind != "usual":
                at_the_end.enter_context(clients("usual", session.link))
            for _ in range(PAIRS):
                for is_crowded in shuffle.sample((False, True), 2):
                    each[is_crowded].append(_block(session, kind if is_crowded else other))
    without, beside = ([percentile(block, 99) for block in each[way]] for way in each)
    pairs = SESSIONS * PAIRS
    goal = f"from press to disk, p99 of {A_BLOCK}, {pairs} pairs: {kind} viewers against {against}"
    return timed_row(goal, MOST_DELAY, beside, without, "ms")


@contextmanager
def clients(kind: str, link: str) -> Iterator[None]:
    """Viewers of a kind, once they stand."""
    process = subprocess.Popen([sys.executable, "-m", "bench.page_clients", kind, link], cwd=ROOT)
    try:
        time.sleep(CLIENTS[kind])
        yield
    finally:
        process.kill()
        process.wait()


def _block(session: Marked, kind: str) -> list[float]:
    """Times from press to disk, in ms."""
    with clients(kind, session.link) if kind else nullcontext():
        before = len(session.marks()["disk-ends"])
        pressed = []
        for number in range(A_BLOCK):
            pressed.append(session.gauge.press(f"59.98{number % 10}"))
            time.sleep(PACE_S)
            wait_until(partial(session.has_more, before + number))
        stored = session.marks()["disk-ends"][before:]
    time.sleep(0.2)  # what they left behind is closed
    return [(end - begin) / 1e6 for begin, end in zip(pressed, stored, strict=True)]


def main() -> int:
    """Measure; 1 with --gate if a goal was missed."""
    parser = argparse.ArgumentParser(prog="python -m bench.page", description=__doc__)
    parser.add_argument("--presses", type=int, default=PRESSES, help="of each page")
    parser.add_argument("--gate", action="store_true", help="end in 1 if a goal is missed")
    parser.add_argument("--folder", type=Path, help="where on a disk; default: temporary")
    options = parser.parse_args()
    if not 20 <= options.presses <= JOURNALS * REPEATS * 8:
        parser.error(f"20 to {JOURNALS * REPEATS * 8} presses")
    with (
        tempfile.TemporaryDirectory(prefix="bench-", dir=options.folder) as name,
        sync_playwright() as driver,
    ):
        folder = Path(name)
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        for about, text in machine(folder):
            print(f"- {about}: {text}")
        print("\n" + latency_table(*latency(browser, folder / "latency", options.presses)) + "\n")
        rows = idle(browser, folder / "idle")
        browser.close()
        rows += [crowded(folder / f"{each[0]}-{each[1]}", *each) for each in CROWDS]
        print(table(rows))
    return int(options.gate and any(row.is_missed for row in rows))


if __name__ == "__main__":
    sys.exit(main())
