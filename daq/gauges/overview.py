"""Everything that a gauge's history says, put together once for text, JSON and picture. Pure."""

import math
from datetime import date

import msgspec

from daq.gauges.charts import GaugeChart, chart_of
from daq.gauges.control import (
    Control,
    Precision,
    control_of,
    pooled_sd,
    precisions,
)
from daq.gauges.drift import Drift, drift_of
from daq.gauges.due import USUAL_DAYS, Due, due
from daq.gauges.gate import HistoryFault, faults_of, unsettled
from daq.gauges.history import History
from daq.gauges.series import Point, Series, series_of
from daq.gauges.words import size_words
from daq.metrology.statistics.distributions import t_quantile
from daq.metrology.uncertainty.budget import DEFAULT_COVERAGE, combine
from daq.metrology.uncertainty.components import Component, resolution_u
from drivers.reading import utc_day


class SizeReport(msgspec.Struct, frozen=True):
    """What is known at one size. `repeatability_mm` with its degrees of freedom is the gauge's,
    pooled over all sizes.
    """

    series: Series
    control: Control
    drift: Drift | None
    chart: GaugeChart | None
    precision: Precision | None
    repeatability_mm: float
    repeatability_dof: int
    is_out: bool
    state_words: str

    def u_mm(self, point: Point) -> float:
        """Expanded uncertainty (95.45 %) of the mean error of a check: stack, repeatability and
        resolution, the coverage factor for degrees of freedom that are not cut down. Temperatures
        are not in it.
        """
        each = len(point.check.readings)
        found = combine(
            [
                _component("stack", float(point.check.stack_u_mm or 0)),
                _component(
                    "repeatability",
                    self.repeatability_mm / math.sqrt(each),
                    max(1, self.repeatability_dof),
                ),
                _component("resolution", resolution_u(point.step_mm)),
            ]
        )
        return found.combined * t_quantile((1 + DEFAULT_COVERAGE) / 2, found.effective_dof)


def _component(name: str, u_mm: float, dof: float = math.inf) -> Component:
    return Component(name=name, estimate="0", u=u_mm, unit="mm", sensitivity=1.0, dof=dof)


class Overview(msgspec.Struct, frozen=True):
    """A gauge's history. `sizes`: those shown, of `size_count`. `faults`: what is out of control
    now; `unsettled`: failed checks that there is no baseline for, in words; `adjusted`: when the
    gauge was set anew, microseconds UTC; `damage`: lines of the file that could not be used.
    """

    name: str
    today: date
    sizes: tuple[SizeReport, ...]
    size_count: int
    due: Due
    faults: tuple[HistoryFault, ...]
    unsettled: tuple[str, ...]
    adjusted: tuple[int, ...]
    damage: tuple[str, ...]
    permitted_mm: float | None
    repeatability_mm: float
    repeatability_dof: int

    @property
    def due_words(self) -> str:
        """When the next check is due, and why."""
        when = "due" if self.due.on > self.today else "was due" if self.due.on < self.today else ""
        return f"Next check {when or 'due today,'} {self.due.on}: {self.due.words}"

    @property
    def trouble_short(self) -> str:
        """The sizes that are out of control, in a line; empty if none is."""
        sizes = [size_words(report.series) for report in self.sizes if report.is_out]
        return f"Out of control at {', '.join(sizes)}" if sizes else ""


def overview(
    history: History,
    now_us: int,
    *,
    certificate_due: date | None = None,
    permitted_mm: float | None = None,
    usual_days: int = USUAL_DAYS,
) -> Overview:
    """Everything that follows from a history at a moment (microseconds UTC)."""
    age = history.age
    every = series_of(history)
    points = [point for series in every for point in series.points]
    precise = {id(found.point): found for found in precisions(points)}
    sd, dof = pooled_sd([point for point in points if point.check.passed])
    faults = tuple(faults_of(history, now_us))
    sizes = []
    for series in every:
        control = control_of(series, age)
        precision = precise.get(id(series.last))
        is_out = any(fault.size_mm == series.size_mm for fault in faults)
        sizes.append(
            SizeReport(
                series=series,
                control=control,
                drift=drift_of(series, age),
                chart=chart_of(control, age),
                precision=precision,
                repeatability_mm=sd,
                repeatability_dof=dof,
                is_out=is_out,
                state_words="OUT OF CONTROL" if is_out else control.state,
            )
        )
    return Overview(
        name=history.name,
        today=utc_day(now_us),
        sizes=tuple(sizes),
        size_count=len(sizes),
        due=due(
            history,
            [report.drift for report in sizes if report.drift is not None],
            is_out=bool(faults),
            today=utc_day(now_us),
            certificate_due=certificate_due,
            permitted_mm=permitted_mm,
            usual_days=usual_days,
        ),
        faults=faults,
        unsettled=tuple(unsettled(history, now_us)),
        adjusted=history.adjusted,
        damage=history.faults,
        permitted_mm=permitted_mm,
        repeatability_mm=sd,
        repeatability_dof=dof,
    )
