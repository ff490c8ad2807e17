"""What would settle an undecided limit: better measurements, with the guards they bring. Pure."""

import math
from collections.abc import Callable, Sequence
from decimal import Decimal

import msgspec

from daq.evaluation.earlier.diameter import (
    DiameterInputs,
    Expanded,
    form_uncertainty,
    size_uncertainty,
)
from daq.lengths import plain, shortest
from daq.metrology.uncertainty.components import rectangular


class EarlierRemedy(msgspec.Struct, frozen=True):
    """A better measurement: in words, and the circumstances that it would bring. `is_one_stint`:
    a journal's readings share a stint and its temperatures.
    """

    words: str
    about: DiameterInputs
    is_one_stint: bool = True


def remedies(about: DiameterInputs) -> list[EarlierRemedy]:
    """What a shop can do to know a diameter better, the easiest first."""
    replace = msgspec.structs.replace
    reference = about.reference
    found = []
    if about.error_mm:
        found.append(
            EarlierRemedy(
                "set the gauge right on the stack and begin again", replace(about, error_mm=0.0)
            )
        )
    if about.part_c is None or reference.celsius is None:
        at_20 = reference.celsius or about.part_c or Decimal(20)
        found.append(
            EarlierRemedy(
                "let part, gauge and stack come to the same temperature, measure and give it",
                replace(about, part_c=at_20, reference=replace(reference, celsius=at_20)),
            )
        )
    if math.isfinite(about.reading_dof):
        sd = about.reading_sd_mm if about.reading_dof else _never_seen(about)
        known = replace(about, reading_sd_mm=sd, reading_dof=30.0, is_reading_as_check=False)
        found.append(EarlierRemedy("take more repeats, or keep a gauge study", known))
    if about.check_readings < 10:
        found.append(EarlierRemedy("read the stack ten times a check", _often_checked(about)))
    found.append(
        EarlierRemedy(
            "a check limit on drift half as wide, with checks in between",
            replace(about, max_drift_mm=about.max_drift_mm / 2),
        )
    )
    if about.stack_u_mm > 0.0002:
        found.append(
            EarlierRemedy(
                "a better stack: grade 0 or with a certificate", replace(about, stack_u_mm=0.0002)
            )
        )
    found.append(
        EarlierRemedy(
            "a gauge that reads ten times finer", replace(about, step_mm=about.step_mm / 10)
        )
    )
    return found


def _never_seen(about: DiameterInputs) -> float:
    """A standard deviation for scatter that nobody saw: half of what is permitted either way."""
    return rectangular(float(about.max_spread_mm) / 2)


def _often_checked(about: DiameterInputs) -> DiameterInputs:
    """With ten readings in each of two checks."""
    sd = about.check_sd_mm if about.check_dof else _never_seen(about)
    seen = msgspec.structs.replace(about, check_sd_mm=sd, check_readings=10, check_dof=18.0)
    if not about.is_reading_as_check:
        return seen
    return msgspec.structs.replace(seen, reading_sd_mm=sd, reading_dof=18.0)


def form_remedies(about: DiameterInputs, *, is_one_stint: bool) -> list[EarlierRemedy]:
    """What a shop can do to know a difference of two diameters better, the easiest first."""
    replace = msgspec.structs.replace
    found = []
    if about.is_apart or not is_one_stint:
        together = replace(about, is_apart=False)
        words = "measure the journal in one go: one stint, no check in between"
        found.append(EarlierRemedy(words, together))
    if is_one_stint:
        often = max(5, 4 * about.repeats)
        words = f"repeat each place {often} times, and take the mean"
        found.append(EarlierRemedy(words, replace(about, repeats=often)))
    if about.check_readings < 10 and about.is_reading_as_check:
        often_checked = _often_checked(about)
        found.append(EarlierRemedy("read the stack ten times a check", often_checked, is_one_stint))
    finer = replace(about, step_mm=about.step_mm / 10)
    found.append(EarlierRemedy("a gauge that reads ten times finer", finer, is_one_stint))
    return found


def settled_by(about: DiameterInputs, needed_mm: Decimal) -> str:
    """What would bring the guard of a size down to `needed_mm`, the reading staying what it is."""
    return _settled(
        EarlierRemedy("", about),
        needed_mm,
        remedies(about),
        lambda way: size_uncertainty(way.about),
    )


def form_settled_by(about: DiameterInputs, needed_mm: Decimal, *, is_one_stint: bool) -> str:
    """As `settled_by`, of the guard of a difference of two diameters of one journal."""
    return _settled(
        EarlierRemedy("", about, is_one_stint),
        needed_mm,
        form_remedies(about, is_one_stint=is_one_stint),
        lambda way: form_uncertainty(way.about, is_one_stint=way.is_one_stint),
    )


def _settled(
    now: EarlierRemedy,
    needed_mm: Decimal,
    ways: Sequence[EarlierRemedy],
    expanded: Callable[[EarlierRemedy], Expanded],
) -> str:
    begin = (
        f"an expanded uncertainty of at most {shortest(needed_mm)} mm would settle it, now "
        f"{plain(expanded(now).guard_mm)} mm"
    )
    enough = [way.words for way in ways if expanded(way).guard_mm <= needed_mm]
    if enough:
        return f"{begin}: {', or '.join(enough)}"
    best = now.about
    for way in ways:
        best = _both(now.about, best, way.about)
    together = EarlierRemedy("", best, now.is_one_stint or any(way.is_one_stint for way in ways))
    every = "; ".join(way.words for way in ways)
    if expanded(together).guard_mm <= needed_mm:
        return f"{begin}: only several things together: {every}"
    return (
        f"{begin}: none of these, nor all together, which bring "
        f"{plain(expanded(together).guard_mm)} mm: {every}"
    )


def _both(start: DiameterInputs, one: DiameterInputs, other: DiameterInputs) -> DiameterInputs:
    """`one` with every change that leads from `start` to `other`."""
    changes = {
        name: getattr(other, name)
        for name in DiameterInputs.__struct_fields__
        if getattr(other, name) != getattr(start, name)
    }
    return msgspec.structs.replace(one, **changes)
