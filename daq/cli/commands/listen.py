"""`jbridge listen`: frames as they come, decoded or explained."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from daq.cli.options import Context, common_options
from daq.cli.run_options import GAUGE, PROFILE
from daq.cli.taking_options import Seconds
from drivers.reading import Reject, escaped, plain, utc_text

if TYPE_CHECKING:
    from drivers.profile.profile import Profile
    from drivers.reading import Outcome

CHUNK_BYTES = 4096


@click.command(
    "listen",
    epilog="\b\nExample: jbridge listen --port /dev/ttyUSB0 --profile number-unit-crlf",
)
@click.option("--port", metavar="URL", help="Device path, socket://, rfc2217:// or loop://.")
@PROFILE
@GAUGE
@click.option("--from", "source", metavar="FILE", help="Decode captured bytes instead; - is stdin.")
@click.option(
    "--every",
    type=Seconds(min=0.05, max=3600),
    metavar="SECONDS",
    help="Ask a gauge that answers so often, instead of at each Enter.",
)
@click.option("--count", type=click.IntRange(min=1), help="End after so many readings or errors.")
@common_options
def command(
    context: Context,
    port: str | None,
    profile: str | None,
    gauge: str | None,
    source: str | None,
    every: float | None,
    count: int | None,
) -> int:
    """Show what a gauge sends: raw bytes, decoded reading, or the error that explains itself.

    Nothing is stored. A capture file is decoded as one burst, so a held button is not noticed. A
    gauge that has to be asked is asked at each Enter; without a keyboard, once a second.
    """
    from daq.cli.listening import live
    from daq.services.choose import choose
    from daq.services.home import home_folder, load_gauge, load_profile
    from drivers.gauge.advice import Adviser

    home = home_folder(context.home)
    if source is not None:
        if port is not None:
            raise click.UsageError("--from and --port do not go together: say a file or a port.")
        if profile is None and gauge is not None:
            profile = load_gauge(gauge, home).profile
        if profile is None:
            raise click.UsageError("--profile is missing: say how the gauge talks.")
        used = load_profile(profile, home)
        outcomes = _captured(source, used)
    else:
        chosen = choose(port, profile, gauge, home)
        used = chosen.profile
        outcomes = live(chosen.port, used, every)
    adviser = Adviser(used.kind)
    for shown, outcome in enumerate(outcomes, 1):
        at = utc_text(outcome.at.utc_us) if source is None else None
        text = json.dumps(_row(outcome, at)) if context.as_json else _line(outcome, at)
        print(text, flush=source is None)
        advice = adviser.after(outcome)
        if advice:
            click.echo(f"Hint: {advice}", err=True)
        if count is not None and shown >= count:
            break
    return 0


def _captured(source: str, profile: "Profile") -> "Iterator[Outcome]":
    """A file's bytes as one burst at t = 0, then 2 s of silence; memory stays bounded."""
    from daq.errors import SettingsError
    from drivers.dialects.codec import codec_for
    from drivers.plain_file import open_plain
    from drivers.reading import Instant

    codec = codec_for(profile, with_repeats=False)
    start, end = Instant(0, 0), Instant(2_000_000, 2_000_000_000)
    try:
        with sys.stdin.buffer if source == "-" else open_plain(Path(source)) as file:
            while chunk := file.read(CHUNK_BYTES):
                yield from codec.feed(chunk, start)
    except OSError as error:
        raise SettingsError(f"{source} cannot be read: {error.strerror}.") from error
    # Longer than any idle time that a profile may have, so that 2 s stand for silence in all.
    yield from codec.idle(end if profile.frame.idle_ms <= 2000 else Instant(0, 10**12))


def _row(outcome: "Outcome", at: str | None) -> dict[str, Any]:
    """An outcome as `--json` prints it."""
    raw_hex = outcome.raw.hex()
    if isinstance(outcome, Reject):
        return {"error": outcome.code, "message": outcome.detail, "raw_hex": raw_hex, "at": at}
    return {
        "value": plain(outcome.value),
        "unit": outcome.unit,
        "resolution": plain(outcome.resolution),
        "flags": outcome.flags,
        "channel": outcome.channel,
        "raw_hex": raw_hex,
        "at": at,
    }


def _line(outcome: "Outcome", at: str | None) -> str:
    """An outcome in a line for people."""
    if isinstance(outcome, Reject):
        text = f"{outcome.code}: {outcome.detail}"
    else:
        text = f"{plain(outcome.value)} {outcome.unit}  (step {plain(outcome.resolution)})"
        if outcome.channel is not None:
            text += f"  channel {outcome.channel}"
        text = "  ".join((text, *outcome.flags, f"[{escaped(outcome.raw)}]"))
    return f"{at}  {text}" if at else text
