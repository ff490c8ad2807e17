"""`jbridge simulate`: a virtual gauge on a pty or TCP port, driven by a script or by keys."""

import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli.options import Context, common_options

if TYPE_CHECKING:
    from simulator.links import PtyLink, TcpLink
    from simulator.scenario import Action, Step

LINGER_S = 0.5
"""The port stays so long after the last frame, since closing it would take unread bytes away."""


@click.command(
    "simulate",
    epilog="\b\nExample: jbridge simulate --format number-unit-crlf --link /tmp/gauge",
)
@click.option(
    "--format",
    "form",
    default="number-unit-crlf",
    metavar="NAME",
    help="What its frames look like.",
)
@click.option("--script", type=click.Path(path_type=Path), metavar="FILE", help="Play this script.")
@click.option("--tcp", type=click.IntRange(0, 65535), metavar="PORT", help="TCP instead of a pty.")
@click.option(
    "--host", default="127.0.0.1", help="Address for --tcp; only this machine by default."
)
@click.option("--link", type=click.Path(path_type=Path), metavar="PATH", help="A link to the pty.")
@click.option("--seed", default=1, type=int, help="Same seed and script, same bytes.")
@click.option("--unit", type=click.Choice(["mm", "in"]), default="mm", help="What it shows first.")
@click.option("--bias", default=0.0, metavar="MM", help="Reads this much too large.")
@click.option("--drift", default=0.0, metavar="MM", help="Drifts by this much an hour.")
@click.option("--repeatability", default=0.0003, metavar="MM", help="Standard deviation of it.")
@common_options
def command(
    context: Context,
    form: str,
    script: Path | None,
    tcp: int | None,
    host: str,
    link: Path | None,
    seed: int,
    unit: str,
    bias: float,
    drift: float,
    repeatability: float,
) -> int:
    """Play a gauge that nobody has to own, with an invented crankshaft to measure.

    Without --script, lines on stdin drive it: Enter alone presses send; `stack 59.97 mm` or `at M1
    front 45` say what is in the gauge; hold SECONDS, unit in, zero, bias MM, raw HEX, unplug.
    """
    from daq.errors import SettingsError  # noqa: PLC0415 - only when it runs
    from simulator.clock import WallClock  # noqa: PLC0415
    from simulator.errors import SimulatorError  # noqa: PLC0415
    from simulator.example import EXAMPLE  # noqa: PLC0415
    from simulator.formats import FORMATS  # noqa: PLC0415
    from simulator.gauge import Micrometer  # noqa: PLC0415
    from simulator.scenario import Player, parse, play  # noqa: PLC0415

    if form not in FORMATS:
        raise click.BadParameter(f"unknown; known: {', '.join(FORMATS)}", param_hint="--format")
    try:
        steps = None
        if script is not None:
            steps = parse(script.read_text(encoding="utf-8"))
        gauge = Micrometer(
            bias_mm=bias,
            drift_mm_per_hour=drift,
            repeatability_mm=repeatability,
            unit="in" if unit == "in" else "mm",
            seed=seed,
        )
        player = Player(EXAMPLE, gauge, FORMATS[form], press_every_s=0.5 if script else 0)
        with _open(tcp, host, link) as wire:
            if context.as_json:
                print(json.dumps({"port": str(link) if link else wire.port}), flush=True)
            else:
                print(str(link) if link else wire.port, flush=True)
                click.echo(f"{EXAMPLE.title}: {', '.join(EXAMPLE.names)}", err=True)
            tell = None if context.as_json else _tell
            if steps is not None:
                play(steps, player, wire, WallClock(), tell)
            else:
                for step in _typed(player):
                    try:
                        play([step], player, wire, WallClock(), tell)
                    except SimulatorError as error:
                        click.echo(str(error), err=True)
            WallClock().sleep_s(LINGER_S)
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"The script or the port cannot be used: {error}.") from error
    except SimulatorError as error:
        raise SettingsError(str(error)) from error
    return 0


def _open(tcp: int | None, host: str, link: Path | None) -> "PtyLink | TcpLink":
    from simulator.links import PtyLink, TcpLink  # noqa: PLC0415 - only when it runs

    return PtyLink(link) if tcp is None else TcpLink(host, tcp)


def _typed(player: object) -> "Iterator[Step]":
    """Steps as they are typed; a wrong line is told and passed over."""
    from simulator.errors import ScriptError  # noqa: PLC0415 - only when it runs
    from simulator.scenario import parse_line  # noqa: PLC0415

    lines: Iterable[str] = sys.stdin or ()
    for number, line in enumerate(lines, 1):
        try:
            step = parse_line(number, line.strip() or "press")
        except ScriptError as error:
            click.echo(str(error), err=True)
            continue
        if step is not None:
            yield step


def _tell(action: "Action") -> None:
    from simulator.scenario import SendBytes  # noqa: PLC0415 - only when it runs

    if isinstance(action, SendBytes):
        click.echo(action.about, err=True)
