"""Options that several commands share, and what the help of every command says of them."""

import click
import pytest
from click.testing import CliRunner

from daq.cli.app import cli
from daq.cli.options import Context, common_options, shown_options


@click.command()
@shown_options
@common_options
def _look(context: Context) -> None:
    click.echo(context.show)


@pytest.mark.parametrize(
    ("word", "shown"), [("mm", "mm"), ("inch", "inch"), ("in", "inch"), ("both", "both")]
)
def test_inches_are_asked_for_by_either_word_for_them(word: str, shown: str) -> None:
    told = CliRunner().invoke(_look, ["--show", word], obj=Context())
    assert told.output == f"{shown}\n"


def helps(command: click.Command, context: click.Context) -> list[str]:
    """The help of a command and of all below it."""
    found = [command.get_help(context)]
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            found += helps(below, click.Context(below, context, name))
    return found


def test_no_help_speaks_of_python() -> None:
    texts = helps(cli, click.Context(cli, info_name="jbridge"))
    assert len(texts) > 20
    for text in texts:
        assert "None" not in text, text


@pytest.mark.parametrize("word", ["stint", "tainted", "guarded", "coverage", "limits kept"])
def test_no_help_has_words_that_a_machinist_does_not_know(word: str) -> None:
    for text in helps(cli, click.Context(cli, info_name="jbridge")):
        assert word not in text, text
