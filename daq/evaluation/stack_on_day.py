"""How well the stack of a stint is known on the day of a reading. Pure."""

from datetime import date
from functools import lru_cache

import msgspec

from daq.equipment.stacks.stack_file import Stack, assumed_stack
from daq.lengths import parse_length
from daq.record.environment import Environment
from daq.record.events import StintBegan


class StackOnDay(msgspec.Struct, frozen=True):
    """Standard uncertainties in mm, and why; `joints` of the stack."""

    u_mm: float
    words: str
    joints: int
    wringing_u_mm: float


def stack_of(around: Environment, stint: StintBegan) -> Stack:
    """The saved stack that a stint was proven on, or what is assumed of a bare size."""
    return around.stacks.get(stint.stack) or _assumed(stint.stack_size)


@lru_cache(maxsize=64)
def _assumed(size: str) -> Stack:
    return assumed_stack(parse_length(size))


@lru_cache(maxsize=64)
def stack_on_day(stack: Stack, day: date) -> StackOnDay:
    """A stack on one day, by which a certificate may be out of date."""
    found = stack.standard_uncertainty_mm(day)
    return StackOnDay(found.u_mm, found.words, stack.joints, stack.wringing_u_mm)
