"""`jbridge udev`: a rule file for the attached gauges, and how to install it."""

import contextlib
import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from daq.cli.options import Context, common_options
from drivers.printable import printable

if TYPE_CHECKING:
    from drivers.attached.tree import Tree, UsbDevice
    from drivers.udev.rules import RuleTarget
    from drivers.udev.targets import Named, Targets

SYSTEM_FOLDERS = ("/etc", "/usr", "/lib", "/run", "/boot", "/dev", "/proc", "/sys")


@click.command("udev", epilog="\b\nExample: jbridge udev --for /dev/ttyUSB0 --name bench1")
@click.option(
    "--for",
    "device",
    metavar="PORT",
    help="Only this device: a port's path, or usb:VID:PID[:SERIAL] or usb:VID:PID@SOCKET.",
)
@click.option("--name", metavar="NAME", help="The gauge's name below /dev/gauges.")
@click.option(
    "--group",
    metavar="GROUP",
    help="Give this group the rights too: for services and logins over a network.",
)
@click.option("--output", metavar="FILE", help="Write the file there instead of to stdout.")
@click.option("--replace", is_flag=True, help="Let --output write over any file.")
@click.option("--check", is_flag=True, help="Say instead whether the gauges' rules are in force.")
@common_options
def command(
    context: Context,
    device: str | None,
    name: str | None,
    group: str | None,
    output: str | None,
    replace: bool,
    check: bool,
) -> int:
    """Print udev rules for the attached gauges, and the commands that install them.

    With them whoever sits at this computer may open the gauge, it has a fixed name, modem software
    lets it be, and it never sleeps. Nothing is installed: that needs the administrator. Devices
    that type like a keyboard are left out unless a gauge file or --for names them.
    """
    from drivers.attached.discovery import tree_of
    from drivers.errors import RuleRefused
    from drivers.udev.rules import file_name, install_commands, rule_text
    from drivers.udev.targets import all_attached, one_named, renamed

    if check and (name or group or output):
        raise click.UsageError("--check takes no --name, --group or --output.")
    if replace and output is None:
        raise click.UsageError("--replace goes with --output.")
    tree = tree_of()
    named = _names(context)
    try:
        found = (
            all_attached(tree, named)
            if device is None
            else one_named(device, tree, named, os.path.realpath)
        )
        if name is not None:
            found = renamed(found, name)
        if check:
            return _check(found, tree, context.as_json)
        text = rule_text(found.targets, group)
    except RuleRefused as error:
        raise click.UsageError(str(error)) from error
    notes = [*found.notes, *_group_notes(group)]
    file = file_name(found.targets)
    if output is not None:
        _write(Path(output), text, replace=replace)
    commands = [*install_commands(output or file, file)]
    if context.as_json:
        told = {"file": output, "install_as": file, "text": text, "commands": commands}
        print(json.dumps({**told, "notes": notes}))
        return 0
    if output is None:
        print(text, end="")
    for note in notes:
        click.echo(f"Note: {printable(note)}", err=True)
    where = (
        f"is in {printable(output)}" if output else f"goes into a file, say with --output {file}"
    )
    click.echo(f"Nothing is installed yet. The text {where}; then, as a user who may:", err=True)
    for line in commands[:-1]:
        click.echo(f"  {printable(line)}", err=True)
    click.echo(
        f"Then unplug the gauge and plug it in again. Without touching it:\n  {commands[-1]}",
        err=True,
    )
    return 0


def _names(context: Context) -> "Named":
    """The gauge's name for an identity, by the gauge files of this home."""
    from daq.services.home import home_folder
    from daq.services.recognise import gauges_of, known_as
    from drivers.attached.discovery import attached

    gauges, faults = gauges_of(home_folder(context.home))
    for fault in faults:
        click.echo(f"Not usable: {printable(fault)}", err=True)
    names: dict[str, str] = {}
    for device in attached():
        known = known_as(device, gauges)
        if known:
            names[device.identity] = known[0].name
    return names.get


def _group_notes(group: str | None) -> list[str]:
    if group is None:
        return []
    if sys.platform != "win32":
        with contextlib.suppress(ImportError, KeyError):
            import grp

            grp.getgrnam(group)
            return []
    return [f"There is no group {group} on this machine, so the rule would have no effect."]


def _write(path: Path, text: str, *, replace: bool) -> None:
    """Write a new file, or over an earlier one of ours; never into the system's own folders."""
    from daq.services.own_files import write_own
    from drivers.udev.rules import MARK

    real = os.path.realpath(path)
    if any(real == folder or real.startswith(f"{folder}/") for folder in SYSTEM_FOLDERS):
        raise click.UsageError(
            f"--output {path} is in a folder of the system. Write it elsewhere, then "
            "install it with the printed commands."
        )
    write_own(path, text, mark=MARK, option="--output", replace=replace)


def _is_for(target: "RuleTarget", unit: "UsbDevice | None") -> bool:
    """The rule for `target` holds for this device."""
    return (
        unit is not None
        and (unit.vendor, unit.product) == (target.vendor, target.product)
        and target.serial in (None, unit.serial)
        and target.socket in (None, unit.socket)
    )


def _check(found: "Targets", tree: "Tree", as_json: bool) -> int:
    from drivers.attached.discovery import attached
    from drivers.udev.installed import installed_files, rules_for

    files = installed_files()
    devices = attached()
    rows: list[dict[str, Any]] = []
    for target in found.targets:
        rules = rules_for(target.vendor, target.product, files)
        here = [one for one in devices if _is_for(target, tree.unit(one.socket))]
        for one in here:
            in_force = [rule.path for rule in rules if not rule.fault]
            rows.append(
                {
                    "port": one.port,
                    "identity": one.identity,
                    "may_open": not one.trouble,
                    "trouble": one.trouble,
                    "rules": in_force,
                    "faults": [f"{rule.path}: {rule.fault}" for rule in rules if rule.fault],
                }
            )
    if as_json:
        print(json.dumps(rows))
    for row in rows if not as_json else ():
        print(f"{row['port']}  {'may be opened' if row['may_open'] else 'may NOT be opened'}")
        print(f"  rule      {', '.join(row['rules']) or 'none installed'}")
        for fault in row["faults"]:
            print(f"  no effect {fault}")
        if row["trouble"]:
            again = " A rule is installed: unplug the gauge and plug it in again." * bool(
                row["rules"]
            )
            print(f"  why       {row['trouble']}.{again}")
    if not rows:
        click.echo("The device is not attached: plug it in, then check again.", err=True)
    return 0 if rows and all(row["may_open"] and not row["faults"] for row in rows) else 1
