"""`jbridge simulate`: a virtual gauge on a pty or TCP port, driven by a script or by keys."""

import dataclasses
import json
import re
import sys
from collections.abc import Callable
from decimal import Decimal
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from daq.cli.options import Context, common_options
from drivers.plain_file import plain_bytes

if TYPE_CHECKING:
    from simulator.bench import Bench
    from simulator.faults import Fault
    from simulator.formats import Format
    from simulator.links import PtyLink, TcpLink
    from simulator.player import Action, Player

MOST_SCRIPT_BYTES = 1024 * 1024

LINGER_S = 0.5
"""The port stays so long after the last frame, since closing it would take unread bytes away."""


class NumberType(click.FloatRange):
    """A number within bounds, if any; nan and inf are none."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """As FloatRange, which lets nan through."""
        number = super().convert(value, param, ctx)
        if not isfinite(number):
            self.fail(f"{value} is not a finite number", param, ctx)
        return number


@click.command(
    "simulate",
    epilog="\b\nExample: jbridge simulate --format number-unit-crlf --link /tmp/gauge\n"
    "Example: jbridge simulate --format modbus-int32 --fault flip=0.2 --fault packets\n"
    "Example: jbridge simulate --script day.txt --press-every 2",
)
@click.option(
    "--format",
    "form",
    default="number-unit-crlf",
    metavar="NAME",
    help="What its frames look like; number-unit-crlf by default. --list has them all.",
)
@click.option("--script", type=click.Path(path_type=Path), metavar="FILE", help="Play this script.")
@click.option("--tcp", type=click.IntRange(0, 65535), metavar="PORT", help="TCP instead of a pty.")
@click.option(
    "--host", default="127.0.0.1", help="Address for --tcp; only this machine by default."
)
@click.option("--link", type=click.Path(path_type=Path), metavar="PATH", help="A link to the pty.")
@click.option("--seed", default=1, type=int, help="Same seed and script, same bytes.")
@click.option("--unit", type=click.Choice(["mm", "in"]), default="mm", help="What it shows first.")
@click.option(
    "--bias",
    default=0.0,
    type=NumberType(-1000, 1000),
    metavar="MM",
    help="It reads so much too large.",
)
@click.option(
    "--drift",
    default=0.0,
    type=NumberType(-1000, 1000),
    metavar="MM",
    help="Drifts by this much an hour.",
)
@click.option(
    "--repeatability",
    default=0.0003,
    type=NumberType(min=0),
    metavar="MM",
    help="Standard deviation of it.",
)
@click.option(
    "--channel", default=1, metavar="N", help="Its channel, or the number of its Modbus unit."
)
@click.option("--asked", metavar="TEXT", help=r"Sends when it gets this text, such as 'READ?\r'.")
@click.option(
    "--reply-ms",
    default=20.0,
    type=NumberType(0, 60000),
    metavar="MS",
    help="How long it takes to answer; 20 by default.",
)
@click.option("--echo", is_flag=True, help="Sends each request back before the answer.")
@click.option("--register", type=int, metavar="N", help="Modbus: its first register, from 0.")
@click.option(
    "--words", type=click.Choice(["big", "little"]), help="Modbus: which of two registers is first."
)
@click.option(
    "--stream",
    type=NumberType(0, 1000, min_open=True),
    metavar="HZ",
    help="Sends all the time, so many readings a second.",
)
@click.option(
    "--press-every",
    default=1.0,
    type=NumberType(0, 600),
    metavar="SECONDS",
    help="Between scripted presses, as a hand needs it; 1 by default. Enter presses at once, and "
    "`press 2 every 0.16` is a hand that pressed twice.",
)
@click.option(
    "--fault",
    "faults",
    multiple=True,
    metavar="NAME[=RATE]",
    help="What is wrong with its cable, and the chance that it strikes a frame; again for more.",
)
@click.option(
    "--list", "is_list", is_flag=True, help="Show all formats, faults and script words, and end."
)
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
    channel: int,
    asked: str | None,
    reply_ms: float,
    echo: bool,
    register: int | None,
    words: str | None,
    stream: float | None,
    press_every: float,
    faults: tuple[str, ...],
    is_list: bool,
) -> int:
    """Play a gauge that nobody has to own, with an invented crankshaft to measure.

    Without --script, lines on stdin drive it: Enter alone presses send; `stack 59.97 mm` or `at M1
    front 45` say what is in the gauge; press TIMES every SECONDS, hold SECONDS, unit in, zero, bias
    MM, raw HEX, unplug, replug, stream HZ, answer off, fault NAME. The end of the input ends it.

    The first line on stdout is its port, and again each time that it is plugged in.
    """
    from daq.errors import SettingsError
    from simulator.answering import Manner, answerer_for
    from simulator.bench import Bench
    from simulator.catalogue import catalogue
    from simulator.clock import WallClock
    from simulator.errors import SimulatorError
    from simulator.example import EXAMPLE
    from simulator.gauge import Micrometer
    from simulator.scenario import Player, parse, play
    from simulator.steps import Stream

    if is_list:
        click.echo(catalogue())
        return 0
    spoken = _format(form, register, words)
    try:
        steps = None
        if script is not None:
            steps = parse(plain_bytes(script, MOST_SCRIPT_BYTES).decode("utf-8"))
        gauge = Micrometer(
            bias_mm=bias,
            drift_mm_per_hour=drift,
            repeatability_mm=repeatability,
            unit="in" if unit == "in" else "mm",
            seed=seed,
        )
        player = Player(
            EXAMPLE,
            gauge,
            spoken,
            channel=channel,
            press_every_s=press_every if script else 0,
            manner=Manner(delay_s=reply_ms / 1000, has_echo=echo),
            faults=_faults(faults),
        )
        answerer = answerer_for(spoken, channel, player.measured, _trigger(asked))
        if stream is not None:
            player.perform(Stream(0, stream))
        tell = None if context.as_json else _tell
        with _open(tcp, host, link) as wire:
            _show_port(context, str(link or wire.port))
            if not context.as_json:
                click.echo(f"{EXAMPLE.title}: {', '.join(EXAMPLE.names)}", err=True)
            bench = Bench(
                wire,
                player,
                WallClock(),
                answerer=answerer,
                seed=seed,
                link_path=link,
                tell=tell,
                plugged_in=lambda port: _show_port(context, port),
            )
            if steps is not None:
                play(steps, player, bench, bench, tell)
            else:
                _play_typed(player, bench, tell, press_every)
            bench.finish()
            bench.sleep_s(LINGER_S)
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"The script or the port cannot be used: {error}.") from error
    except (SimulatorError, ValueError) as error:
        raise SettingsError(str(error)) from error
    return 0


def _format(name: str, register: int | None, words: str | None) -> "Format":
    """The format of that name, with its registers as they are wanted."""
    from simulator.formats import FORMATS, modbus_format

    if name not in FORMATS:
        raise click.BadParameter(f"unknown; known: {', '.join(FORMATS)}", param_hint="--format")
    spoken = FORMATS[name]
    if register is None and words is None:
        return spoken
    if spoken.registers is None:
        raise click.BadParameter(
            f"{name} has no registers; modbus-int32 and its like have",
            param_hint="--register or --words",
        )
    registers = spoken.registers
    try:
        if register is not None:
            registers = dataclasses.replace(registers, address=register)
        if words is not None:
            registers = dataclasses.replace(
                registers, words="little" if words == "little" else "big"
            )
        return modbus_format(registers)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--register") from error


def _faults(texts: tuple[str, ...]) -> "tuple[Fault, ...]":
    """The faults as they were asked for."""
    from simulator.errors import SimulatorError
    from simulator.faults import parse_fault

    try:
        return tuple(parse_fault(text) for text in texts)
    except SimulatorError as error:
        raise click.BadParameter(str(error), param_hint="--fault") from error


def _trigger(text: str | None) -> bytes | None:
    """The trigger text as bytes; \\r, \\n, \\t, \\\\ and \\xHH stand for what cannot be typed."""
    if text is None:
        return None
    named = {"r": "\r", "n": "\n", "t": "\t", "\\": "\\"}

    def unescaped(match: re.Match[str]) -> str:
        code: str = match[1]
        return chr(int(code[1:], 16)) if code.startswith("x") else named[code]

    plain = re.sub(r"\\(x[0-9A-Fa-f]{2}|[rnt\\])", unescaped, text)
    try:
        return plain.encode("latin-1")
    except UnicodeEncodeError:
        raise click.BadParameter(
            f"{text!r} has characters that cannot be sent as one byte", param_hint="--asked"
        ) from None


def _open(tcp: int | None, host: str, link: Path | None) -> "PtyLink | TcpLink":
    from simulator.links import PtyLink, TcpLink

    return PtyLink(link) if tcp is None else TcpLink(host, tcp)


def _play_typed(
    player: "Player", bench: "Bench", tell: "Callable[[Action], None] | None", press_every: float
) -> None:
    """Play what is typed; a wrong line is told and passed over."""
    from simulator.by_hand import play_by_hand

    if sys.stdin is None:
        return
    play_by_hand(
        sys.stdin.fileno(),
        player,
        bench,
        lambda why: click.echo(why, err=True),
        tell,
        press_every_s=Decimal(str(press_every)),
    )


def _show_port(context: Context, port: str) -> None:
    """What a reader opens, on stdout."""
    print(json.dumps({"port": port}) if context.as_json else port, flush=True)


def _tell(action: "Action") -> None:
    from simulator.scenario import SendBytes

    if isinstance(action, SendBytes):
        click.echo(action.about, err=True)
