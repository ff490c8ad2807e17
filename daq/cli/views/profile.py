"""How a good profile was understood, for people and as a document. Pure."""

from typing import Any

from drivers.profile.profile import Profile
from drivers.reading import plain

_MARKS = {13: "CR", 10: "LF", 2: "STX", 3: "ETX", 9: "TAB", 0: "NUL", 32: "SPACE"}


def document(profile: Profile) -> dict[str, Any]:
    """For `--json`."""
    return {
        "id": profile.id,
        "title": profile.title,
        "kind": profile.kind,
        "transport": profile.link.transport,
        "asked": profile.is_asked,
        "units": list(profile.units()),
        "flags": sorted(profile.statuses()),
        "channel": profile.has_channel(),
        "notes": _notes(profile),
    }


def lines(profile: Profile) -> list[str]:
    """What it reads and how, then what it cannot notice."""
    link = profile.link
    stop = f"{link.stop:g}"
    how = f"{link.transport}, {link.baud} baud {link.bits}{link.parity}{stop}"
    if link.transport in ("usb-hid-keyboard", "tcp"):
        how = link.transport
    told = [
        f"{profile.id}: a good profile, kind {profile.kind}",
        f"  link       {how}",
        f"  one ends   {_ends(profile)}",
        f"  taken by   {'asking for it' if profile.is_asked else 'the send button of the gauge'}",
        f"  unit       {', '.join(unit or '(none)' for unit in profile.units())}",
        f"  step       {_step(profile)}",
    ]
    if profile.statuses():
        told.append(f"  status     {', '.join(sorted(profile.statuses()))}")
    if profile.has_channel():
        told.append("  channel    told by the gauge")
    return [*told, *(f"Note: {note}." for note in _notes(profile))]


def _ends(profile: Profile) -> str:
    frame = profile.frame
    if profile.modbus is not None:
        return "with its reply's own length"
    if frame.length is not None:
        return f"after {frame.length} bytes"
    if frame.ends:
        return "with " + " or ".join(" ".join(map(_byte, end)) for end in frame.ends)
    return f"after {frame.idle_ms} ms of silence"


def _byte(code: int) -> str:
    return _MARKS.get(code) or (chr(code) if 32 < code < 127 else f"{code:02x} (hex)")


def _step(profile: Profile) -> str:
    if profile.resolution is None:
        return "the last digit that is sent"
    if isinstance(profile.resolution, dict):
        return ", ".join(f"{plain(step)} {unit}" for unit, step in profile.resolution.items())
    return plain(profile.resolution)


def _notes(profile: Profile) -> list[str]:
    """What a session with this profile cannot notice, or leaves to another key."""
    notes = []
    has_check = profile.check is not None or profile.modbus is not None or _has_bcd_check(profile)
    if not has_check:
        notes.append("without a check character a wrong digit inside the limits goes unseen")
    if not profile.repeat_window_ms and not profile.is_asked:
        notes.append(
            "without [repeat] a held button looks like two presses, but for the time between"
        )
    if "" in profile.units():
        notes.append("the gauge sends no unit: write [value] unit, or its readings are refused")
    return notes


def _has_bcd_check(profile: Profile) -> bool:
    return profile.bcd is not None and any(token.name == "check" for token in profile.bcd.tokens)
