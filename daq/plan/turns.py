"""Who measures in a gauge study, and which time: the meaning of a reading's repeat. Pure."""

from daq.plan.plan import StudyPlan
from daq.plan.route import Turn, turn_of


def turn_in(study: StudyPlan, repeat: int) -> Turn:
    """The turn that a position's repeat stands for."""
    return turn_of(repeat, len(study.operators))


def operator_of(study: StudyPlan, repeat: int) -> str:
    """The name of the operator who measures that repeat."""
    return study.operators[turn_in(study, repeat).operator]


def turn_words(study: StudyPlan, repeat: int) -> str:
    """Whose turn it is, like "operator B, trial 2"."""
    return f"operator {operator_of(study, repeat)}, trial {turn_in(study, repeat).trial}"
