"""What `listen` does at a live gauge: hear it, and ask it where it has to be asked."""

from collections.abc import Iterator
from queue import Empty, SimpleQueue
from threading import Thread

import click

from daq.acquisition.inputs import Item, KeyboardGone, Typed
from daq.cli.line_editor import StdinLines, lines_if_any
from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.gauge.asking import Asking
from drivers.gauge.reader import GaugeLost, GaugeReader, Notice
from drivers.ports import open_port
from drivers.profile.profile import Profile
from drivers.reading import Outcome, Reading, Reject

ASK_EVERY_S = 1.0
"""A gauge that has to be asked, and nobody is at a keyboard to do it."""


def live(port: str, profile: Profile, every_s: float | None) -> Iterator[Outcome]:
    """Outcomes as they come, without end; a gauge that answers is asked every `every_s`, else at
    each Enter. Raises PortError.
    """
    asking = Asking(profile.trigger.reply_ms / 1000) if profile.is_asked else None
    items: SimpleQueue[Item] = SimpleQueue()
    reader = GaugeReader(
        open_port(port, profile.link), lambda: codec_for(profile), Clock(), items.put, asking=asking
    )
    keyboard = lines_if_any() if asking and every_s is None else None
    if asking and keyboard is None:
        every_s = every_s or ASK_EVERY_S
    click.echo(f"Listening on {port}; {_how(asking, keyboard, every_s)}. Ctrl-C ends.", err=True)
    if keyboard is not None:
        Thread(target=keyboard, args=(items.put,), daemon=True).start()
    reader.start()
    try:
        yield from _outcomes(reader, items, asking, every_s)
    finally:
        if keyboard is not None:
            keyboard.stop()
        reader.stop()


def _how(asking: Asking | None, keyboard: StdinLines | None, every_s: float | None) -> str:
    if asking is None:
        return "press send on the gauge"
    return "press Enter for each reading" if keyboard else f"it is asked every {every_s:g} s"


def _outcomes(
    reader: GaugeReader, items: SimpleQueue[Item], asking: Asking | None, every_s: float | None
) -> Iterator[Outcome]:
    pressed = is_over = False
    while True:
        try:
            item = items.get(timeout=every_s if asking else None)
        except Empty:
            if is_over:
                return
            reader.ask()
            continue
        match item:
            case Reading() | Reject():
                yield item
            case Notice():
                click.echo(f"Note: {item.text}", err=True)
            case Typed():
                pressed = True
                reader.ask()
            case KeyboardGone() if pressed and asking:
                # Lines out of a pipe: its end is the end, once the last answer is here.
                every_s, is_over = asking.reply_s + ASK_EVERY_S, True
            case KeyboardGone():
                every_s = ASK_EVERY_S
                reader.ask()
            case GaugeLost():
                raise item.lost
            case Exception():
                raise item
