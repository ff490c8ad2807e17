"""A gauge that `simulate` plays on a pty, and the session with a page that reads it."""

import json
from pathlib import Path
from typing import Any

from tests.system.conftest import Program, Shop

FORM = "number-unit-crlf"

PLAN = """schema = 1
part = "{part}"

[check]
stack = "59.970 mm"
readings = 2
max_age_min = 240
least_interval = "0 s"

[defaults]
least_interval = "0 s"
stations = ["front", "rear"]
angles_deg = [0]

[[journal]]
name = "{first}"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"

[[journal]]
name = "R1"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"
"""

STACK = ("59.970", "59.971")
"""Unlike, as the same value at once after itself looks like a button held down."""
GOOD = ("59.981", "59.982", "59.980", "59.979")
ROUTE = ("M1 front 0°", "M1 rear 0°", "R1 front 0°", "R1 rear 0°")


class PlayedGauge:
    """A gauge in a process of its own: told by lines what is between its anvils."""

    def __init__(self, shop: Shop, link: Path, form: str = FORM) -> None:
        self.program = shop.run(
            "simulate", "--format", form, "--repeatability", "0", "--link", str(link)
        )
        self.program.wait_for_next()
        self.port = str(link)
        self.form = form
        self._told = 0

    def tell(self, *lines: str) -> None:
        """Type lines and wait until they were obeyed: a word that none knows is complained of."""
        self._told += 1
        self.program.type("\n".join((*lines, f"told-{self._told}")))
        self.program.wait_for_talk(f"told-{self._told}")

    def hold(self, size: str) -> None:
        """Put something of this size in mm between its anvils."""
        self.tell(f"stack {size} mm")

    def send(self, size: str) -> None:
        """Measure it and press send."""
        self.program.type(f"stack {size} mm\n")

    def raw(self, data: bytes) -> None:
        """Just these bytes."""
        self.program.type(f"raw {data.hex(' ')}")


class Bench:
    """A shop with a played gauge; what runs there has a page."""

    def __init__(self, shop: Shop, folder: Path) -> None:
        self.shop = shop
        self._folder = folder
        self.write_plan()
        self._gauge: PlayedGauge | None = None
        self.gauge_name = "gauge"
        """Of its link, in the folder of the test."""
        self.links: dict[str, str] = {}
        self.program: Program

    def write_plan(
        self, part: str = "test crank", first: str = "M1", *changes: tuple[str, str]
    ) -> None:
        """The plan, with some texts of it replaced."""
        text = PLAN.format(part=part, first=first)
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        self.shop.plan.write_text(text, encoding="utf-8")

    @property
    def gauge(self) -> PlayedGauge:
        """The gauge, played from when it is first wanted."""
        if self._gauge is None:
            self._gauge = PlayedGauge(self.shop, self._folder / self.gauge_name)
        return self._gauge

    def play(self, form: str) -> PlayedGauge:
        """Another gauge instead."""
        self._gauge = PlayedGauge(self.shop, self._folder / self.gauge_name, form)
        return self._gauge

    @property
    def look(self) -> str:
        """The link to look at."""
        return self.links["board"]

    @property
    def press(self) -> str:
        """The link to look at and press."""
        return self.links["press"]

    def measure(self, *more: str, profile: str = "", **options: Any) -> Program:
        """Begin a session with its page, and wait until the first check is asked for."""
        self.program = self.shop.run(
            *("measure", str(self.shop.plan), "--port", self.gauge.port),
            *("--profile", profile or self.gauge.form, "--session", str(self.shop.session)),
            *("--board", *more),
            **options,
        )
        self.links = self.program.wait_for_next("links")
        self.program.wait_for("stint")
        return self.program

    def resume(self, *more: str) -> Program:
        """Carry the session on, with its page."""
        self.program = self.shop.run("resume", str(self.shop.session), "--board", *more)
        self.links = self.program.wait_for_next("links")
        self.program.wait_for("resumed")
        return self.program

    def prove(self, *more: str) -> Program:
        """Begin a check outside any session, with its page."""
        self.program = self.shop.run(
            *("prove", "--port", self.gauge.port, "--profile", self.gauge.form),
            *("--stack", "59.970 mm", "--max-error", "0.002 mm", "--least-interval", "0"),
            *("--board", *more),
        )
        look = self.program.wait_for_talk("To look at: ")
        press = self.program.wait_for_talk("To look at and press: ")
        self.links = {"board": look.split()[-1], "press": press.split()[-1]}
        return self.program

    def check(self, *sizes: str, passed: bool = True) -> None:
        """Press send on the stack until the check is judged."""
        for size in sizes or STACK:
            self.gauge.send(size)
            self.program.wait_for("check_reading")
        self.program.wait_for("check_judged", passed=passed)

    def read(self, *sizes: str) -> None:
        """Press send on the part, and wait for each reading."""
        for size in sizes:
            self.gauge.send(size)
            self.program.wait_for("reading")

    def hold(self, size: str = "61.000") -> None:
        """A reading that is asked about."""
        self.gauge.send(size)
        self.program.wait_for("held")

    def ledger(self) -> list[dict[str, Any]]:
        """What is stored."""
        text = (self.shop.session / "ledger.jsonl").read_text(encoding="utf-8")
        return [json.loads(line) for line in text.splitlines()]

    def stored(self, kind: str) -> list[dict[str, Any]]:
        """What is stored of one kind."""
        return [line for line in self.ledger() if line["kind"] == kind]
