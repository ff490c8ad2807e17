"""All that looks wrong in a plan, from all who know something of it: plan, home and gauge."""

from pathlib import Path

from daq.errors import PlanError
from daq.plan.decidable import GaugeKnown, undecidable
from daq.plan.plan import Plan, parse_plan
from daq.plan.review import Finding, findings, inch_reach
from daq.plan.scope import make_scope, stacks_wanted
from daq.services.home import saved_stack


def doubts(text: str, source: str, home: Path, known: GaugeKnown | None) -> tuple[Finding, ...]:
    """What looks wrong in the plan in `text`, in the order of its tables, then what its stacks and
    a gauge cannot do. Raises PlanError where it cannot be used.
    """
    plan = parse_plan(text, source)
    found = (*findings(plan), *inch_reach(text), *_unproven(plan, home))
    return found if known is None else (*found, *undecidable(plan, known))


def _unproven(plan: Plan, home: Path) -> tuple[Finding, ...]:
    """Why `measure` would refuse the plan's own stacks, which a plan alone may leave open."""
    try:
        names = stacks_wanted(plan, (), None).values()
    except PlanError:  # it leaves the stack to --stack
        return ()
    try:
        saved = {name: size for name in names if (size := saved_stack(name, home)) is not None}
        make_scope(plan, (), None, saved)
    except PlanError as error:
        return (Finding(error.key, "measure-refuses", error.reason),)
    return ()
