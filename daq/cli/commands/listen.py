"""`jbridge listen`: frames as they come, decoded or explained."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from daq.cli.options import Context, common_options

if TYPE_CHECKING:
    from drivers.profile import Link, Profile
    from drivers.reading import Outcome

CHUNK_BYTES = 4096


@click.command(
    "listen",
    epilog="\b\nExample: jbridge listen --port /dev/ttyUSB0 --profile number-unit-crlf",
)
@click.option("--port", metavar="URL", help="Device path, socket://, rfc2217:// or loop://.")
@click.option("--profile", metavar="NAME|FILE", help="How the gauge talks.")
@click.option("--gauge", metavar="NAME", help="A gauge of the shop: HOME/gauges/NAME.toml.")
@click.option("--from", "source", metavar="FILE", help="Decode captured bytes instead; - is stdin.")
@click.option("--count", type=click.IntRange(min=1), help="End after so many frames.")
@common_options
def command(
    context: Context,
    port: str | None,
    profile: str | None,
    gauge: str | None,
    source: str | None,
    count: int | None,
) -> int:
    """Show what a gauge sends: raw bytes, decoded reading, or the error that explains itself.

    Nothing is stored. A capture file is decoded as one burst, so a held button is not noticed.
    """
    from daq.cli.measuring import choose  # noqa: PLC0415 - only when it runs
    from daq.settings import home_folder, load_gauge, load_profile  # noqa: PLC0415
    from drivers.advice import Adviser  # noqa: PLC0415

    home = home_folder(context.home)
    if source is not None:
        if profile is None and gauge is not None:
            profile = load_gauge(gauge, home).profile
        if profile is None:
            raise click.UsageError("--profile is missing: say how the gauge talks.")
        outcomes = _captured(source, load_profile(profile, home))
    else:
        chosen = choose(port, profile, gauge, home)
        outcomes = _live(chosen.port, chosen.profile, chosen.profile.link)
    adviser = Adviser()
    for shown, outcome in enumerate(outcomes, 1):
        _show(context, outcome, with_time=source is None)
        advice = adviser.after(outcome)
        if advice:
            click.echo(f"Hint: {advice}", err=True)
        if count is not None and shown >= count:
            break
    return 0


def _captured(source: str, profile: "Profile") -> "Iterator[Outcome]":
    """A file's bytes as one burst at t = 0, then 2 s of silence; memory stays bounded."""
    from daq.errors import SettingsError  # noqa: PLC0415 - only when it runs
    from drivers.codec import codec_for  # noqa: PLC0415
    from drivers.reading import Instant  # noqa: PLC0415

    codec = codec_for(profile, with_repeats=False)
    start, end = Instant(0, 0), Instant(2_000_000, 2_000_000_000)
    try:
        with sys.stdin.buffer if source == "-" else Path(source).open("rb") as file:
            while chunk := file.read(CHUNK_BYTES):
                yield from codec.feed(chunk, start)
    except OSError as error:
        raise SettingsError(f"{source} cannot be read: {error.strerror}.") from error
    # Longer than any idle time that a profile may have, so that 2 s stand for silence in all.
    yield from codec.idle(end if profile.frame.idle_ms <= 2000 else Instant(0, 10**12))


def _live(port: str, profile: "Profile", link: "Link") -> "Iterator[Outcome]":
    from drivers.clock import Clock  # noqa: PLC0415 - only when it runs
    from drivers.codec import codec_for  # noqa: PLC0415
    from drivers.ports import open_port  # noqa: PLC0415

    clock, codec = Clock(), codec_for(profile)
    opened = open_port(port, link)
    click.echo(f"Listening on {port}; press send on the gauge. Ctrl-C ends.", err=True)
    try:
        while True:
            data = opened.read(codec.silence_s)
            at = clock.now()
            yield from codec.feed(data, at) if data else codec.idle(at)
    finally:
        opened.close()


def _show(context: Context, outcome: "Outcome", *, with_time: bool) -> None:
    from drivers.reading import Reading, escaped, plain, utc_text  # noqa: PLC0415 - when it runs

    at = utc_text(outcome.at.utc_us) if with_time else None
    raw_hex = outcome.raw.hex()
    if isinstance(outcome, Reading):
        row: dict[str, Any] = {
            "value": plain(outcome.value),
            "unit": outcome.unit,
            "resolution": plain(outcome.resolution),
            "flags": outcome.flags,
            "channel": outcome.channel,
            "raw_hex": raw_hex,
            "at": at,
        }
        extras = [f"channel {outcome.channel}"] if outcome.channel is not None else []
        extras += outcome.flags
        text = f"{row['value']} {outcome.unit}  (step {row['resolution']})  "
        text += "  ".join([*extras, f"[{escaped(outcome.raw)}]"])
    else:
        row = {
            "error": outcome.code,
            "message": outcome.detail,
            "raw_hex": raw_hex,
            "at": at,
        }
        text = f"{outcome.code}: {outcome.detail}"
    if context.as_json:
        print(json.dumps(row, ensure_ascii=False), flush=True)
    else:
        print(f"{at}  {text}" if at else text, flush=True)
