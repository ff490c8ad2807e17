"""What the simulator can play, as text for people."""

from __future__ import annotations

from simulator import script
from simulator.faults import FAULTS
from simulator.formats import FORMATS


def catalogue() -> str:
    """Formats, faults and script words, a line each."""
    width = max(map(len, FORMATS)) + 2
    lines = ["Formats:"]
    lines += [f"  {name:<{width}}{one.title}" for name, one in FORMATS.items()]
    lines += ["", "Faults, and the chance that each strikes a frame if nothing is said:"]
    lines += [f"  {name:<{width}}{kind.rate:<6g}{kind.title}" for name, kind in FAULTS.items()]
    words = (script.__doc__ or "").partition("\n\n")[2].splitlines()
    lines += ["", "Script words, one a line:", *(f"  {line}" for line in words)]
    return "\n".join(lines)
