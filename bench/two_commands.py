"""The least click program with two commands: the limit for start-up."""

import click


@click.group()
@click.version_option("1.0")
def cli() -> None:
    """Two commands."""


@cli.command()
def one() -> None:
    """The first."""


@cli.command()
def two() -> None:
    """The second."""


if __name__ == "__main__":
    cli()
