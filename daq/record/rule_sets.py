"""What differs in a record by the rule set that judged it: the one place that chooses. Pure."""

from decimal import Decimal

from daq.metrology.gauge_check import CHECKS, EARLIER_CHECKS, CheckRules
from daq.record.environment import Environment, at_20c

RULE_SET_3 = 3
"""From this one on the estimate is judged: less the gauge's error on the stack, of the mean of a
place; by `daq.evaluation`. Before it: `daq.evaluation.earlier`."""

EARLIER_MODELS = (2,)
"""Earlier rule sets whose numbers can still be computed again in full."""


def size_mm(rules: int, around: Environment, stack: str, mm: Decimal) -> Decimal:
    """The size in mm that is judged, of a diameter read as `mm`.

    Rule set 1 judged what was read; from 2 on it is the size at 20 degrees Celsius.
    """
    return mm if rules == 1 else at_20c(around, stack, mm)


def check_rules(rules: int) -> CheckRules:
    """What holds for the checks of a run that judges by rule set `rules`."""
    return EARLIER_CHECKS if rules < 3 else CHECKS
