"""Groups of a plan: a stack of their own, and what may be done to their journals when worn."""

from collections.abc import Sequence

import msgspec

from daq.lengths import EXACT, Length, Limits
from daq.plan.examples import written
from daq.plan.fields import (
    check_band,
    check_limit,
    check_name,
    check_positive,
    quoted,
    read_band,
    read_limit,
    read_optional_limit,
)
from daq.plan.schema import GroupTable, UndersizeTable
from drivers.toml_file import WrongKey


class Undersize(msgspec.Struct, frozen=True):
    """One undersize that there are bearings for; all lengths are diameters of the journal.

    `by`: how much smaller than standard the bearing's bore is. `low`, `high`: the finished limits
    of a journal ground for it. `worn_low`: how far such a journal may wear. Where `is_bearing_only`
    nothing is ground: `low` is the smallest journal that the bearing serves, `high` the largest.
    """

    name: str
    by: Length
    low: Length
    high: Length | None = None
    worn_low: Length | None = None
    is_bearing_only: bool = False

    @property
    def serves_from(self) -> Length:
        """The smallest journal that this bearing may still run on."""
        return self.worn_low or self.low


class GroupPlan(msgspec.Struct, frozen=True):
    """A group as the plan describes it. `key` is its place in the file, for messages; `undersizes`
    go from the smallest step to the greatest; bands are (smallest, largest).

    `stack` is a size or a saved name. `shell_wall` is that of the standard bearing.
    """

    key: str
    name: str
    stack: str | None = None
    undersizes: tuple[Undersize, ...] = ()
    greatest_undersize: Length | None = None
    present_undersize: str = ""
    clean_up: Length | None = None
    housing_bore: tuple[Length, Length] | None = None
    shell_wall: tuple[Length, Length] | None = None
    oil_clearance: tuple[Length, Length] | None = None

    @property
    def present(self) -> Undersize | None:
        """The undersize that the part has now; None at standard size."""
        return next((step for step in self.undersizes if step.name == self.present_undersize), None)


def read_group(table: GroupTable, key: str) -> GroupPlan:
    """One [[group]] as written; raises WrongKey for what is no length."""
    return GroupPlan(
        key=key,
        name=table.name,
        stack=table.stack,
        undersizes=tuple(_read_step(step, step_key) for step_key, step in _steps(table, key)),
        greatest_undersize=read_optional_limit(
            table.greatest_undersize, f"{key}.greatest_undersize"
        ),
        present_undersize=table.present_undersize or "",
        clean_up=read_optional_limit(table.clean_up, f"{key}.clean_up"),
        housing_bore=read_band(table.housing_bore, f"{key}.housing_bore"),
        shell_wall=read_band(table.shell_wall, f"{key}.shell_wall"),
        oil_clearance=read_band(table.oil_clearance, f"{key}.oil_clearance"),
    )


def _steps(table: GroupTable, key: str) -> list[tuple[str, UndersizeTable]]:
    """The undersizes of a group, each with its place in the file."""
    return [(f"{key}.undersize[{number}]", step) for number, step in enumerate(table.undersize, 1)]


def _read_step(table: UndersizeTable, key: str) -> Undersize:
    return Undersize(
        name=table.name,
        by=read_limit(table.by, f"{key}.by"),
        low=read_limit(table.low, f"{key}.low"),
        high=read_optional_limit(table.high, f"{key}.high"),
        worn_low=read_optional_limit(table.worn_low, f"{key}.worn_low"),
        is_bearing_only=table.bearing_only,
    )


def check_group(table: GroupTable, key: str) -> None:
    """Refuse a [[group]] that is wrong in itself; raises WrongKey."""
    for step_key, step in _steps(table, key):
        _check_step(step, step_key)
    check_name(table.name, f"{key}.name")
    check_limit(table.greatest_undersize, f"{key}.greatest_undersize")
    check_positive(table.clean_up, f"{key}.clean_up")
    check_band(table.housing_bore, f"{key}.housing_bore")
    check_band(table.shell_wall, f"{key}.shell_wall")
    check_band(table.oil_clearance, f"{key}.oil_clearance")
    group = read_group(table, key)
    _check_order(group)
    _check_greatest(group)
    _check_present(group, table.present_undersize)
    _check_shells(group)


def _check_step(table: UndersizeTable, key: str) -> None:
    check_name(table.name, f"{key}.name")
    for word in ("by", "low", "high", "worn_low"):
        check_limit(getattr(table, word), f"{key}.{word}")
    step = _read_step(table, key)
    if step.by.mm * 4 > step.low.mm:
        raise WrongKey(
            f"{key}.by",
            f"{step.by} is not how much smaller than standard a journal of {step.low} can be. "
            "The undersize stands here, taken off the diameter; the finished diameter goes into "
            "low and high",
        )
    if step.high is None and not step.is_bearing_only:
        raise WrongKey(
            f"{key}.high",
            "missing. Where journals are to be ground both limits are needed: write "
            f"{written('group.undersize.high')}. If nothing is ground for it write "
            "bearing_only = true",
        )
    if step.high is not None and step.low.mm >= step.high.mm:
        raise WrongKey(
            f"{key}.low",
            f"limits upside down: low {step.low} is not under high {step.high}. Exchange them if "
            "they are the wrong way round; else see the manual",
        )
    if step.worn_low is not None and step.is_bearing_only:
        raise WrongKey(
            f"{key}.worn_low",
            "an undersize for bearings only has one low limit: write it as low, and take this out",
        )
    if step.worn_low is not None and step.worn_low.mm > step.low.mm:
        raise WrongKey(
            f"{key}.worn_low",
            f"{step.worn_low} is over the low limit of a freshly ground journal, {step.low}. A "
            "worn one may be smaller: write that limit",
        )


def _check_order(group: GroupPlan) -> None:
    """Refuse a second undersize of one name, and steps that do not go on from one another."""
    names: set[str] = set()
    for number, step in enumerate(group.undersizes, 1):
        key = f"{group.key}.undersize[{number}]"
        if step.name in names:
            raise WrongKey(
                f"{key}.name",
                f"a second undersize {quoted(step.name)}: give each a name of its own",
            )
        names.add(step.name)
        if number > 1:
            _check_beyond(group.undersizes[number - 2], step, key)


def _check_beyond(last: Undersize, step: Undersize, key: str) -> None:
    """Refuse a step that is not beyond the one before it, or shares diameters with it."""
    if step.by.mm <= last.by.mm or step.low.mm >= last.low.mm:
        raise WrongKey(
            f"{key}.by",
            f"undersizes out of order: {step.name} (by {step.by}, low {step.low}) is not beyond "
            f"{last.name} (by {last.by}, low {last.low}) before it. Write "
            "them from the smallest step to the greatest",
        )
    touch = step.is_bearing_only or last.is_bearing_only
    top = step.high
    if top is not None and (top.mm > last.low.mm or (top.mm == last.low.mm and not touch)):
        raise WrongKey(
            f"{key}.high",
            f"undersizes overlap: the high limit {top} of {step.name} is not under the low limit "
            f"{last.low} of {last.name}, so a journal could be of either. Correct one of "
            "the two from the manual",
        )


def _check_greatest(group: GroupPlan) -> None:
    greatest = group.greatest_undersize
    for number, step in enumerate(group.undersizes, 1):
        if greatest is not None and step.by.mm > greatest.mm:
            raise WrongKey(
                f"{group.key}.undersize[{number}].by",
                f"{step.name} is {step.by} under standard, beyond greatest_undersize = {greatest}. "
                "Correct one of the two",
            )


def _check_present(group: GroupPlan, name: str | None) -> None:
    key = f"{group.key}.present_undersize"
    if name is None:
        return
    if group.present is None or not name:
        known = " or ".join(quoted(step.name) for step in group.undersizes[:12])
        remedy = f"write {known}" if known else "it has none. Take this out, or add one"
        raise WrongKey(key, f"{quoted(name)} is no undersize of this group: {remedy}")
    if group.present.high is None:
        raise WrongKey(
            key,
            f"the undersize {name} has no high limit, so a part that has it cannot be judged. "
            "Write its high",
        )


def _check_shells(group: GroupPlan) -> None:
    if group.housing_bore is None or group.shell_wall is None:
        return
    bore, wall = group.housing_bore[0], group.shell_wall[1]
    if EXACT.multiply(wall.mm, 2) >= bore.mm:
        raise WrongKey(
            f"{group.key}.shell_wall",
            f"two walls of {wall} fill the housing bore of {bore}. The wall is the thickness of "
            "one half shell: correct one of the two",
        )


def limits_now(group: GroupPlan, standard: Limits) -> Limits:
    """The limits of a journal as the part is now: those of its present undersize, if it has one.

    Form limits stay: manuals state them for every size alike.
    """
    step = group.present
    if step is None:
        return standard
    return msgspec.structs.replace(standard, low=step.serves_from, high=step.high)


def check_members(group: GroupPlan, journals: Sequence[tuple[str, str, Limits]]) -> None:
    """Refuse undersizes that do not fit the journals (key, name, standard limits) of their group.

    Raises WrongKey. Undersize limits hold for the group, so its journals must share theirs.
    """
    if not group.undersizes:
        return
    for key, name, limits in journals:
        _, first_name, first = journals[0]
        for word in ("low", "high"):
            one: Length | None = getattr(limits, word)
            other: Length | None = getattr(first, word)
            if (one and one.mm) != (other and other.mm):
                raise WrongKey(
                    f"{key}.{word}",
                    f"the group {group.name} has undersizes, so its journals need the same limits: "
                    f"{word} of {name} is {one or 'not given'}, of {first_name} "
                    f"{other or 'not given'}. Correct one, or put them into groups of their own",
                )
    for number, step in enumerate(group.undersizes, 1):
        top = step.high or step.low
        high = journals[0][2].high if journals else None
        if high is not None and top.mm >= high.mm:
            raise WrongKey(
                f"{group.key}.undersize[{number}].{'high' if step.high else 'low'}",
                f"{top} of the undersize {step.name} is not under the standard high limit {high}: "
                "an undersize is smaller than standard. Correct one of the two",
            )
