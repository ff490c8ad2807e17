"""A stack of wrung gauge blocks: its size and how well that is known. Pure.

The length of a block by definition includes one wringing film (ISO 3650 3.2, from memory), so
nothing is added for a joint; what remains is how well wringing repeats.
"""

import math
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import msgspec

from daq.equipment.stacks.block import Block
from daq.equipment.stacks.grades import LONGEST_MM, change_um_per_year, limit_um
from daq.lengths import EXACT, Length
from daq.metrology.expansion import Coefficient
from daq.metrology.uncertainty.components import rectangular

WRINGING_UM = 0.012
"""Standard deviation of the length of one joint, in um: the largest of 3 to 12 nm that eleven
laboratories of a key comparison found (a later review, quoted with Siddall and Willey, J. Phys. D
3 (1970))."""

ASSUMED_GRADE = "2"
"""Taken where nobody states a grade: the widest limits of ISO 3650. Chosen by us."""

_SMALL_BLOCKS = 3
_SMALL = Length(Decimal(10), "mm")
_MM_PER_UM = 1e-3
_DAYS_A_YEAR = 365.25


class StackUncertainty(msgspec.Struct, frozen=True):
    """How well a stack's size is known, wringing apart: `u_mm` is a standard uncertainty in mm.

    `basis`: "certificate", "certificate and grade", "grade" or "assumed"; `words` say how it comes
    about, for people.
    """

    u_mm: float
    basis: str
    words: str
    dof: float = math.inf


class Stack(msgspec.Struct, frozen=True):
    """A stack. `nominal`: the sum of its blocks as engraved; `size`: that with the certified
    deviations, which is what a gauge is compared with. `blocks` is empty for a bare size.

    `grade` is that of all blocks, "" where nobody states it. `coefficient` is None where the file
    has none. `text` is the file as read.
    """

    name: str
    nominal: Length
    size: Length
    blocks: tuple[Block, ...] = ()
    set_name: str = ""
    grade: str = ""
    certificate: str = ""
    certificate_date: date | None = None
    certificate_due: date | None = None
    coefficient: Coefficient | None = None
    text: str = ""

    @property
    def joints(self) -> int:
        """Wrung joints between blocks; those of an assumed composition for a bare size."""
        return len(self.blocks or assumed_blocks(self.nominal)) - 1

    @property
    def wringing_u_mm(self) -> float:
        """Standard uncertainty of all joints together in mm: independent, so in quadrature."""
        return WRINGING_UM * _MM_PER_UM * math.sqrt(self.joints)

    @property
    def deviation_um(self) -> Decimal:
        """Size less nominal, in um, exactly."""
        total = Decimal(0)
        for block in self.blocks:
            total = EXACT.add(total, block.deviation_um or Decimal(0))
        return total

    @property
    def limit_um(self) -> Decimal | None:
        """Largest deviation of the whole stack that the grade permits; None without a grade."""
        if not self.grade or not self.blocks:
            return None
        return sum_limit_um(self.grade, self.blocks)

    def is_out_of_date(self, on: date) -> bool:
        """Its certificate was due before this day."""
        return self.certificate_due is not None and self.certificate_due < on

    def standard_uncertainty_mm(self, on: date) -> StackUncertainty:
        """How well the size is known on a day, wringing apart.

        Certified blocks: U/k of all of one certificate add linearly, as they share its reference,
        and so does what blocks may change in a year since (limits of ISO 3650 6.2.4, rectangular).
        Others, and all once the certificate is out of date: the grade's limits, rectangular, in
        quadrature; a deviation that was certified once then counts in full besides. Source: JCGM
        100:2008, 4.3.7, 5.1.2 and 5.2.2.
        """
        blocks = self.blocks or assumed_blocks(self.nominal)
        is_old = self.is_out_of_date(on)
        certified = [block for block in blocks if block.is_certified and not is_old]
        others = [block for block in blocks if not block.is_certified or is_old]
        grade = self.grade or ASSUMED_GRADE
        linear = sum(block.certificate_u_um for block in certified)
        years = self._years(on)
        changed = years * sum(
            rectangular(float(change_um_per_year(grade, block.nominal))) for block in certified
        )
        squares = linear**2 + changed**2
        for block in others:
            squares += float(limit_um(grade, block.nominal)) ** 2 / 3
            squares += float(block.deviation_um or 0) ** 2
        words = self._words(certified, others, is_old, years, on)
        return StackUncertainty(
            math.sqrt(squares) * _MM_PER_UM, self._basis(certified, others), "; ".join(words)
        )

    def _years(self, on: date) -> float:
        """Since the certificate's date; one where it has none or the calendar runs backwards."""
        if self.certificate_date is None or on < self.certificate_date:
            return 1.0
        return (on - self.certificate_date).days / _DAYS_A_YEAR

    def _basis(self, certified: Sequence[Block], others: Sequence[Block]) -> str:
        if certified:
            return "certificate and grade" if others else "certificate"
        return "grade" if self.grade and self.blocks else "assumed"

    def _words(
        self,
        certified: Sequence[Block],
        others: Sequence[Block],
        is_old: bool,
        years: float,
        on: date,
    ) -> list[str]:
        words = []
        if is_old:
            words.append(
                f"the certificate {self.certificate} was due on {self.certificate_due} and is out "
                f"of date on {on}: its uncertainties are not used, its deviations are and count "
                "in full as uncertainty"
            )
        if certified:
            since = "a year" if self.certificate_date is None else f"{years:.1f} years"
            words.append(
                f"certificate {self.certificate}: U/k of {_count(certified)} added linearly, and "
                f"the permitted change of {since} since"
            )
        if others:
            what = (
                f"limits of grade {self.grade}"
                if self.grade
                else f"grade not stated: limits of grade {ASSUMED_GRADE} assumed"
            )
            how = f"{what}, rectangular, {_count(others)} in quadrature"
            if not self.blocks:
                how += f": one in the band of {self.nominal}, {_SMALL_BLOCKS} of up to {_SMALL}"
            words.append(how)
        return words


def _count(blocks: Sequence[Block]) -> str:
    return f"{len(blocks)} block{'s' if len(blocks) != 1 else ''}"


def assumed_blocks(size: Length) -> tuple[Block, ...]:
    """The blocks that a bare size may be made of, for its uncertainty only.

    One block of the size's own band and three of the smallest band, which is what the common sets
    give for most sizes or a little more; a size over 500 mm has as many of 500 mm as it takes.
    Chosen by us.
    """
    whole, rest = divmod(size.mm, LONGEST_MM)
    long = [Length(LONGEST_MM, "mm")] * int(whole)
    if rest:
        long.append(Length(rest, "mm"))
    return tuple(Block(nominal) for nominal in (*long, *[_SMALL] * _SMALL_BLOCKS))


def sum_limit_um(grade: str, blocks: Sequence[Block]) -> Decimal:
    """The limits of all blocks added up, in um: the worst that the grade permits."""
    total = Decimal(0)
    for block in blocks:
        total = EXACT.add(total, limit_um(grade, block.nominal))
    return total
