"""`jbridge ports`: the serial ports of this machine."""

import json

import click

from daq.cli.options import Context, common_options


@click.command("ports", epilog="\b\nExample: jbridge ports")
@common_options
def command(context: Context) -> int:
    """List serial ports: device path, what it looks like, and what to do if it cannot be opened."""
    from drivers.discovery import attached  # noqa: PLC0415 - scans the machine

    found = attached()
    if context.as_json:
        rows = [
            {
                "port": port.port,
                "looks_like": port.looks_like,
                "identity": port.identity,
                "may_open": not port.trouble,
                "trouble": port.trouble,
            }
            for port in found
        ]
        print(json.dumps(rows))
        return 0
    for port in found:
        print(f"{port.port}  {port.looks_like}  {port.identity}")
        if port.trouble:
            print(f"    cannot be opened: {port.trouble}")
    if not found:
        click.echo(
            "No serial port is attached. Plug the gauge in; pseudo-terminals and network ports "
            "(socket://, rfc2217://) are never listed, but can be used.",
            err=True,
        )
    return 0
