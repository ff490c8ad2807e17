"""What the guest's tests came to."""

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import NamedTuple


class Counts(NamedTuple):
    """Tests of one run: how many there were, how many failed or broke, how many were skipped."""

    ran: int
    failed: int
    skipped: int

    def __str__(self) -> str:
        return f"{self.ran} tests ran in the guest, {self.failed} failed, {self.skipped} skipped"


def merged(results: Path) -> ET.Element:
    """The suites of all JUnit files of a run under one root."""
    whole = ET.Element("testsuites")
    for path in sorted(results.glob("*.xml")):
        whole.extend(ET.parse(path).iter("testsuite"))
    return whole


def counted(suites: ET.Element) -> Counts:
    """The sums over all suites; skipped tests are not among those that ran."""

    def total(name: str) -> int:
        return sum(int(suite.get(name, "0")) for suite in suites.iter("testsuite"))

    skipped = total("skipped")
    return Counts(total("tests") - skipped, total("failures") + total("errors"), skipped)


def shortcoming(results: Path, runs: tuple[str, ...]) -> str:
    """Why these runs of pytest are no success; "" if they are one. No result is never one."""
    for run in runs:
        status = results / f"{run}.status"
        if not status.exists() or not (results / f"{run}.xml").exists():
            return f"the guest left no result of {run}"
        if status.read_text().strip() != "0":
            return f"pytest ended with {status.read_text().strip()} in {run}"
    counts = counted(merged(results))
    if counts.failed:
        return "a test failed"
    if counts.skipped:
        return "a skipped test proves nothing"
    return "" if counts.ran else "no test ran"
