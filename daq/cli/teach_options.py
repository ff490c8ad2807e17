"""What the options of `teach` say, checked before anything is opened."""

import re
from typing import Any

import click
import msgspec

from drivers.inference.said import Shown, parse_shown
from drivers.profile.profile import Link


class TeachOptions(msgspec.Struct, frozen=True):
    """Displays by press (0 the first, None the last), answers by question, presses left out, what
    asks the gauge, and the line setting if it is known.
    """

    shows: tuple[tuple[int | None, Shown], ...]
    answers: dict[str, str]
    skip: tuple[int, ...]
    send: bytes
    line: Link | None


def options_of(
    shows: tuple[str, ...],
    answers: tuple[str, ...],
    skip: tuple[int, ...],
    ask: str | None,
    line: str | None,
) -> TeachOptions:
    """The options as they were typed; raises BadParameter."""
    return TeachOptions(
        shows=tuple(display(text) for text in shows),
        answers=dict(answer(text) for text in answers),
        skip=tuple(press - 1 for press in skip),
        send=b"" if ask is None else _bytes(ask),
        line=None if line is None else _line(line),
    )


def display(text: str) -> tuple[int | None, Shown]:
    """A display with or without its press before a colon; raises BadParameter."""
    found = re.fullmatch(r"\s*(\d{1,3})\s*:\s*(\D?.*)", text, re.DOTALL)
    press, shown = (int(found[1]) - 1, found[2]) if found else (None, text)
    if press is not None and ":" in shown:
        press, shown = None, text  # degrees, minutes and seconds
    try:
        return press, parse_shown(shown)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--shows") from error


def answer(text: str) -> tuple[str, str]:
    """QUESTION=ANSWER; raises BadParameter."""
    key, mark, said = text.partition("=")
    if not mark or not key.strip() or not said.strip():
        raise click.BadParameter(f"{text!r}: write QUESTION=ANSWER", param_hint="--answer")
    return key.strip(), said.strip()


def _bytes(text: str) -> bytes:
    r"""A request as typed: \r, \n, \t, \\ and \xNN stand for bytes."""
    names = {"r": b"\r", "n": b"\n", "t": b"\t", "\\": b"\\"}
    out, pos = b"", 0
    for found in re.finditer(r"\\(x[0-9A-Fa-f]{2}|.)|([^\\])", text, re.DOTALL):
        pos = found.end()
        code, char = found.groups()
        try:
            if char is not None:
                out += char.encode("latin-1")
            else:
                out += names[code] if code in names else bytes.fromhex(code.removeprefix("x"))
        except (ValueError, UnicodeEncodeError) as error:
            raise click.BadParameter(f"{found.group()!r} is no byte", param_hint="--ask") from error
    if pos != len(text) or not 0 < len(out) <= 256:
        raise click.BadParameter("1 to 256 bytes, a backslash as \\\\", param_hint="--ask")
    return out


def _line(text: str) -> Link:
    found = re.fullmatch(r"(\d{2,7})(?:-([5-8])([NEOMS])(1|1\.5|2))?", text.upper())
    if found is None or not 50 <= int(found[1]) <= 4_000_000:
        raise click.BadParameter(f"{text!r}: write it like 9600-8N1", param_hint="--line")
    rest: dict[str, Any] = {}
    if found[2]:
        rest = {"bits": int(found[2]), "parity": found[3], "stop": float(found[4])}
    return Link(baud=int(found[1]), **rest)
