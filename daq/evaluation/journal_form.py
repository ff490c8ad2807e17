"""A journal's form by its places: out-of-round, taper, and how well each is known. Pure.

Where the ends agree on one oval, it is fitted through all places at once, and out-of-round and
taper are its own: far less scatter comes into them than into a difference of two readings. Else
they are ranges: out-of-round the largest, over stations, of max - min over angles; taper the
largest, over angles, of max - min over stations at one angle. Values are exact fractions of mm or,
where fitted, on steps of 10**-12 mm; uncertainties are floats in mm.
"""

import math
from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Literal

import msgspec

from daq.evaluation.conditions import (
    GUARD_STEP_MM,
    Conditions,
    of_check,
    of_place,
    size_components,
    step_between,
)
from daq.evaluation.places import Place, above_first, are_alike, largest, smallest
from daq.lengths import EXACT
from daq.metrology.ellipse import share_seen
from daq.metrology.form import TaperLimit, for_length
from daq.metrology.oval import MOST_STRETCH, OvalDesign, OvalFit, design, fit_oval, on_grain
from daq.metrology.statistics.distributions import f_quantile
from daq.metrology.uncertainty.budget import (
    Budget,
    combine_one_sided,
    one_sided_factor,
    rounded_up,
)
from daq.metrology.uncertainty.components import Component
from daq.metrology.uncertainty.mean import Mean

AGREE_UP_TO = 0.70
"""The ends agree on one oval if what it leaves over is under this quantile of F. Chosen by us after
simulation: a fit is taken only where it is clearly good, for a wrong one hides form."""

LEAST_FIT_ANGLES = 4
"""At each station, for one oval through all of them."""

BY_MORE_MM = Fraction(1, 10**9)
"""An oval fitted at one station is the value only where it is larger than the range by more."""

PLACES = "places"
"""The line of a form's budget that holds how well a place is known."""

FormBy = Literal["fit", "range", ""]


class FormValue(msgspec.Struct, frozen=True):
    """One value of form in mm, where it was found, and its guard: k u, rounded up. `lines`: what
    its uncertainty comes from.
    """

    value_mm: Fraction
    at: str
    guard_mm: Decimal
    lines: tuple[Component, ...] = ()


class Oval(msgspec.Struct, frozen=True):
    """A fitted oval: its ovality in mm, the direction of its largest diameter in degrees, and
    whether it is more than the scatter of readings makes: ovality > k u.
    """

    ovality_mm: Fraction
    direction_deg: float
    is_significant: bool


class JournalForm(msgspec.Struct, frozen=True):
    """The form of one journal; None and empty where there are too few places.

    `tapers`: what is judged, each with its limit in mm: `taper`, or for a limit per length every
    pair of stations. `share_seen`: least share of an oval, whatever its direction, that a station's
    angles see. `is_blind`: no station's angles see any of it, though there are two.
    """

    by: FormBy
    out_of_round: FormValue | None
    taper: FormValue | None
    tapers: tuple[tuple[FormValue, Decimal], ...]
    angles_deg: tuple[int, ...]
    stations: int
    share_seen: float | None
    is_blind: bool
    oval: Oval | None


def form_of_places(
    found: Sequence[Place], allowed: TaperLimit | None, confidence: float
) -> JournalForm:
    """The form of a journal's places, in route order; `allowed`: its limit of taper."""
    grid = _Grid(found, allowed, confidence)
    values = _fitted(grid) or _ranged(grid)
    by_angles = [
        share_seen(tuple(place.angle_deg for place in row))
        for row in grid.rows.values()
        if len(row) > 1
    ]
    return JournalForm(
        by=values.by,
        out_of_round=values.out_of_round,
        taper=values.taper,
        tapers=values.tapers,
        oval=values.oval,
        angles_deg=tuple(sorted({place.angle_deg for place in found})),
        stations=len({place.station for place in found}),
        share_seen=min(by_angles, default=None),
        is_blind=bool(by_angles) and max(by_angles) == 0,
    )


class _Grid:
    """The places by station, with how well a place of each stint is known."""

    def __init__(
        self, found: Sequence[Place], allowed: TaperLimit | None, confidence: float
    ) -> None:
        self.found = found
        self.allowed = allowed
        self.confidence = confidence
        self.rows: dict[tuple[int, str], list[Place]] = {}
        self.columns: dict[tuple[int, int], list[Place]] = {}
        for place in found:
            self.rows.setdefault(place.row, []).append(place)
            self.columns.setdefault((place.operator, place.angle_deg), []).append(place)
        self.fewest = min((place.count for place in found), default=1)
        abouts = {id(place.about): place.about for place in found}
        self.by_stint: dict[int, list[Conditions]] = {}
        for about in abouts.values():
            self.by_stint.setdefault(about.stint, []).append(about)
        self.stints = set(self.by_stint)
        self.alike = bool(found) and are_alike(found)
        self._known: dict[int, tuple[Mean, float]] = {}

    def known(self, stint: int) -> tuple[Mean, float]:
        """How well a place of a stint is known, and half of what the gauge moved where that is more
        than its checks explain: a standard uncertainty that a difference gains.

        With several brackets in a stint the worst counts.
        """
        if stint not in self._known:
            abouts = self.by_stint[stint]
            place = max((of_place(about, self.fewest) for about in abouts), key=_u)
            u_moved = math.sqrt(2) * max(of_check(about).u_mm for about in abouts)
            moved = float(step_between(abouts[0].checks.stint_means_mm))
            self._known[stint] = place, moved / 2 if moved > 2 * u_moved else 0.0
        return self._known[stint]

    def value(self, mm: Fraction, at: str, stint: int, share: float) -> FormValue:
        """A value within one stint whose standard uncertainty is `share` of a place's."""
        place, moved = self.known(stint)
        lines = _lines(place, share, moved)
        guard = _within_stint(lines, self.confidence).expanded
        return FormValue(mm, at, rounded_up(guard, GUARD_STEP_MM), lines)

    def difference(self, larger: Place, smaller: Place, at: str) -> FormValue:
        """The difference of two places. What both share within a stint cancels; two stints share
        nothing for certain, so each brings all that its size is uncertain by.
        """
        mm = larger.y_mm - smaller.y_mm
        if larger.about.stint == smaller.about.stint:
            return self.value(mm, at, larger.about.stint, math.sqrt(2))
        both = (
            *size_components(larger.about, larger.y_mm, larger.count),
            *size_components(smaller.about, smaller.y_mm, smaller.count),
        )
        guard = combine_one_sided(both, self.confidence).expanded
        return FormValue(mm, at, rounded_up(guard, GUARD_STEP_MM), both)

    def limit_mm(self, one: str, other: str) -> Decimal:
        """The limit of taper between two stations, a limit per length rounded down."""
        assert self.allowed is not None
        if self.allowed.per is None:
            return self.allowed.limit.mm
        at = self.allowed.at_mm
        apart_mm = EXACT.subtract(at[one], at[other]).copy_abs()
        return for_length(self.allowed.limit, self.allowed.per, apart_mm)


def _lines(place: Mean, share: float, moved_mm: float) -> tuple[Component, ...]:
    """What a value within one stint is uncertain by: a place's mean, and what the gauge moved."""
    by = "scatter" if place.is_scatter else "a step of the gauge"
    found = [
        Component(
            name=PLACES,
            estimate="0",
            u=place.u_mm,
            unit="mm",
            sensitivity=share,
            dof=place.dof,
            kind="A" if math.isfinite(place.dof) else "B",
            distribution="normal" if place.is_scatter else "rectangular",
            note=f"of the mean at a place, by {by}",
        )
    ]
    if moved_mm:
        note = "half of what the gauge moved in the stint, which is more than its checks scatter"
        found.append(
            Component(name="drift", estimate="0", u=moved_mm, unit="mm", sensitivity=1.0, note=note)
        )
    return tuple(found)


def _within_stint(lines: Sequence[Component], confidence: float) -> Budget:
    """k is for the degrees of freedom of a place's scatter alone, whatever drift adds: on the safe
    side.
    """
    found = combine_one_sided(lines, confidence)
    dof = _whole(lines[0].dof)
    k = one_sided_factor(dof, confidence)
    return msgspec.structs.replace(
        found, effective_dof=lines[0].dof, dof=dof, k=k, expanded=k * found.combined
    )


def form_budget(value: FormValue, confidence: float) -> Budget:
    """The budget of a form value."""
    if value.lines[0].name == PLACES:
        return _within_stint(value.lines, confidence)
    return combine_one_sided(value.lines, confidence)


class _Values(msgspec.Struct, frozen=True):
    """The part of a JournalForm that is found by fit or by range."""

    by: FormBy
    out_of_round: FormValue | None
    taper: FormValue | None
    tapers: tuple[tuple[FormValue, Decimal], ...]
    oval: Oval | None


def _u(mean: Mean) -> float:
    return mean.u_mm


def _whole(dof: float) -> float:
    return dof if math.isinf(dof) else float(math.floor(dof * (1 + 1e-9)))


# One oval for all stations ------------------------------------------------------------------------


def _fitted(grid: _Grid) -> _Values | None:
    """By one oval; None where there are too few places or the ends do not agree on one.

    What the fit leaves over, by its degrees of freedom and a place's own variance, is held against
    a quantile of F (NIST/SEMATECH e-Handbook 1.3.6.6.5).
    """
    rows = list(grid.rows.values())
    if (
        len(grid.stints) != 1
        or len({place.station for place in grid.found}) < 2
        or any(len({place.angle_deg for place in row}) < LEAST_FIT_ANGLES for row in rows)
    ):
        return None
    stint = grid.found[0].about.stint
    seen = design([tuple(place.angle_deg for place in row) for row in rows])
    if seen is None or seen.stretch > MOST_STRETCH:
        return None
    above = dict(zip(map(id, grid.found), above_first(grid.found, alike=grid.alike), strict=True))
    fit = fit_oval(seen, [[above[id(place)] for place in row] for row in rows])
    place, _ = grid.known(stint)
    left_over = fit.rss / seen.dof / place.u_mm**2
    if left_over > f_quantile(AGREE_UP_TO, seen.dof, _whole(place.dof)):
        return None
    out_of_round = grid.value(fit.ovality_mm, "", stint, seen.stretch)
    pairs = _fitted_pairs(grid, rows, seen, fit)
    taper = max((value for value, _ in pairs), key=_mm)
    return _Values(
        "fit",
        out_of_round,
        taper,
        _judged(grid, taper, pairs),
        _oval(fit, out_of_round),
    )


def _fitted_pairs(
    grid: _Grid, rows: Sequence[Sequence[Place]], seen: OvalDesign, fit: OvalFit
) -> list[tuple[FormValue, tuple[str, str]]]:
    """The differences of the fitted means of each two stations (of one operator)."""
    found = []
    for one, other in combinations(range(len(rows)), 2):
        first, second = rows[one][0], rows[other][0]
        if first.operator != second.operator:
            continue
        mm = abs(on_grain(fit.means_mm[one] - fit.means_mm[other]))
        at = first.station, second.station
        share = seen.between(one, other)
        found.append((grid.value(mm, ";".join(at), first.about.stint, share), at))
    return found


def _oval(fit: OvalFit, value: FormValue) -> Oval:
    is_significant = fit.ovality_mm > Fraction(value.guard_mm)
    return Oval(fit.ovality_mm, fit.direction_deg, is_significant)


def _judged(
    grid: _Grid,
    taper: FormValue | None,
    pairs: Sequence[tuple[FormValue, tuple[str, str]]],
) -> tuple[tuple[FormValue, Decimal], ...]:
    """What the limit of taper is held against: the largest, or for a limit per length every pair,
    since each distance has a limit of its own.
    """
    if grid.allowed is None or taper is None:
        return ()
    if grid.allowed.per is None:
        return ((taper, grid.allowed.limit.mm),)
    return tuple((value, grid.limit_mm(*at)) for value, at in pairs)


def _mm(value: FormValue) -> Fraction:
    return value.value_mm


# Ranges -------------------------------------------------------------------------------------------


def _ranged(grid: _Grid) -> _Values:
    """By ranges, and for out-of-round by the oval of one station where that is larger."""
    rows = [row for row in grid.rows.values() if len(row) > 1]
    columns = [column for column in grid.columns.values() if len(column) > 1]
    out_of_round = _widest(grid, rows, lambda place: place.station)
    oval = _largest_oval(grid)
    if (
        oval is not None
        and out_of_round is not None
        and oval[0].value_mm > out_of_round.value_mm + BY_MORE_MM
    ):
        out_of_round = oval[0]
    taper = _widest(grid, columns, lambda place: str(place.angle_deg))
    pairs = _ranged_pairs(grid, columns) if grid.allowed and grid.allowed.per else []
    return _Values(
        "range" if out_of_round or taper else "",
        out_of_round,
        taper,
        _judged(grid, taper, pairs),
        oval[1] if oval else None,
    )


def _widest(
    grid: _Grid, groups: Sequence[Sequence[Place]], at: Callable[[Place], str]
) -> FormValue | None:
    """The largest max - min of a group of places, the first of equal ones."""
    ends = [
        (largest(group, alike=grid.alike), smallest(group, alike=grid.alike)) for group in groups
    ]
    if not ends:
        return None
    if grid.alike:
        most, least = max(ends, key=lambda pair: EXACT.subtract(pair[0].total_mm, pair[1].total_mm))
    else:
        most, least = max(ends, key=lambda pair: pair[0].y_mm - pair[1].y_mm)
    return grid.difference(most, least, at(most))


def _largest_oval(grid: _Grid) -> tuple[FormValue, Oval] | None:
    """The largest oval through one station's places. None of a station whose angles see too little
    of one, or whose places come from two stints, takes part.
    """
    found = []
    for row in grid.rows.values():
        seen = design([tuple(place.angle_deg for place in row)])
        if seen is None or seen.stretch > MOST_STRETCH:
            continue
        if len(grid.stints) == 1 or len({place.about.stint for place in row}) == 1:
            found.append((row[0], seen, fit_oval(seen, [above_first(row, alike=grid.alike)])))
    if not found:
        return None
    first, seen, fit = max(found, key=lambda each: each[2].ovality_mm)
    value = grid.value(fit.ovality_mm, first.station, first.about.stint, seen.stretch)
    return value, _oval(fit, value)


def _ranged_pairs(
    grid: _Grid, columns: Sequence[Sequence[Place]]
) -> list[tuple[FormValue, tuple[str, str]]]:
    """The differences of each two stations at each angle."""
    found = []
    for column in columns:
        for one, other in combinations(column, 2):
            larger, smaller = (one, other) if one.y_mm >= other.y_mm else (other, one)
            at = f"{one.angle_deg} between {larger.station} and {smaller.station}"
            stations = one.station, other.station
            found.append((grid.difference(larger, smaller, at), stations))
    return found
