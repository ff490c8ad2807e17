"""`jbridge profile schema|check`: what a profile may say, and what is wrong in one."""

import json

import click

from daq.cli import completing
from daq.cli.options import Context, common_options


@click.group("profile", epilog="\b\nExample: jbridge profile check bench-mike.toml")
@common_options
def command(context: Context) -> None:
    """Things to know about profiles: how a gauge talks."""


@command.command("schema", epilog="\b\nExample: jbridge profile schema > profile.schema.json")
@common_options
def schema(context: Context) -> int:
    """Print the JSON Schema (2020-12) of a profile."""
    from drivers.profile.schema import json_schema

    print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
    return 0


@command.command(
    "check",
    epilog="\b\nExample: jbridge profile check bench-mike.toml\n"
    "Example: jbridge profile check number-unit-crlf",
)
@click.argument("file", shell_complete=completing.profiles)
@common_options
def check(context: Context, file: str) -> int:
    """Tell what is wrong in the profile FILE, or how it is understood.

    FILE may also be the name of a profile in the home, or of one that ships. A profile that cannot
    be used is exit 2.
    """
    from daq.cli.views.profile import document, lines
    from daq.services.home import home_folder, load_profile

    profile = load_profile(file, home_folder(context.home))
    if context.as_json:
        print(json.dumps(document(profile), ensure_ascii=False))
    else:
        print("\n".join(lines(profile)))
    return 0
