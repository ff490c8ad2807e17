"""`jbridge completion SHELL`: what a shell reads to complete commands, sessions and names."""

import click
from click.shell_completion import get_completion_class

from daq.cli.options import Context, common_options

VARIABLE = "_JBRIDGE_COMPLETE"
"""click's own, made from the program's name: with it set the program answers the shell."""

EXAMPLES = """\b
Example, for this login only:
  eval "$(jbridge completion bash)"
Example, for good:
  jbridge completion bash >> ~/.bashrc
  jbridge completion zsh  >> ~/.zshrc
  jbridge completion fish >  ~/.config/fish/completions/jbridge.fish"""


@click.command("completion", epilog=EXAMPLES)
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@common_options
def command(context: Context, shell: str) -> int:
    """Print a script for SHELL that completes commands, options, sessions, gauges and profiles."""
    from daq.cli.app import cli

    kind = get_completion_class(shell)
    assert kind is not None  # click has all three
    print(kind(cli, {}, "jbridge", VARIABLE).source())
    return 0
