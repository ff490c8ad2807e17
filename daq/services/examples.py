"""The plans that are shipped as examples, of engines that do not exist."""

import re
from pathlib import Path

import msgspec

from daq.errors import UsageError
from daq.plan.plan import parse_plan

EXAMPLES = Path(__file__).parents[1] / "plan" / "shipped"


class Example(msgspec.Struct, frozen=True):
    """One example: its name, a line of what it is, and the file's text."""

    name: str
    title: str
    text: str


def examples() -> tuple[Example, ...]:
    """All of them, by name."""
    return tuple(_example(path) for path in sorted(EXAMPLES.glob("*.toml")))


def example(name: str) -> Example:
    """The example called so; raises UsageError that names those there are."""
    for one in examples():
        if one.name == name:
            return one
    known = ", ".join(one.name for one in examples())
    raise UsageError(f"there is no example {name[:60]!r}; there are {known}", "--like")


def _example(path: Path) -> Example:
    text = path.read_text(encoding="utf-8")
    plan = parse_plan(text, path.name)
    readings = sum(len(j.stations) * len(j.angles_deg) * j.repeats for j in plan.journals)
    what = re.sub(r", crankshaft|\s*\(invented\)", "", plan.part)
    unit = plan.journals[0].limits.low.unit
    title = f"{what}: {len(plan.journals)} journals, {unit}, {readings} readings"
    return Example(path.stem, title, text)
