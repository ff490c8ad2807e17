"""README and the shipped guide taken apart: blocks of code, and the commands that they show."""

import re
import shlex
from collections.abc import Iterator

import click

from daq.cli.app import cli
from daq.guide.topics import TOPICS, text_of
from tests.places import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
TEXTS = {"README": README} | {topic: text_of(topic) for topic in TOPICS}


def blocks(language: str, text: str) -> list[str]:
    """The blocks of code in one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.DOTALL | re.MULTILINE)


def shown_commands(text: str) -> list[str]:
    """Every `jbridge …` in a text, in a line or in a block, from the program's name on."""
    prose = re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    joined = re.sub(r"\s+", " ", prose)
    inline = re.findall(r"`(jbridge [^`]*)`", joined)
    in_blocks = re.findall(
        r"^(?:.*&& \S*/)?(jbridge .*)$", "\n".join(blocks("sh", text)), re.MULTILINE
    )
    return [*inline, *in_blocks]


def command_of(shown: str) -> tuple[click.Command, list[str]]:
    """The command that a shown line calls, and the words behind its name; raises KeyError where
    there is no such command.
    """
    words = shlex.split(shown.replace("…", "X"), comments=True)[1:]
    found: click.Command = cli
    context = click.Context(cli)
    while words and isinstance(found, click.Group):
        name = words.pop(0)
        inner = found.get_command(context, name)
        if inner is None:
            raise KeyError(name)
        found = inner
    return found, words


def every_command(group: click.Group = cli) -> Iterator[click.Command]:
    """All commands, those within a group too."""
    context = click.Context(group)
    for name in group.list_commands(context):
        found = group.get_command(context, name)
        assert found is not None
        yield found
        if isinstance(found, click.Group):
            yield from every_command(found)


def options_of(command: click.Command) -> set[str]:
    """The options that a command has, in all their spellings."""
    context = click.Context(command)
    return {
        name
        for each in command.get_params(context)
        if isinstance(each, click.Option)
        for name in (*each.opts, *each.secondary_opts)
    }


def unknown_options(shown: str) -> Iterator[str]:
    """The options of a shown line that its command does not have."""
    command, words = command_of(shown)
    known = options_of(command)
    for word in words:
        if word.startswith("--") and word.partition("=")[0] not in known:
            yield word
