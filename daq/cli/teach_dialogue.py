"""The talk of `teach`: infer, ask what is open, infer again."""

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

import click
from msgspec.structs import replace

from daq.cli.teach_options import TeachOptions, display
from daq.cli.teaching import Capture
from daq.cli.views.teach import option_for, question_lines, table
from drivers.inference.infer import Inferred, PressedBursts, frames_in, infer
from drivers.inference.keyboard import frames_typed, infer_keyboard
from drivers.inference.said import CannotInfer, Question
from drivers.reading import escaped

if TYPE_CHECKING:
    from daq.services.teach_files import TeachTarget

_WORDS = {
    "channel": "which input of a box it comes from",
    "unit": "the unit, as a code",
    "flag": "a status",
    "bits": "a status in hex digits",
    "sign": "the sign, as a code",
    "exponent": "the power of ten of the number",
    "size": "more digits of the size before it",
}


class TeachDialogue:
    """What was taken from the gauge, and what the operator has said of it so far."""

    def __init__(
        self,
        taken: Capture,
        profile_id: str,
        options: TeachOptions,
        presses: int | None,
        accept: bool,
        is_asking: bool,
    ) -> None:
        self._reports = taken.reports
        self._accept = accept
        self._is_asking = is_asking
        start = PressedBursts(
            bursts=taken.bursts,
            is_timed=taken.is_timed or len(taken.reports) > 1,
            presses=presses,
            shown={},
            answers=options.answers,
            skip=options.skip,
            send=options.send,
            link=taken.link,
            name=profile_id,
            title="Taught",
        )
        frames = frames_typed(self._reports, start) if self._reports else frames_in(start)[1]
        title = f"Taught from presses like {escaped(frames[0].text, 24)}"
        last = max((n for n in range(len(frames)) if n not in options.skip), default=0)
        shown = {last if press is None else press: size for press, size in options.shows}
        self._presses = replace(start, shown=shown, title=title)

    def settled(self) -> Inferred:
        """What is understood once nothing more can be asked; raises CannotInfer."""
        found = self._infer(self._presses)
        is_told = False
        while self._is_asking and self._due(found):
            if not is_told and self._presses.shown:
                click.echo("\n".join(table(found)), err=True)
                is_told = True
            said = self._presses
            for question in self._due(found):
                said = _asked(question, said)
            try:
                found = self._infer(said)
            except CannotInfer as error:
                click.echo(f"That does not fit. {error}", err=True)
                if not _is_worth_another_try():
                    raise
                continue
            self._presses = said
        return found

    def missing(self, found: Inferred) -> str:
        """Why nothing can be written: the options that would answer; "" if all is answered."""
        due = self._due(found)
        texts = [f"Not answered: {one.text} Say {option_for(one)}." for one in due]
        if due and all(one.default is not None for one in due):
            texts.append("Or --accept the cautious answers.")
        return " ".join(texts)

    def port(self) -> str | None:
        """Where the gauge will be; None where nobody can be asked."""
        if not self._is_asking:
            return None
        from drivers.ports import check_port_name  # noqa: PLC0415 - only when it runs

        name: str = click.prompt("At which port will the gauge be", err=True).strip()
        check_port_name(name)
        return name

    def confirm(self, where: "TeachTarget") -> None:
        """Ask before writing, where somebody is asked at all; raises Abort."""
        if self._is_asking and not self._accept:
            click.confirm(f"Write {where.profile} and {where.gauge}?", True, abort=True, err=True)

    def _due(self, found: Inferred) -> tuple[Question, ...]:
        return (
            found.must if self._accept and found.profile is not None else (found.must or found.open)
        )

    def _infer(self, presses: PressedBursts) -> Inferred:
        if self._reports:
            return infer_keyboard(self._reports, presses)
        return infer(presses)


def chosen_port() -> str:
    """A port that the operator picks from those attached."""
    from drivers.attached.discovery import attached  # noqa: PLC0415 - scans the machine

    found = [device for device in attached() if device.port]
    for number, device in enumerate(found, 1):
        click.echo(f"{number}  {device.port}  {device.looks_like}", err=True)
    if not found:
        click.echo("Nothing is attached that may be a gauge.", err=True)
    typed: str = click.prompt("Which one (a number, or a port)", err=True).strip()
    if typed.isdigit() and 1 <= int(typed) <= len(found):
        return found[int(typed) - 1].port
    return typed


def wait_for_enter() -> bool:
    """Wait until the operator wants the gauge to be asked; False, at once, without a terminal."""
    if sys.stdin is None or not sys.stdin.isatty():
        return False
    click.prompt(
        "Enter asks the gauge, at a size not yet sent",
        default="",
        show_default=False,
        err=True,
    )
    return True


def _is_worth_another_try() -> bool:
    again: bool = click.confirm("Answer again?", True, err=True)
    return again


def _asked(question: Question, said: PressedBursts) -> PressedBursts:
    """`said` with one more answer."""
    if question.key == "shows":
        click.echo(question.text, err=True)
        number = int(question.values[0])
        _, size = click.prompt("All its digits, and the unit", value_proc=display, err=True)
        return replace(said, shown={**said.shown, number: size})
    for line in question_lines(question):
        click.echo(line, err=True)
    answers = dict(said.answers)
    if question.key == "fixed":
        typed: str = click.prompt(
            "All fixed text, or what is which", default="yes", value_proc=_names, err=True
        )
        answers |= dict(word.split("=", 1) for word in typed.split() if word != "yes")
        answers["fixed"] = "yes"
    elif question.key.startswith("field-"):
        answers[question.key] = _field(question)
    else:
        answers[question.key] = click.prompt(
            question.key, type=click.Choice(question.choices), default=question.default, err=True
        )
    return replace(said, answers=answers)


def _field(question: Question) -> str:
    for choice in question.choices:
        click.echo(f"    {choice:<9} {_WORDS.get(choice, '')}", err=True)
    typed: str = click.prompt(
        question.key, type=str, value_proc=_kind_among(question.choices), err=True
    )
    if ":" in typed or typed not in ("unit", "flag", "sign", "bits"):
        return typed
    if typed == "bits":
        names: str = click.prompt(
            "Names by bit number, like 0=hold,7=!sensor. With ! it means no reading; a bit "
            "without a name refuses its reading",
            default="",
            err=True,
        )
        return f"bits:{names}" if names else "bits"
    hint = {"unit": "mm, in, um", "sign": "+ or -", "flag": "a name, !name for no reading"}[typed]
    meanings = []
    for value in question.values:
        words = f"  {value!r} means ({hint})"
        said: str = click.prompt(words, default="", show_default=False, err=True)
        meanings.append(f"{value}={said}")
    return f"{typed}:{','.join(meanings)}"


def _names(text: str) -> str:
    """Proved to be "yes", or words like field-1=channel."""
    words = text.split()
    if not words or not all(word == "yes" or "=" in word for word in words):
        raise click.BadParameter("write yes, or something like field-1=channel")
    return text


def _kind_among(choices: tuple[str, ...]) -> Callable[[str], str]:
    def proved(text: str) -> str:
        if text.partition(":")[0].strip() not in choices:
            raise click.BadParameter(f"one of {', '.join(choices)}")
        return text.strip()

    return proved
