"""What a run measures in: temperatures, how far each thing expands, the stacks by name. Pure."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.equipment.stacks.stack_file import Stack, read_stack
from daq.metrology.expansion import Coefficient, at_reference, factor
from daq.plan.plan import Plan, TemperaturePlan
from daq.record.events import Setup


class Environment(msgspec.Struct, frozen=True):
    """Temperatures of one run in degrees Celsius, None where not given, and what expands by how
    much. `stacks` holds the saved stacks by name.
    """

    part_c: Decimal | None
    gauge_c: Decimal | None
    stack_c: Decimal | None
    plan: TemperaturePlan
    stacks: Mapping[str, Stack]


class Reference(msgspec.Struct, frozen=True):
    """What fixes the size that the gauge shows: its temperature, None if not known, and its
    coefficient; `name` for people.
    """

    name: str
    celsius: Decimal | None
    coefficient: Coefficient


def environment(plan: Plan, setup: Setup) -> Environment:
    """That of one run, by its record; raises SettingsError for a stack file that is none."""
    given = setup.temperatures
    return Environment(
        part_c=_degrees(given.part),
        gauge_c=_degrees(given.gauge),
        stack_c=_degrees(given.stack),
        plan=plan.temperature,
        stacks={
            name: read_stack(text, name, f"the stack {name} in the record")
            for name, text in setup.stack_files.items()
        },
    )


def _degrees(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def reference(around: Environment, stack: str) -> Reference:
    """The stack, which proved the gauge right before and after; where only the gauge's temperature
    is known the stack is taken to have the same.
    """
    if around.stack_c is None and around.gauge_c is not None:
        return Reference("gauge", around.gauge_c, around.plan.gauge)
    saved = around.stacks.get(stack)
    own = saved.coefficient if saved is not None else None
    return Reference("stack", around.stack_c, own or around.plan.stack)


def at_20c(around: Environment, stack: str, mm: Decimal) -> Decimal:
    """A diameter as read, in mm, at 20 degrees Celsius (ISO 1).

    The same number where part and reference share temperature and coefficient: then nothing is to
    be corrected. A part whose temperature is not known is taken to be as warm as the reference; one
    whose temperature is given alone is corrected against a stack at 20 degrees.
    """
    if around.part_c is None and around.stack_c is None and around.gauge_c is None:
        return mm  # nothing was given
    against = reference(around, stack)
    part_c = around.part_c if around.part_c is not None else against.celsius
    if part_c is None:
        return mm
    return at_reference(
        mm,
        part_c=part_c,
        part=around.plan.part,
        reference_c=against.celsius if against.celsius is not None else Decimal(20),
        reference=against.coefficient,
    )


def ratio_at_20c(around: Environment, stack: str) -> Fraction:
    """What a diameter as read is multiplied by to be that at 20 degrees Celsius, exactly; see
    `at_20c`, whose rules for temperatures that were not given hold here too.
    """
    against = reference(around, stack)
    part_c = around.part_c if around.part_c is not None else against.celsius
    if part_c is None:
        return Fraction(1)
    return factor(
        part_c=part_c,
        part=around.plan.part,
        reference_c=against.celsius if against.celsius is not None else Decimal(20),
        reference=against.coefficient,
    )
