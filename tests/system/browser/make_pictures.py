"""`python -m tests.system.browser.make_pictures FOLDER`: pictures of one invented session's page.

Seven moments, each at every size, light and dark: MOMENT-WIDTH-SCHEME.png. To be looked at; two of
them are kept for README in `kept/`.
"""

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import sync_playwright

from daq.cli.app import __file__ as program_file
from tests.system.browser.played import Bench
from tests.system.browser.viewer import ARGUMENTS, CHROMIUM, SIZES, Viewer
from tests.system.conftest import Shop
from tests.system.launcher import Launcher

PLAN = Path(program_file).with_name("demo_plan.toml")
ANGLES = (0, 45, 90, 135)
ROUTE = [
    (journal, station, angle)
    for journal in ("M1", "M2", "M3", "M4", "R1", "R2", "R3")
    for station in ("front", "rear")
    for angle in ANGLES
]
GAUGE_LINK = "/tmp/gauge"
STACKS = {"M": "59.97", "R": "50.78"}
WORN_AT = 19
"""The place at which the picture of a value below its limit is taken: M3 is worn."""


class Sitting:
    """One session, played place by place, and what is photographed of it."""

    def __init__(self, bench: Bench, page: Viewer, folder: Path) -> None:
        self.bench = bench
        self.page = page
        self._folder = folder

    def take(self, moment: str) -> None:
        """Its pictures."""
        page = self.page.page
        for size in SIZES:
            page.set_viewport_size({"width": size.width, "height": size.height})
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
                page.wait_for_timeout(100)
                page.screenshot(path=self._folder / f"{moment}-{size.width}-{scheme}.png")

    def check(self, stack: str) -> None:
        """Five readings of a stack."""
        for _ in range(5):
            self.bench.gauge.tell(f"stack {stack} mm", "")
            self.bench.program.wait_for("check_reading")
        self.bench.program.wait_for("check_judged")

    def measure(self, places: list[tuple[str, str, int]]) -> None:
        """Each place in turn, and a check where the stack changes."""
        for journal, station, angle in places:
            self.bench.gauge.tell(f"at {journal} {station} {angle}", "")
            self.bench.program.wait_for("reading")
        self.page.page.wait_for_timeout(300)


@contextmanager
def sitting(folder: Path) -> Iterator[Sitting]:
    """A session that waits for its first check."""
    Path(GAUGE_LINK).unlink(missing_ok=True)
    launcher = Launcher()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        shop = Shop(Path(name), launcher)
        bench = Bench(shop, Path(name))
        bench.gauge_name = GAUGE_LINK
        shop.plan.write_bytes(PLAN.read_bytes())
        # Not the shipped one: to that the same value at once again is a button held down.
        options = ("--job", "4711", "--operator", "A. Turner")
        bench.measure(*options, profile=str(shop.profile))
        page = Viewer(browser, bench.press)
        page.open()
        try:
            yield Sitting(bench, page, folder)
        finally:
            browser.close()
            shop.clean_up()
            launcher.close()


def main() -> int:
    """Play it and take the pictures."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with sitting(folder) as at:
        bench, page = at.bench, at.page
        mains, rods = ROUTE[:32], ROUTE[32:]
        at.check(STACKS["M"])
        at.measure(mains[:14])
        at.take("measuring")
        bench.hold("61.004")
        page.is_at("Keep or drop?")
        at.take("held")
        page.press("drop")
        bench.program.wait_for("dropped")
        at.measure(mains[14:WORN_AT])
        at.take("below")
        bench.gauge.tell("unplug")
        bench.program.wait_for("link_lost")
        page.is_at("Cable out")
        at.take("lost")
        bench.gauge.tell("replug")
        bench.program.wait_for("link_back")
        at.check(STACKS["M"])
        at.measure(mains[:3])
        at.take("again")
        page.context.set_offline(True)
        page.is_stale()
        at.take("stale")
        page.context.set_offline(False)
        page.is_live()
        at.measure(mains[3:])
        at.check(STACKS["M"])
        at.check(STACKS["R"])
        at.measure(rods)
        at.check(STACKS["R"])
        bench.program.end()
        page.shows("answer", "Session ")
        at.take("end")
    return 0


if __name__ == "__main__":
    sys.exit(main())
