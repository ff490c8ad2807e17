"""The gauge of a run: found by what the options say, and fit for the job or refused."""

from datetime import UTC, datetime
from pathlib import Path

import msgspec

from daq.acquisition.typed_port import TypedPort, by_hand, check_name
from daq.equipment.gauge import BY_HAND, TYPED_PORT, Gauge, parse_gauge
from daq.errors import SettingsError, UsageError
from daq.lengths import MM_PER, Length, to_mm
from daq.metrology.gauge_check import too_coarse
from daq.plan.scope import Scope, coarse_fault
from daq.record.events import Setup, is_by_hand
from daq.rules.plausibility import ZERO_FLAGS
from daq.rules.steps import step_fault
from daq.services.home import load_gauge, load_profile
from drivers.ports.base import Port
from drivers.profile.file import parse_profile
from drivers.profile.profile import Profile

_HOW_IT_TALKS = (
    "--profile is missing: so far the values were typed. Say how the gauge on this port talks."
)


class Chosen(msgspec.Struct, frozen=True):
    """The gauge of a run: where it is, how it talks, and its file if the shop keeps one."""

    port: str
    profile: Profile
    gauge: Gauge | None

    @property
    def is_by_hand(self) -> bool:
        """A person reads the gauge and types its values."""
        return self.port == TYPED_PORT and self.profile.id == BY_HAND


def choose(port: str | None, profile: str | None, gauge: str | None, home: Path) -> Chosen:
    """The gauge that the options name; raises UsageError, SettingsError or ProfileError."""
    if gauge is not None:
        file = load_gauge(gauge, home)
        url = port or file.port or _find(file)
        check_name(url)
        return Chosen(url, _profile(file, url, profile, home), file)
    if port == TYPED_PORT and profile is None:
        return Chosen(port, by_hand(), None)
    if port is None or profile is None:
        missing = "--port" if port is None else "--profile"
        raise UsageError(
            f"{missing} is missing: say --gauge NAME, or --port URL and --profile NAME, or "
            f"--port {TYPED_PORT} to type each value."
        )
    check_name(port)
    return Chosen(port, load_profile(profile, home), None)


def _profile(file: Gauge, url: str, profile: str | None, home: Path) -> Profile:
    """The profile named, else the gauge's own. A gauge of a cable whose values are to be typed is
    read by a person; one that types by itself goes on by its own profile. Raises UsageError where
    the values of a gauge on a port are typed, as its file says.
    """
    if profile is not None:
        return load_profile(profile, home)
    own = load_profile(file.profile, home)
    if url == TYPED_PORT:
        return own if file.port == TYPED_PORT or _types(own) else by_hand()
    if own.id == BY_HAND:
        raise UsageError(_HOW_IT_TALKS)
    return own


def _types(profile: Profile) -> bool:
    """A gauge of this kind types like a keyboard."""
    return profile.link.transport == "usb-hid-keyboard"


def choose_again(
    last: Setup, port: str | None, profile: str | None, gauge: str | None, home: Path
) -> Chosen:
    """The gauge of a resume: what the options name, else what the ledger recorded."""
    if gauge is not None:
        return choose(port, profile, gauge, home)
    file = None
    if last.gauge_file is not None:
        file = parse_gauge(last.gauge_file, last.source.gauge, "the gauge file in the record")
    url = port or _found_again(last) or last.source.port
    check_name(url)
    if profile is not None:
        return Chosen(url, load_profile(profile, home), file)
    own = parse_profile(last.profile, "the profile in the record")
    if url != last.source.port:
        own = _elsewhere(last, own, url, file, home)
    return Chosen(url, own, file)


def _elsewhere(last: Setup, own: Profile, url: str, file: Gauge | None, home: Path) -> Profile:
    """The profile on another port than the last run's; raises UsageError where nothing tells it."""
    if is_by_hand(last):
        if file is not None:
            return _profile(file, url, None, home)
        raise UsageError(_HOW_IT_TALKS)
    return by_hand() if url == TYPED_PORT and not _types(own) else own


def _found_again(last: Setup) -> str | None:
    """Where the last run's device is now, if it is one that is known by number or socket."""
    if not last.source.device.startswith("usb:"):
        return None
    from drivers.attached.discovery import port_of  # noqa: PLC0415 - scans the machine

    return port_of(last.source.device)


def refuse_other(chosen: Chosen, port: Port) -> None:
    """Raises SettingsError if the port shows another device than the gauge file names."""
    gauge = chosen.gauge
    if isinstance(port, TypedPort):
        return  # nothing is attached there that could be another
    if gauge is not None and gauge.identity not in (None, port.identity.text):
        raise SettingsError(
            f"The device on {port.name} is {port.identity.text}, and the gauge file of "
            f"{gauge.name} says {gauge.identity}. Plug that gauge in, or correct the file."
        )


def _find(file: Gauge) -> str:
    from drivers.attached.discovery import port_of  # noqa: PLC0415 - scans the machine

    found = port_of(file.identity or "")
    if found is None:
        raise SettingsError(
            f"The gauge {file.name} ({file.identity}) is not plugged in. Plug it in, or give "
            "--port."
        )
    return found


def check_step(chosen: Chosen, step: Length | None) -> None:
    """Refuse a step told that the profile's last digits cannot show; raises UsageError.

    Where the profile leaves the last digit to the readings, the first of them tells.
    """
    if step is None:
        return
    faults = []
    for unit in chosen.profile.units():
        digit = chosen.profile.resolution_in(unit)
        fault = step_fault(step, unit, digit) if digit is not None and unit in MM_PER else None
        if fault is None:
            return
        faults.append(fault)
    if faults:
        raise UsageError(faults[0], "--step")


def check_gauge(job: Scope, chosen: Chosen, step: Length | None = None) -> None:
    """Refuse a gauge that cannot do this job, its `step` told or not; raises SettingsError."""
    profile, gauge = chosen.profile, chosen.gauge
    wrong = [unit or "no unit" for unit in profile.units() if unit not in MM_PER]
    if wrong:
        raise SettingsError(
            f"Profile {profile.id} gives readings in {', '.join(wrong)}: lengths in mm, um or in "
            "are needed. Set value.unit in the profile."
        )
    faults = []
    by_file = gauge.resolution if gauge is not None else None
    known = step or by_file
    if known is not None:
        faults.append(coarse_fault(job, known.mm))
    else:
        for unit in profile.units():
            digit = profile.resolution_in(unit)
            faults.append(coarse_fault(job, to_mm(digit, unit)) if digit else None)
        if None in faults:
            faults = []  # in one of its units it is fine enough; the first readings tell which
    if gauge is not None and gauge.permitted_error is not None:
        faults.append(
            too_coarse("its permitted error of", gauge.permitted_error.mm, job.tolerance_mm)
        )
    for fault in filter(None, faults):
        raise SettingsError(f"This gauge cannot judge this part: {fault}. Use a finer gauge.")


def cannot_be_seen(chosen: Chosen, port: Port) -> list[str]:
    """What this link does not show, said once at the start."""
    profile, gauge = chosen.profile, chosen.gauge
    said = []
    if chosen.is_by_hand:
        said.append(
            "type each value as the gauge shows it, then Enter; it is marked as typed. If you swap "
            "the gauge or set its zero, type zeroed"
        )
        return said + _known_of(gauge)
    if isinstance(port, TypedPort):
        said.append(
            "keep this window in front: what is typed elsewhere is not seen here. Each "
            "reading is marked as typed"
        )
    if port.identity.serial is None and not profile.has_channel():
        said.append("this link shows no serial number: if you swap the gauge, type zeroed")
    if not profile.statuses() & ZERO_FLAGS:
        said.append("this gauge does not say when it is set to zero: if you zero it, type zeroed")
    if profile.check is None:
        said.append(
            "the gauge sends no check character: a wrong digit inside the limits goes unseen"
        )
    if not profile.repeat_window_ms:
        said.append("the profile has no [repeat]: a button that is held down is not noticed")
    return said + _known_of(gauge)


def _known_of(gauge: Gauge | None) -> list[str]:
    """What is not known of the gauge, or not by now."""
    said = []
    if gauge is None or gauge.permitted_error is None:
        said.append("the permitted error of the gauge is not known: no gauge file states it")
    if gauge is not None and gauge.due is not None and gauge.due < datetime.now(UTC).date():
        said.append(f"the gauge's certificate was due on {gauge.due}")
    return said
