"""`jbridge plan schema`: what a plan file may say."""

import json

import click

from daq.cli.options import Context, common_options


@click.group("plan", epilog="\b\nExample: jbridge plan schema > plan.schema.json")
@common_options
def command(context: Context) -> None:
    """Things to know about plan files."""


@command.command("schema", epilog="\b\nExample: jbridge plan schema > plan.schema.json")
@common_options
def schema(context: Context) -> int:
    """Print the JSON Schema (2020-12) of the plan file."""
    from daq.plan import json_schema  # noqa: PLC0415 - only when it runs

    print(json.dumps(json_schema(), indent=2))
    return 0
