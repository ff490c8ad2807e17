"""Study sessions made in-process: sizes by part, operator and trial, pressed in route order."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from daq.lengths import Position
from daq.plan.turns import turn_in
from daq.record.events import Opened
from daq.record.state import next_position, phase
from tests.builders import Bench, opened

Sizes = Callable[[Position, int, int], Decimal]
"""The reading in mm of a place by an operator (from 0) in a trial (from 1)."""


def study_plan(
    journals: int = 3, operators: str = '["A", "B"]', trials: int = 2, more: str = ""
) -> str:
    """Journals P1, P2, ... of one place each."""
    listed = "".join(
        f'[[journal]]\nname = "P{number}"\nlow = "59.970 mm"\nhigh = "59.990 mm"\n'
        for number in range(1, journals + 1)
    )
    return (
        'schema = 1\npart = "test shafts"\n[check]\nstack = "59.970 mm"\nreadings = 2\n'
        f"[study]\noperators = {operators}\ntrials = {trials}\n{more}\n"
        f'[defaults]\nstations = ["middle"]\nangles_deg = [0]\n{listed}'
    )


def press_route(bench: Bench, sizes: Sizes, presses: int | None = None) -> None:
    """Check before, then as many places of the route as there are, or `presses` of them."""
    study = bench.state.plan.study
    assert study is not None
    bench.press("59.970", "59.970")
    while presses is None or presses > 0:
        position = next_position(bench.state)
        if position is None or phase(bench.state) is not None:
            return
        turn = turn_in(study, position.repeat)
        bench.press(f"{sizes(position, turn.operator, turn.trial):f}")
        presses = None if presses is None else presses - 1


def accepted_study(folder: Path, plan: str, sizes: Sizes, first: Opened | None = None) -> Bench:
    """A whole study, closed as accepted; its ledger is given back."""
    bench = Bench.new(folder, first or opened(plan))
    press_route(bench, sizes)
    bench.press("59.970", "59.970")
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    return bench.close()


def telling(position: Position, operator: int, trial: int) -> Decimal:
    """A size that says where it comes from: 59.97 + part, operator, trial in the last digits."""
    return Decimal(f"59.97{int(position.journal[1:])}") + Decimal(operator * 3 + trial) / 10000
