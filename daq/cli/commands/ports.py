"""`jbridge ports`: what is attached that may be a gauge, and whether it can be used."""

import json
import shutil
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli.options import Context, common_options
from drivers.printable import printable

if TYPE_CHECKING:
    from daq.cli.views.ports import Facts
    from drivers.attached.discovery import Attached
    from drivers.attached.watching import Change

LOOK_EVERY_S = 0.5
SETTLE_S = 0.4
"""So long udev needs to set the rights of a new node. Chosen by us."""

NOTHING = (
    "Nothing is attached that may be a gauge. Plug the gauge in. Network ports "
    "(socket://, rfc2217://) and pseudo-terminals are never listed, but can be "
    "used."
)


@click.command("ports", epilog="\b\nExample: jbridge ports --watch")
@click.option("--watch", is_flag=True, help="Show what is plugged in and out, until Ctrl-C.")
@click.option(
    "--release",
    is_flag=True,
    help="Give keyboards that a killed program left without a driver back to the system.",
)
@common_options
def command(context: Context, watch: bool, release: bool) -> int:
    """List what may be a gauge: serial ports, keyboard-type devices, and devices without a port.

    Each with the name that --port takes, how it is known again, the gauge file and profile that
    fit, who is using it, whether it may be opened, and what to do if not. Nothing is opened.
    """
    from daq.services.home import home_folder

    if watch and release:
        raise click.UsageError("--watch and --release do not go together.")
    home = home_folder(context.home)
    if release:
        return _release(context.as_json)
    return _watch(context.as_json, home) if watch else _list(context.as_json, home)


def _list(as_json: bool, home: Path) -> int:
    from daq.cli.views.ports import blocks, row

    devices = _devices()
    facts = _facts(devices, home)
    if as_json:
        print(json.dumps([row(device, facts) for device in devices]))
        return 0
    if devices:
        print(blocks(devices, facts, _width()))
    if all(device.kind == "typed" for device in devices):
        click.echo(NOTHING, err=True)
    return 0


def _watch(as_json: bool, home: Path) -> int:
    from drivers.attached.watching import Watch

    seen = Watch()
    changes = seen.look(_devices(), time.monotonic())
    _show(changes, as_json, home)
    click.echo("Plug a gauge in or out; Ctrl-C ends.", err=True)
    while True:
        time.sleep(LOOK_EVERY_S)
        changes = seen.look(_devices(), time.monotonic())
        if any(change.what == "arrived" for change in changes):
            time.sleep(SETTLE_S)
            changes = _as_now(changes, _devices())
        _show(changes, as_json, home)


def _as_now(changes: "Sequence[Change]", devices: "Sequence[Attached]") -> "list[Change]":
    """The changes with what has become of the devices meanwhile."""
    from drivers.attached.watching import Change, key_of

    now = {key_of(device): device for device in devices}
    return [
        Change(change.what, now.get(key_of(change.device), change.device), change.was_short)
        for change in changes
    ]


def _show(changes: "Sequence[Change]", as_json: bool, home: Path) -> None:
    if not changes:
        return
    from daq.cli.views.ports import block, row
    from drivers.attached.advice import went_soon_advice
    from drivers.clock import Clock
    from drivers.reading import utc_text

    facts = _facts([change.device for change in changes], home)
    at = utc_text(Clock().now().utc_us)
    for change in changes:
        soon = went_soon_advice(facts.grabbers) if change.was_short else ""
        if as_json:
            told = row(change.device, facts)
            told["advice"] = [soon] if soon else told["advice"]
            print(json.dumps({"at": at, "event": change.what, **told}), flush=True)
            continue
        if change.what == "left":
            name = change.device.port or change.device.identity
            text = f"{name}  {change.device.looks_like}"
            text += f"\n  It was there for less than 2 s: {soon}." if soon else ""
        else:
            text = block(change.device, facts, _width())
        print(f"{at}  {change.what}: {text}", flush=True)


def _release(as_json: bool) -> int:
    from drivers.ports.usb_release import release_keyboards

    done = release_keyboards()
    if as_json:
        rows = [
            {
                "port": one.device,
                "looks_like": one.title,
                "happened": one.happened,
                "detail": one.detail,
            }
            for one in done
        ]
        print(json.dumps(rows))
    for one in done if not as_json else ():
        what = {
            "released": "given back to the system",
            "in use": "left alone: another program is using it",
            "not permitted": "this user may not: see `jbridge ports`",
            "failed": f"could not be given back ({one.detail}): unplug it and plug it in again",
        }[one.happened]
        print(f"{one.device}  {one.title}: {what}")
    if not done:
        click.echo("Nothing to give back: every keyboard works.", err=True)
    return 0 if all(one.happened in ("released", "in use") for one in done) else 1


def _devices() -> "list[Attached]":
    from drivers.attached.discovery import attached, candidates, typing_only

    return [*attached(), *candidates(), *typing_only()]


def _facts(devices: "Sequence[Attached]", home: Path) -> "Facts":
    from daq.cli.views.ports import Facts
    from daq.services.recognise import gauges_of
    from drivers.attached.holders import holders_of
    from drivers.attached.services import grabbers, is_kept_from_modems

    gauges, faults = gauges_of(home)
    for fault in faults:
        click.echo(f"Not usable: {printable(fault)}", err=True)
    nodes = [device.node for device in devices if device.node]
    return Facts(
        gauges=gauges,
        holders=holders_of(nodes),
        grabbers=grabbers(),
        kept=frozenset(node for node in nodes if is_kept_from_modems(node)),
        keyboards_trouble=_keyboards_trouble(devices),
    )


def _keyboards_trouble(devices: "Sequence[Attached]") -> str:
    if not any(device.kind == "keyboard" for device in devices):
        return ""
    from drivers.ports.usb_bus import library_trouble  # loads the library

    return library_trouble()


def _width() -> int:
    return shutil.get_terminal_size((100, 24)).columns if sys.stdout.isatty() else 100
