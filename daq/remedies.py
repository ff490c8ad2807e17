"""What would settle an undecided limit: better measurements, with the guards they bring. Pure."""

import math
from collections.abc import Callable, Sequence
from decimal import Decimal

import msgspec

from daq.diameter import Circumstances, Expanded, form_uncertainty, size_uncertainty
from daq.terms import EXACT, plain
from daq.uncertainty.components import rectangular


class Remedy(msgspec.Struct, frozen=True):
    """A better measurement: in words, and the circumstances that it would bring."""

    words: str
    about: Circumstances


def remedies(about: Circumstances) -> list[Remedy]:
    """What a shop can do to know a diameter better, the easiest first."""
    replace = msgspec.structs.replace
    reference = about.reference
    found = []
    if about.error_mm:
        found.append(
            Remedy("set the gauge right on the stack and begin again", replace(about, error_mm=0.0))
        )
    if about.part_c is None or reference.celsius is None:
        at_20 = reference.celsius or about.part_c or Decimal(20)
        found.append(
            Remedy(
                "let part, gauge and stack come to the same temperature, measure and give it",
                replace(about, part_c=at_20, reference=replace(reference, celsius=at_20)),
            )
        )
    if math.isfinite(about.reading_dof):
        known = replace(about, reading_dof=30.0, is_reading_as_check=False)
        found.append(Remedy("take more repeats, or keep a gauge study", known))
    if about.check_readings < 10:
        found.append(Remedy("read the stack ten times a check", _often_checked(about)))
    found.append(
        Remedy(
            "a check limit on drift half as wide, with checks in between",
            replace(about, max_drift_mm=about.max_drift_mm / 2),
        )
    )
    if about.stack_u_mm > 0.0002:
        found.append(
            Remedy(
                "a better stack: grade 0 or with a certificate", replace(about, stack_u_mm=0.0002)
            )
        )
    found.append(
        Remedy("a gauge that reads ten times finer", replace(about, step_mm=about.step_mm / 10))
    )
    return found


def _often_checked(about: Circumstances) -> Circumstances:
    """With ten readings in each of two checks; scatter never seen is half what is permitted."""
    sd = about.check_sd_mm if about.check_dof else rectangular(float(about.max_spread_mm) / 2)
    seen = msgspec.structs.replace(about, check_sd_mm=sd, check_readings=10, check_dof=18.0)
    if not about.is_reading_as_check:
        return seen
    return msgspec.structs.replace(seen, reading_sd_mm=sd, reading_dof=18.0)


def form_remedies(about: Circumstances) -> list[Remedy]:
    """What a shop can do to know a difference of two diameters better, the easiest first."""
    replace = msgspec.structs.replace
    found = [
        Remedy(
            "repeat each place five times, and take the mean",
            replace(about, repeats=max(about.repeats, 5)),
        )
    ]
    if about.is_apart:
        found.append(
            Remedy(
                "measure the journal in one go, with no check in between",
                replace(about, is_apart=False),
            )
        )
    if about.check_readings < 10 and about.is_reading_as_check:
        found.append(Remedy("read the stack ten times a check", _often_checked(about)))
    found.append(
        Remedy("a gauge that reads ten times finer", replace(about, step_mm=about.step_mm / 10))
    )
    return found


def settled_by(about: Circumstances, needed_mm: Decimal) -> str:
    """What would bring the guard of a size down to `needed_mm`, the reading staying what it is."""
    return _settled(about, needed_mm.normalize(EXACT), size_uncertainty, tuple(remedies(about)))


def form_settled_by(about: Circumstances, needed_mm: Decimal, *, is_one_stint: bool) -> str:
    """As `settled_by`, of the guard of a difference of two diameters of one journal."""

    def guard(other: Circumstances) -> Expanded:
        return form_uncertainty(other, is_one_stint=is_one_stint)

    ways = tuple(form_remedies(about))
    return _settled(about, needed_mm.normalize(EXACT), guard, ways)


def _settled(
    about: Circumstances,
    needed_mm: Decimal,
    guard: Callable[[Circumstances], Expanded],
    ways: Sequence[Remedy],
) -> str:
    now = guard(about)
    begin = (
        f"an expanded uncertainty of at most {plain(needed_mm)} mm would settle it, now "
        f"{plain(now.guard_mm)} mm"
    )
    enough = [way.words for way in ways if guard(way.about).guard_mm <= needed_mm]
    if enough:
        return f"{begin}: {', or '.join(enough)}"
    best = about
    for way in ways:
        best = _both(about, best, way.about)
    if guard(best).guard_mm <= needed_mm:
        return f"{begin}: only several things together: {'; '.join(way.words for way in ways)}"
    return (
        f"{begin}: no better measurement of this kind would do (all of it together brings "
        f"{plain(guard(best).guard_mm)} mm); it lies too near to the limit"
    )


def _both(start: Circumstances, one: Circumstances, other: Circumstances) -> Circumstances:
    """`one` with every change that leads from `start` to `other`."""
    changes = {
        name: getattr(other, name)
        for name in Circumstances.__struct_fields__
        if getattr(other, name) != getattr(start, name)
    }
    return msgspec.structs.replace(one, **changes)
