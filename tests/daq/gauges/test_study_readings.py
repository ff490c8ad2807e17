"""What a study goes by: the coarsest step, places in an order of their own, what is kept of it."""

from decimal import Decimal
from pathlib import Path

from daq.gauges.study import evaluate
from daq.gauges.study_data import gathered
from daq.lengths import Position
from daq.plan.route import Stop, study_route
from daq.rules.commands import Later
from daq.services.study_keeping import record
from tests.builders import Bench, opened
from tests.daq.gauges.study_builders import accepted_study, press_route, study_plan, telling


def test_the_coarsest_step_of_a_study_counts(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    bench = Bench.new(folder, opened(study_plan()))
    press_route(bench, telling, presses=6)
    bench.say(Later())
    bench.press("59.970", "59.970").close()
    # on the second day the gauge shows one digit more
    again = Bench.again(folder, bench.now_us + 1)
    again.press("59.9700", "59.9700", resolution="0.0001")
    for _ in range(6):
        again.press("59.9750", resolution="0.0001")
    again.press("59.9700", "59.9700", resolution="0.0001").close()
    assert again.state.closed is not None
    assert again.state.closed.verdict == "accepted"
    assert gathered(again.state).step_mm == Decimal("0.001")


def test_the_places_of_a_journal_come_in_another_order_each_turn() -> None:
    stop = Stop("M1", "A", ("front", "rear"), (0, 45, 90), 8, False)
    route = study_route([stop], 2, 4, 1)
    turns = {tuple(p.place for p in route[start : start + 6]) for start in range(0, 48, 6)}
    assert len(turns) == 8
    assert {frozenset(turn) for turn in turns} == {frozenset(turns.pop())}


def crossed(position: Position, operator: int, trial: int) -> Decimal:
    """Operator A reads P1 large, B reads P2 large; a micrometre between trials."""
    up = operator == int(position.journal[1:]) - 1
    return Decimal("59.975") + (Decimal("0.005") if up else 0) + Decimal(trial) / 1000


def test_a_kept_study_says_what_became_of_the_interaction(tmp_path: Path) -> None:
    def kept(name: str, sizes: Decimal | None) -> str:
        bench = accepted_study(
            tmp_path / name, study_plan(2), crossed if sizes is None else lambda *_: sizes
        )
        return record(evaluate(gathered(bench.state))).interaction

    assert kept("crossed", None).startswith("significant: p = 0.00")
    assert kept("alike", Decimal("59.980")) == "pooled: no scatter"
