"""What is known of a gauge before anything is measured with it: its step, and how it repeats."""

from decimal import Decimal
from pathlib import Path

from daq.errors import UsageError
from daq.gauges.history import history_name
from daq.lengths import MM_PER, to_mm
from daq.plan.decidable import GaugeKnown
from daq.services.home import load_gauge, load_profile
from daq.services.option_values import length_of
from daq.storage.history_file import read


def gauge_known(gauge: str | None, resolution: str | None, home: Path) -> GaugeKnown | None:
    """The gauge of the shop called so, or any of that step; None where neither is said.

    Raises UsageError for both, and for a gauge whose step nothing tells; SettingsError,
    ProfileError and HistoryError for files that cannot be used.
    """
    if gauge is not None and resolution is not None:
        raise UsageError("say --gauge NAME or --resolution LENGTH, not both", "--resolution")
    if gauge is None:
        step = length_of(resolution, "--resolution")
        return None if step is None else GaugeKnown(step.mm)
    step_mm = _step_mm(gauge, home)
    study = read(history_name(gauge, ""), home).study
    return GaugeKnown(step_mm, None if study is None else float(study.repeatability_mm))


def _step_mm(name: str, home: Path) -> Decimal:
    """By its file, else the finest that its profile declares."""
    file = load_gauge(name, home)
    if file.resolution is not None:
        return file.resolution.mm
    profile = load_profile(file.profile, home)
    digits = [(unit, profile.resolution_in(unit)) for unit in profile.units() if unit in MM_PER]
    known = [to_mm(digit, unit) for unit, digit in digits if digit is not None]
    if not known:
        raise UsageError(
            f"neither the gauge file of {name} nor its profile tells its step: write resolution "
            "into the gauge file, or give --resolution LENGTH",
            "--gauge",
        )
    return min(known)
