"""The question why a gauge is used that its history calls out of control."""

import sys

import click


def ask_why(trouble: str) -> str | None:
    """The operator's reason, "" for none; None without a terminal to ask at."""
    if sys.stdin is None or not sys.stdin.isatty():
        return None
    print(f"Note: {trouble}", file=sys.stderr)
    answer: str = click.prompt("Why use it all the same (empty: do not)", default="", err=True)
    return answer
