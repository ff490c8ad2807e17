"""What `teach` does at the gauge: take presses from a port or a file; nothing is inferred."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic

import click
import msgspec

from daq.errors import SettingsError
from drivers.attached.device_id import DeviceId
from drivers.inference.line import PLAUSIBLE, SETTINGS, plausibility
from drivers.inference.said import CannotInfer
from drivers.plain_file import open_plain
from drivers.ports.base import Port
from drivers.profile.profile import Link
from drivers.reading import escaped

MOST_FILE_BYTES = 64 * 1024
"""A few presses are a few hundred bytes; a keyboard's reports in hex a few thousand."""
QUIET_S = 0.4
"""So much silence ends a press: above what bridges hold back, below what a finger can do."""
REPLY_S = 2.0
"""So long a gauge that is asked may take. Chosen by us: slow ones need some tenths of a second."""
_MOST_PRESS_BYTES = 4096
_MOST_LATE_READS = 16
_LONGEST_PRESS_S = 5.0

Report = bytes


class Capture(msgspec.Struct, frozen=True, kw_only=True):
    """What came: `bursts` of bytes, or `reports` of a keyboard-type gauge, one entry a press."""

    bursts: tuple[bytes, ...] = ()
    reports: tuple[tuple[Report, ...], ...] = ()
    is_timed: bool = True
    link: Link = Link()
    identity: DeviceId | None = None


def from_file(source: str, *, is_keyboard: bool) -> Capture:
    """A capture: bytes as they came, or a text of reports in hex, one a line, `#` for remarks and
    an empty line between presses. Raises SettingsError.
    """
    try:
        with sys.stdin.buffer if source == "-" else open_plain(Path(source)) as file:
            data = file.read(MOST_FILE_BYTES + 1)
    except OSError as error:
        raise SettingsError(f"{source} cannot be read: {error.strerror}.") from error
    if len(data) > MOST_FILE_BYTES:
        raise SettingsError(
            f"{source} is longer than {MOST_FILE_BYTES // 1024} KiB: capture a few presses only."
        )
    if not is_keyboard:
        return Capture(bursts=(data,) if data else (), is_timed=False)
    return Capture(reports=tuple(_reports(source, data)), is_timed=False)


def _reports(source: str, data: bytes) -> Iterator[tuple[Report, ...]]:
    press: list[Report] = []
    for number, line in enumerate(data.decode("latin-1").splitlines(), 1):
        text = line.partition("#")[0].strip()
        if text:
            try:
                press.append(bytes.fromhex(text))
            except ValueError as error:
                raise SettingsError(
                    f"{source}, line {number}: {text[:40]!r} is not a report in hex like "
                    "00001e0000000000."
                ) from error
        elif press and not line.strip():
            yield tuple(press)
            press = []
    if press:
        yield tuple(press)


def from_port(
    name: str, presses: int, line: Link | None, send: bytes, wait: Callable[[], bool]
) -> Capture:
    """So many presses from a serial or network port; raises PortError or CannotInfer.

    Without `line`, the usual line settings are tried one after the other until the bytes look like
    text. With `send`, the gauge is asked: `wait` is called first, and says whether somebody is
    there who can see to a silent gauge and have it asked again.
    """
    from drivers.ports import open_port  # noqa: PLC0415 - loads pyserial

    settings = SETTINGS if line is None and _has_line(name) else (line or Link(),)
    while True:
        is_attended = wait() if send else False
        seen: list[str] = []
        for link in settings:
            port = open_port(name, link)
            try:
                first = _answer(port, send) if send else _press(port, 1, presses)
                is_text = plausibility(first) >= PLAUSIBLE
                if is_text or (first and len(settings) == 1):
                    bursts = (first, *_rest(port, first, presses, send, wait))
                    return Capture(bursts=bursts, link=link, identity=port.identity)
            finally:
                port.close()
            if first:
                seen.append(f"{words_of(link)}: {escaped(first, 16)}")
            if len(settings) > 1:
                click.echo(f"  {_untaken(link, first, is_asked=bool(send))}", err=True)
        if seen:
            raise CannotInfer(
                "No text came at any usual line setting. Look in the gauge's manual and say "
                "--line; if it sends no text, write a profile by hand. Seen: "
                f"{'; '.join(seen[:4])}."
            )
        _say_silent(is_attended)


def _untaken(link: Link, burst: bytes, *, is_asked: bool) -> str:
    """What came at a line setting that is not the gauge's."""
    if not burst:
        return f"At {words_of(link)} no answer."
    again = "" if is_asked else "; press send again"
    return (
        f"At {words_of(link)} that is no text: {escaped(burst, 24)}. Trying another line "
        f"setting{again}."
    )


def _rest(
    port: Port, first: bytes, presses: int, send: bytes, wait: Callable[[], bool]
) -> Iterator[bytes]:
    """The presses after the first, each shown."""
    click.echo(f"  1  {escaped(first)}", err=True)
    for number in range(2, presses + 1):
        burst = b"" if send else _press(port, number, presses)
        while not burst:
            is_attended = wait()
            _throw_away(port)
            burst = _answer(port, send)
            if not burst:
                _say_silent(is_attended)
        click.echo(f"  {number}  {escaped(burst)}", err=True)
        yield burst


def _say_silent(is_attended: bool) -> None:
    """No answer came: say what to check; raises CannotInfer where nobody is there to do it."""
    words = (
        f"No answer came within {REPLY_S:g} s. Is the gauge on and connected? Check "
        "--line (like 9600-8N1) and --ask: the text in the gauge's manual, with its "
        "end, often \\r or \\r\\n."
    )
    if not is_attended:
        raise CannotInfer(words)
    click.echo(words, err=True)


def _throw_away(port: Port) -> None:
    """What came too late for the question before, so that it does not pass for the answer."""
    for _ in range(_MOST_LATE_READS):
        if not port.read(0.0):
            return


def _answer(port: Port, send: bytes) -> bytes:
    """All bytes that a request brings; b"" if nothing came within REPLY_S."""
    port.write(send)
    until = monotonic() + REPLY_S
    while (left_s := until - monotonic()) > 0:
        if data := port.read(left_s):
            return data + _until_silence(port, len(data))
    return b""


def _press(port: Port, number: int, presses: int) -> bytes:
    """All bytes of one press, however long it takes to come."""
    click.echo(f"Press {number} of {presses}: press send at a size not yet sent.", err=True)
    data = b""
    while not data:
        data = port.read(None)
    return data + _until_silence(port, len(data))


def _until_silence(port: Port, count: int) -> bytes:
    """What follows the first `count` bytes until QUIET_S of silence."""
    data = b""
    until = monotonic() + _LONGEST_PRESS_S
    while more := port.read(QUIET_S):
        data += more
        if count + len(data) > _MOST_PRESS_BYTES or monotonic() > until:
            raise CannotInfer(
                f"The gauge sends without a pause: {escaped(data, 32)}. Set it to send when its "
                "button is pressed, or capture a few presses into a file and use --from."
            )
    return data


def from_keyboard(name: str, presses: int) -> Capture:
    """So many presses of a keyboard-type gauge, as raw reports; raises PortError."""
    from drivers.ports.usb_interface import open_keyboard  # noqa: PLC0415 - loads pyusb

    device = open_keyboard(name)
    try:
        taken: list[tuple[Report, ...]] = []
        while len(taken) < presses:
            click.echo(
                f"Press {len(taken) + 1} of {presses}: press send at a size not yet sent.", err=True
            )
            reports: list[Report] = []
            while (report := device.read_report(QUIET_S if reports else None)) or not reports:
                if report and device.report_id is not None:
                    report = report[1:] if report[0] == device.report_id else b""
                if report:
                    reports.append(report)
                if len(reports) > _MOST_PRESS_BYTES:
                    raise CannotInfer(
                        "The gauge types without a pause. Set it to send when its button is "
                        "pressed."
                    )
            taken.append(tuple(reports))
            click.echo(f"  {len(taken)}  {len(reports)} reports", err=True)
        return Capture(reports=tuple(taken), identity=device.identity)
    finally:
        device.close()


def _has_line(name: str) -> bool:
    """A real serial line is behind it, so that baud rate and parity matter."""
    return name.startswith("rfc2217") or ("://" not in name and not name.startswith("/dev/pts/"))


def words_of(link: Link) -> str:
    """A line setting as people write it: 9600-8N1."""
    return f"{link.baud}-{link.bits}{link.parity}{link.stop:g}"
