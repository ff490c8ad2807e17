"""The talk of `plan new`: questions on stderr, lines from the terminal, a draft that grows."""

import shutil
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import click
import msgspec

from daq.cli.views.draft import understood
from daq.errors import PlanError, SettingsError
from daq.plan.decidable import GaugeKnown
from daq.plan.drafting.asking import PlanQuestion, again
from daq.plan.drafting.draft import Draft
from daq.plan.drafting.file_text import text_of
from daq.plan.drafting.questions import (
    BACK,
    HELP,
    LATER,
    Answered,
    Left,
    Wrong,
    back,
    next_question,
    question,
    questions,
    take,
)
from daq.plan.review import Finding
from daq.services.draft_stacks import is_offer_due, with_offers, with_usual_blocks
from daq.services.plan_doubts import doubts
from drivers.printable import printable, shown

MOST_WIDTH = 100
MOST_SHOWN = 160
INVENTED = "INVENTED"
"""Stands in the head of every shipped example."""
HOW = (
    f"Enter takes what stands in [brackets]. {BACK}: one question back. {HELP}: what is meant. "
    f"{LATER}: leave, and what was answered is kept."
)

Lines = Callable[[str], str]
"""Asks with a prompt and gives the line; EOFError at the end of file."""


class LeftOff(Exception):
    """Whoever answers goes on later; `draft` is what was answered."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        super().__init__()


class PlanDialogue:
    """Asks until the plan is whole and wanted. `draft` is always all that was answered so far."""

    def __init__(
        self, draft: Draft, path: Path, home: Path, known: GaugeKnown | None, lines: Lines
    ) -> None:
        self.draft = draft
        self._path = path
        self._home = home
        self._known = known
        self._lines = lines
        self._called: str | None = None

    def run(self) -> str:
        """The text of the plan to write. Raises LeftOff, EOFError and KeyboardInterrupt."""
        say(HOW)
        while True:
            asked = self._next()
            if asked is not None:
                self._ask(asked)
                continue
            text = self._confirmed()
            if text is not None:
                return text

    def _next(self) -> PlanQuestion | None:
        """The next question, with the stacks that the blocks at hand make."""
        if is_offer_due(self.draft):
            try:
                self.draft = with_offers(self.draft, self._home)
            except SettingsError as error:
                say(f"{error} Or type none.")
                self.draft = msgspec.structs.replace(again(self.draft, "blocks"), blocks="")
        if self._called is not None:
            return question(self.draft, self._called)
        asked = next_question(self.draft)
        if asked is None or asked.key != "blocks":
            return asked
        self.draft = with_usual_blocks(self.draft, self._home)
        return next_question(self.draft)

    def _ask(self, asked: PlanQuestion) -> None:
        say("")
        for line in asked.words.split("\n"):
            say(line)
        line = self._lines(prompt_of(asked))
        outcome = take(self.draft, line, self._called)
        match outcome:
            case Left():
                raise LeftOff(self.draft)
            case Answered(draft, words):
                self.draft = draft
                self._called = None
                if words:
                    say(f"  {words}")
            case Wrong(words):
                say(f"  {words}")
            case _:
                say(f"  {outcome.words}")

    def _confirmed(self) -> str | None:
        """The text of the plan if it is wanted; None where a question is to be asked again."""
        say("")
        for line in understood(self.draft, width()):
            click.echo(printable(line), err=True)
        say("")
        text, is_usable = self._reviewed()
        name = shown(str(self._path), 200)
        change = 'or what to change, by the name of its line, like "strip" (all: every one)'
        say(
            f"Write {name}? yes, no, {change}"
            if is_usable
            else f"It cannot be written yet. Type no, {change}"
        )
        while True:
            line = self._lines("[yes] > " if is_usable else "> ").strip()
            word = line.lower()
            if word in ("", "y", "yes") and is_usable:
                return text
            if word in ("n", "no", LATER):
                raise LeftOff(self.draft)
            if self._is_changed_by(line):
                return None

    def _is_changed_by(self, line: str) -> bool:
        """Whether what was typed asks a question again; else it is told what may be typed."""
        word = line.lower()
        if word == HELP:
            say(
                "  yes writes the file; no leaves and keeps your answers; the words that a line "
                "begins with ask for that line again."
            )
            return False
        if word == "all":
            self.draft = msgspec.structs.replace(self.draft, asked=())
            return True
        if word == BACK:
            outcome = back(self.draft)
            self.draft = outcome.draft if isinstance(outcome, Answered) else self.draft
            return True
        wanted = question(self.draft, line)
        if wanted is not None:
            self._called = wanted.key
            return True
        names = ", ".join(one.key for one in questions(self.draft))
        say(f"  There is no line {shown(line, 40)}. There are: {shown(names, 600)}.")
        return False

    def _reviewed(self) -> tuple[str, bool]:
        """The text of the plan and whether it can be used, its doubts told."""
        text = text_of(self.draft)
        try:
            found = doubts(text, str(self._path), self._home, self._known)
        except PlanError as error:
            say(f"This cannot be used: {error.reason}.")
            return text, False
        tell_doubts(found)
        if INVENTED in (self.draft.before or ""):
            say(
                "! This engine is invented: replace every number by the maker's, then take out "
                "the line of the file that says so."
            )
        if self.draft.on_disk is not None and text != self.draft.on_disk:
            say(
                "The file is written anew: remarks stay with their lines, blanks and order may "
                "change."
            )
        return text, True


def tell_doubts(found: tuple[Finding, ...]) -> None:
    """What looks wrong, as `plan check` tells it."""
    for one in found:
        say(f"! {one.words}{'' if one.words.endswith(('?', '.')) else '.'}")
    if not found:
        say("Nothing looks out of place. Hold every number against the manual once more.")


def prompt_of(asked: PlanQuestion) -> str:
    """What stands before the answer."""
    return "> " if asked.default is None else f"[{shown(asked.default, MOST_SHOWN)}] > "


def say(words: str) -> None:
    """Words on stderr, in the width that the terminal has now."""
    indent = " " * (len(words) - len(words.lstrip()))
    lines = textwrap.wrap(
        printable(words),
        width(),
        subsequent_indent=indent,
        break_on_hyphens=False,
        break_long_words=False,
    )
    click.echo("\n".join(lines or [""]), err=True)


def width() -> int:
    """Columns for words; asked for each time, since terminals change."""
    return max(min(shutil.get_terminal_size().columns - 1, MOST_WIDTH), 20)


def terminal_lines(prompt: str) -> str:
    """A line from the terminal, with its history and its keys where the system has them.

    Raises EOFError at the end of file.
    """
    try:
        if sys.stdout.isatty():
            return input(prompt)
        click.echo(prompt, err=True, nl=False)
        line = sys.stdin.readline()
    except UnicodeDecodeError:
        return "\ufffd"  # whatever it was, no answer is made of it
    if not line:
        raise EOFError
    return line.rstrip("\r\n")
