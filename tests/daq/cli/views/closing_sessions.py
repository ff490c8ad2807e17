"""Sessions of invented parts for the answer that is printed at their end, and its kept texts.

    python -m tests.daq.cli.views.closing_sessions

writes the texts in `answers/` anew; each was read by a person before it was kept.
"""

from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec

from daq.board.shown_lengths import ShownIn
from daq.cli.views.answer import answer
from daq.cli.views.ended import ended
from daq.cli.views.paragraphs import plain_lines
from daq.lengths import Position
from daq.record.state import State, next_position, phase
from daq.rules.commands import Abandon, Keep, Later, StopHere
from tests.builders import Bench, opened, setup
from tests.daq.gauges.study_builders import accepted_study, study_plan, telling

KEPT = Path(__file__).parent / "answers"

HEAD = """\
schema = 1
part = "crankshaft of the Ashdown four"
[check]
stack = "59.970 mm"
readings = 3
max_error = "0.002 mm"
max_spread = "0.002 mm"
max_drift = "0.002 mm"
[[group]]
name = "mains"
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
[[group.undersize]]
name = "0.50"
by = "0.50 mm"
low = "59.470 mm"
high = "59.490 mm"
[[group]]
name = "rods"
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
[defaults]
stations = ["front", "rear"]
angles_deg = [0, 45, 90, 135]
"""
LIMITS = 'low = "59.970 mm"\nhigh = "59.990 mm"\n'
FORM = 'out_of_round = "0.005 mm"\ntaper = "0.005 mm"\n'

Sizes = Callable[[Position], str]


def crank(mains: int = 3, rods: int = 2, limits: str = LIMITS + FORM, head: str = HEAD) -> str:
    """A plan of so many mains and rods, all of one size."""
    names = [(f"M{n}", "mains") for n in range(1, mains + 1)]
    names += [(f"R{n}", "rods") for n in range(1, rods + 1)]
    return head + "".join(
        f'[[journal]]\nname = "{name}"\ngroup = "{group}"\n{limits}' for name, group in names
    )


def sized(worn: Mapping[str, str] | None = None, good: str = "59.982") -> Sizes:
    """All places of a journal as its text says: one size, or eight by station and angle."""

    def size(at: Position) -> str:
        sizes = (worn or {}).get(at.journal, good).split()
        place = ("front", "rear").index(at.station) * 4 + at.angle_deg // 45
        return sizes[place % len(sizes)]

    return size


OVAL = "59.974 59.980 59.986 59.980 59.974 59.980 59.986 59.980"
"""An oval of 0.012 mm, alike at both ends."""


def drive(bench: Bench, size: Sizes, places: int = 100_000, stack: str = "59.970") -> Bench:
    """Press as a hand would: the stack in each check, else the place that is asked for."""
    while bench.state.closed is None:
        if phase(bench.state) is not None:
            bench.press(stack)
            continue
        position = next_position(bench.state)
        if position is None or not places:
            break
        bench.press(size(position))
        places -= 1
    return bench


def begun(folder: Path, plan: str, *ground_to: str) -> Bench:
    """A session of a plan."""
    with_setup = msgspec.structs.replace(setup(), ground_to=ground_to)
    return Bench.new(folder, opened(plan, part="No. 7", with_setup=with_setup))


def all_good(folder: Path) -> State:
    """Every journal inside its limits."""
    return drive(begun(folder, crank()), sized()).close().state


def worn(folder: Path) -> State:
    """M3 0.009 mm under at one place, the others good."""
    sizes = sized({"M3": "59.961 59.962 59.962 59.962"})
    return drive(begun(folder, crank()), sizes).close().state


def form_over(folder: Path) -> State:
    """R2 oval, R1 tapered."""
    taper = "59.984 59.984 59.984 59.984 59.975 59.975 59.975 59.975"
    return drive(begun(folder, crank()), sized({"R2": OVAL, "R1": taper})).close().state


def inch_gauge(folder: Path) -> State:
    """A gauge that went over to inches in the middle of a journal, and was kept: held readings."""
    bench = drive(begun(folder, crank(1, 1)), sized(), 2)
    bench.press("2.36145", unit="in", resolution="0.00005")
    bench.say(Keep())
    return drive(bench, sized()).close().state


def rejected(folder: Path) -> State:
    """The gauge moved by 0.005 mm before the closing check."""
    bench = drive(begun(folder, crank(1, 1)), sized(), 12)
    bench.say(StopHere("the shift ends"))
    return bench.press("59.975", "59.975", "59.975").close().state


def never_checked(folder: Path) -> State:
    """The check before measuring failed, and it was left at that."""
    bench = begun(folder, crank(1, 1)).press("59.978", "59.978", "59.978")
    bench.say(StopHere("gauge to the bench"))
    return bench.close().state


def abandoned(folder: Path) -> State:
    """Given up in the middle."""
    bench = drive(begun(folder, crank(1, 1)), sized(), 12)
    bench.say(Abandon("the customer took it back"))
    return bench.close().state


def still_open(folder: Path) -> State:
    """Left for another day after a good check."""
    bench = drive(begun(folder, crank()), sized({"M1": "59.960"}), 10)
    bench.say(Later())
    return bench.press("59.970", "59.970", "59.970").close().state


def study(folder: Path) -> State:
    """About the gauge, not about a part."""
    return accepted_study(folder, study_plan(), telling).state


def ground_to(folder: Path) -> State:
    """Inspected at 0.25: mains good, a rod too large."""
    sizes = sized({"R2": "59.743 59.742 59.743 59.743"}, "59.730")
    bench = begun(folder, crank(), "0.25")
    return drive(bench, sizes, stack="59.970").close().state


def not_measured(folder: Path) -> State:
    """Abandoned before the first reading of the part."""
    bench = begun(folder, crank()).press("59.970", "59.970", "59.970")
    bench.say(Abandon("wrong crankshaft"))
    return bench.close().state


def undecided(folder: Path) -> State:
    """Two journals too near, one on its limit, one with form too near."""
    form = "59.974 59.977 59.979 59.977"  # an oval of 0.005 mm, which is what the plan allows
    near = {"M1": "59.9708", "M2": "59.9714", "M3": "59.970", "R2": form}
    return drive(begun(folder, crank()), sized(near)).close().state


def two_angles(folder: Path) -> State:
    """Two angles and one station: form cannot be seen, and no group has a name."""
    head = HEAD.replace("[0, 45, 90, 135]", "[0, 90]").replace('["front", "rear"]', '["front"]')
    plan = crank(2, 0, LIMITS, head).replace('group = "mains"\n', "")
    return drive(begun(folder, plan), sized({"M2": "59.981 59.960"})).close().state


def stopped_short(folder: Path) -> State:
    """Accepted, but not whole."""
    bench = drive(begun(folder, crank(1, 1)), sized(), 10)
    bench.say(StopHere("the rest is in the block"))
    return bench.press("59.970", "59.970", "59.970").close().state


def twelve(folder: Path) -> State:
    """Seven mains, five rods: all kinds of verdicts."""
    sizes = {"M3": "59.961", "R2": OVAL, "M6": "59.9705"}
    return drive(begun(folder, crank(7, 5)), sized(sizes)).close().state


def many(folder: Path) -> State:
    """250 journals of one place, twelve of them worn."""
    head = HEAD.replace("[0, 45, 90, 135]", "[0]").replace('["front", "rear"]', '["front"]')
    worn_ones = {f"M{n}": f"59.9{n % 7 + 50}" for n in range(7, 250, 20)}
    return drive(begun(folder, crank(250, 0, LIMITS, head)), sized(worn_ones)).close().state


CASES: Mapping[str, tuple[Callable[[Path], State], int, ShownIn | None, bool]] = {
    "all-good": (all_good, 80, None, False),
    "worn": (worn, 80, None, False),
    "worn-at-60": (worn, 60, None, False),
    "worn-both": (worn, 80, ShownIn.BOTH, False),
    "worn-inch": (worn, 80, ShownIn.INCH, False),
    "worn-details": (worn, 80, None, True),
    "form-over": (form_over, 80, None, False),
    "inch-gauge": (inch_gauge, 80, None, False),
    "rejected": (rejected, 80, None, False),
    "never-checked": (never_checked, 80, None, False),
    "abandoned": (abandoned, 80, None, False),
    "open": (still_open, 80, None, False),
    "study": (study, 80, None, False),
    "ground-to": (ground_to, 80, None, False),
    "not-measured": (not_measured, 80, None, False),
    "undecided": (undecided, 80, None, False),
    "two-angles": (two_angles, 80, None, False),
    "stopped-short": (stopped_short, 80, None, False),
    "twelve": (twelve, 80, None, False),
    "many": (many, 80, None, False),
}
"""By the name of the kept text: the session, the width, the units, with details or without."""


def said(
    state: State, width: int = 80, show: ShownIn | None = None, *, details: bool = False
) -> list[str]:
    """The answer without colour."""
    return plain_lines(answer(ended(state, show), width, details=details))


def text_of(name: str) -> str:
    """The answer of a case."""
    make, width, show, details = CASES[name]
    with TemporaryDirectory() as folder:
        lines = said(make(Path(folder) / "s"), width, show, details=details)
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    for case in CASES:
        (KEPT / f"{case}.txt").write_text(text_of(case), encoding="utf-8")
