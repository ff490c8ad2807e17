"""What a plan is made of while it is being asked for, as an immutable record."""

from typing import Literal, TypeAlias

import msgspec

from daq.lengths import Length

Units: TypeAlias = Literal["mm", "in", "mm in", "in mm"]
"""What the manual prints; of both the first counts, the second is the cross-check."""

UNITS: tuple[Units, ...] = ("mm", "in", "mm in", "in mm")
MAINS, RODS = "mains", "rods"
USUAL_STATIONS = ("front", "rear")
USUAL_ANGLES = (0, 45, 90, 135)


class DraftStep(msgspec.Struct, frozen=True):
    """One undersize: `by` off the diameter, and the finished limits of a journal ground for it.
    `high` is None only where an existing plan has none.
    """

    name: str
    by: Length
    low: Length
    high: Length | None


class DraftGroup(msgspec.Struct, frozen=True):
    """Journals alike, as far as they are known: None and () are not answered, or none.

    `name` is "" for journals of an existing plan that have no group. `mixed`: what differs between
    the journals of an existing plan, "limits" or "form": the values here then mean nothing.
    `is_stack_wanted`: it has none yet, or its limits left the one that it had.
    """

    name: str
    journals: tuple[str, ...] = ()
    low: Length | None = None
    high: Length | None = None
    cross_low: Length | None = None
    cross_high: Length | None = None
    steps: tuple[DraftStep, ...] = ()
    out_of_round: Length | None = None
    taper: Length | None = None
    stack: str = ""
    is_stack_wanted: bool = False
    mixed: tuple[str, ...] = ()


class Offer(msgspec.Struct, frozen=True):
    """A stack that the blocks at hand make near a group's low limit; `size` is "" for none."""

    group: str
    low: Length
    size: str
    words: str


class Draft(msgspec.Struct, frozen=True):
    """All answers so far. `asked`: the keys of the questions that are answered, in that order.

    `units` is "" until asked, so are `part` and `blocks`. `strip`: journals that are reached only
    after stripping. `before`: the text of the plan that is being changed, `on_disk` that of the
    file as it was found, None for no file: they differ where an example is changed. `mixed`: which
    of "stations" and "angles" differ between its journals. `offers` are made for `blocks` as they
    are in `offered_for`.
    """

    part: str = ""
    units: Units | Literal[""] = ""
    groups: tuple[DraftGroup, ...] = ()
    stations: tuple[str, ...] = USUAL_STATIONS
    angles_deg: tuple[int, ...] = USUAL_ANGLES
    strip: tuple[str, ...] = ()
    blocks: str = ""
    asked: tuple[str, ...] = ()
    before: str | None = None
    on_disk: str | None = None
    mixed: tuple[str, ...] = ()
    offers: tuple[Offer, ...] = ()
    offered_for: str = ""

    @property
    def unit(self) -> str:
        """The unit that counts, mm where it was not asked yet."""
        return self.units.partition(" ")[0] or "mm"

    @property
    def other_unit(self) -> str:
        """The other one."""
        return "in" if self.unit == "mm" else "mm"

    @property
    def has_both_units(self) -> bool:
        """The manual prints a cross-check."""
        return " " in self.units

    def group(self, name: str) -> DraftGroup | None:
        """The group of that name."""
        return next((group for group in self.groups if group.name == name), None)

    def with_group(self, group: DraftGroup) -> "Draft":
        """With this group in the place of its namesake, or behind the others."""
        if self.group(group.name) is None:
            return msgspec.structs.replace(self, groups=(*self.groups, group))
        groups = tuple(group if one.name == group.name else one for one in self.groups)
        return msgspec.structs.replace(self, groups=groups)

    def offer(self, name: str) -> Offer | None:
        """The stack offered for a group."""
        return next((offer for offer in self.offers if offer.group == name), None)

    @property
    def journals(self) -> tuple[str, ...]:
        """The names of all journals."""
        return tuple(name for group in self.groups for name in group.journals)
