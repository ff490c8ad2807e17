"""Groups of a plan: a stack of their own, and what may be done to their journals when worn."""

from collections.abc import Sequence

import msgspec

from daq.lengths import EXACT, Length, Limits
from daq.plan.fields import band, limit, name_in, needed_limit, positive
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


def group_in(table: GroupTable, key: str) -> GroupPlan:
    """One [[group]], checked in itself; raises WrongKey."""
    steps = tuple(
        _undersize(step, f"{key}.undersize[{number}]")
        for number, step in enumerate(table.undersize, 1)
    )
    group = GroupPlan(
        key=key,
        name=name_in(table.name, f"{key}.name"),
        stack=table.stack,
        undersizes=steps,
        greatest_undersize=limit(table.greatest_undersize, f"{key}.greatest_undersize"),
        present_undersize=table.present_undersize or "",
        clean_up=None if table.clean_up is None else positive(table.clean_up, f"{key}.clean_up"),
        housing_bore=band(table.housing_bore, f"{key}.housing_bore"),
        shell_wall=band(table.shell_wall, f"{key}.shell_wall"),
        oil_clearance=band(table.oil_clearance, f"{key}.oil_clearance"),
    )
    names: set[str] = set()
    for number, step in enumerate(steps, 1):
        if step.name in names:
            raise WrongKey(f"{key}.undersize[{number}].name", f"a second undersize {step.name!r}")
        names.add(step.name)
        if number > 1:
            _in_order(steps[number - 2], step, f"{key}.undersize[{number}]")
    _greatest(group)
    _present(group, table.present_undersize)
    _room(group)
    return group


def _undersize(table: UndersizeTable, key: str) -> Undersize:
    step = Undersize(
        name=name_in(table.name, f"{key}.name"),
        by=needed_limit(table.by, f"{key}.by"),
        low=needed_limit(table.low, f"{key}.low"),
        high=limit(table.high, f"{key}.high"),
        worn_low=limit(table.worn_low, f"{key}.worn_low"),
        is_bearing_only=table.bearing_only,
    )
    if step.by.mm * 4 > step.low.mm:
        raise WrongKey(
            f"{key}.by",
            f"{step.by} is not how much smaller than standard a journal of {step.low} can be. "
            "`by` is the undersize, taken off the diameter; the finished diameter goes into low "
            "and high",
        )
    if step.high is None and not step.is_bearing_only:
        raise WrongKey(f"{key}.high", "this key is required where journals are to be ground")
    if step.high is not None and step.low.mm >= step.high.mm:
        raise WrongKey(
            f"{key}.low", f"limits upside down: low {step.low} is not under high {step.high}"
        )
    if step.worn_low is not None and step.is_bearing_only:
        raise WrongKey(
            f"{key}.worn_low", "a bearing-only undersize has one low limit: write it as low"
        )
    if step.worn_low is not None and step.worn_low.mm > step.low.mm:
        raise WrongKey(
            f"{key}.worn_low",
            f"{step.worn_low} is over the low limit of a freshly ground journal, {step.low}",
        )
    return step


def _in_order(last: Undersize, step: Undersize, key: str) -> None:
    """Refuse a step that is not beyond the one before it, or shares diameters with it."""
    if step.by.mm <= last.by.mm or step.low.mm >= last.low.mm:
        raise WrongKey(
            f"{key}.by",
            f"undersizes out of order: {step.name} (by {step.by}, low {step.low}) is not beyond "
            f"{last.name} (by {last.by}, low {last.low}) before it",
        )
    touch = step.is_bearing_only or last.is_bearing_only
    top = step.high
    if top is not None and (top.mm > last.low.mm or (top.mm == last.low.mm and not touch)):
        raise WrongKey(
            f"{key}.high",
            f"undersizes overlap: the high limit {top} of {step.name} is not under the low limit "
            f"{last.low} of {last.name}, so a journal could be of either",
        )


def _greatest(group: GroupPlan) -> None:
    greatest = group.greatest_undersize
    for number, step in enumerate(group.undersizes, 1):
        if greatest is not None and step.by.mm > greatest.mm:
            raise WrongKey(
                f"{group.key}.undersize[{number}].by",
                f"{step.name} is {step.by} under standard, beyond greatest_undersize = {greatest}",
            )


def _present(group: GroupPlan, name: str | None) -> None:
    key = f"{group.key}.present_undersize"
    if name is None:
        return
    if group.present is None or not name:
        known = ", ".join(step.name for step in group.undersizes) or "none"
        raise WrongKey(key, f"{name!r} is no undersize of this group (there are: {known})")
    if group.present.high is None:
        raise WrongKey(
            key, f"the undersize {name} has no high limit, so a part that has it cannot be judged"
        )


def _room(group: GroupPlan) -> None:
    if group.housing_bore is None or group.shell_wall is None:
        return
    bore, wall = group.housing_bore[0], group.shell_wall[1]
    if EXACT.multiply(wall.mm, 2) >= bore.mm:
        raise WrongKey(
            f"{group.key}.shell_wall",
            f"two walls of {wall} fill the housing bore of {bore}. The wall is the thickness of "
            "one half shell",
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
    """Do the undersizes fit the journals (key, name, standard limits) of their group?

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
                    f"{other or 'not given'}. Put them into groups of their own",
                )
    for number, step in enumerate(group.undersizes, 1):
        top = step.high or step.low
        high = journals[0][2].high if journals else None
        if high is not None and top.mm >= high.mm:
            raise WrongKey(
                f"{group.key}.undersize[{number}].{'high' if step.high else 'low'}",
                f"{top} of the undersize {step.name} is not under the standard high limit {high}",
            )
