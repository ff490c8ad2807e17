"""Attached devices as `jbridge ports` tells of them: rows for programs, text for people."""

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from daq.services.recognise import known_as
from drivers.attached import advice
from drivers.printable import shown

if TYPE_CHECKING:
    from daq.equipment.gauge import Gauge
    from drivers.attached.discovery import Attached
    from drivers.attached.holders import Holder

_LABEL_WIDTH = 10


class Facts(msgspec.Struct, frozen=True, kw_only=True):
    """What is known beside the devices: the shop's gauges, who holds which node, the programs that
    grab ports, the nodes that udev keeps from modem software, and why no keyboard can be read
    here ("" if it can).
    """

    gauges: "Sequence[Gauge]" = ()
    holders: "dict[str, tuple[Holder, ...]]" = {}
    grabbers: frozenset[str] = frozenset()
    kept: frozenset[str] = frozenset()
    keyboards_trouble: str = ""


def row(device: "Attached", facts: Facts) -> dict[str, Any]:
    """One device as `--json` prints it."""
    gauges = known_as(device, facts.gauges)
    profiles = {gauge.profile for gauge in gauges}
    holders = facts.holders.get(device.node, ())
    trouble = advice.why_not_usable(device, facts.keyboards_trouble)
    return {
        "port": device.port,
        "looks_like": device.looks_like,
        "identity": device.identity,
        "may_open": not trouble,
        "trouble": trouble,
        "kind": device.kind,
        "link": device.link or None,
        "gauges": [gauge.name for gauge in gauges],
        "profile": profiles.pop() if len(profiles) == 1 else None,
        "held_by": [{"pid": one.pid, "command": one.command} for one in holders],
        "latency_ms": device.latency_ms,
        "advice": advice_for(device, facts, is_known=bool(gauges)),
    }


def advice_for(device: "Attached", facts: Facts, *, is_known: bool) -> list[str]:
    """What to know and do, the most urgent first."""
    holders = tuple(one.command for one in facts.holders.get(device.node, ()))
    is_gauge = device.kind == "serial" or is_known
    said = [
        advice.typed_advice() if device.kind == "typed" else "",
        advice.driverless_advice(device.is_driverless, holders),
        advice.alike_advice(device.alike),
        advice.stolen_advice(facts.grabbers, holders) if device.kind == "candidate" else "",
        advice.modem_advice(
            facts.grabbers,
            device.node in facts.kept,
            device.kind == "serial" and device.socket != "",
        ),
        advice.sleep_advice(device.power) if is_gauge else "",
        advice.latency_advice(device.latency_ms, device.node),
    ]
    return [text for text in said if text]


def block(device: "Attached", facts: Facts, width: int) -> str:
    """One device for people, in lines of at most `width` characters where words allow it."""
    told = row(device, facts)
    is_typed = device.kind == "typed"
    is_named = device.identity == device.port or is_typed
    lines = [("identity", "" if is_named else device.identity)]
    lines.append(("link", device.link))
    if told["gauges"]:
        profile = f", profile {told['profile']}" if told["profile"] else ""
        lines.append(("gauge", " or ".join(told["gauges"]) + profile))
    if device.kind in ("keyboard", "typed"):
        lines.append(("types", "like a keyboard; it may also be the keyboard of this machine"))
    lines.append(("in use", ", ".join(map(str, facts.holders.get(device.node, ())))))
    if not is_typed:
        lines.append(("open", _may_open(device, told["trouble"])))
    lines += [("note", f"{text[0].upper()}{text[1:]}.") for text in told["advice"]]
    head = f"{shown(device.port or '(no port)', 200)}  {device.looks_like}"
    return "\n".join([head, *(_line(label, text, width) for label, text in lines if text)])


def _may_open(device: "Attached", trouble: str) -> str:
    if trouble:
        return f"no: {trouble}."
    if device.kind == "keyboard":
        return "yes, as far as rights go; whether its keys can be read shows in use"
    return "yes"


def blocks(devices: "Iterable[Attached]", facts: Facts, width: int) -> str:
    """All devices for people."""
    return "\n\n".join(block(device, facts, width) for device in devices)


def _line(label: str, text: str, width: int) -> str:
    return textwrap.fill(
        shown(text, 2000),
        width=max(width, 40),
        initial_indent=f"  {label:<{_LABEL_WIDTH}}",
        subsequent_indent=" " * (_LABEL_WIDTH + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )
