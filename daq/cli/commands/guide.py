"""`jbridge guide [TOPIC]`: the guide that ships with the program."""

import json
import sys
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from daq.cli.options import Context, common_options
from daq.guide.topics import TOPICS, text_of


def _complete(_: click.Context, __: click.Parameter, begun: str) -> list[CompletionItem]:
    return [
        CompletionItem(topic, help=told)
        for topic, told in TOPICS.items()
        if topic.startswith(begun)
    ]


@click.command(
    "guide",
    epilog="\b\nExample: jbridge guide trouble\nExample: jbridge guide --html guide.html",
)
@click.argument("topic", required=False, shell_complete=_complete)
@click.option(
    *("--html", "html", "--output"),
    type=click.Path(path_type=Path),
    help="Write a page to read in a browser instead; without TOPIC the whole guide.",
)
@click.option("--replace", is_flag=True, help="FILE may be one that this command did not make.")
@common_options
def command(context: Context, topic: str | None, html: Path | None, replace: bool) -> int:
    """Read about TOPIC; without one, list the topics."""
    if html is not None:
        from daq.guide.page import MARK, page
        from daq.services.own_files import write_own

        text = page([topic] if topic else list(TOPICS))
        write_own(html, text, mark=MARK, option="--html", replace=replace)
        click.echo(f"Written to {html}", err=True)
        return 0
    if context.as_json:
        print(json.dumps((topic and {topic: text_of(topic)}) or TOPICS, ensure_ascii=False))
    elif topic is None:
        width = max(map(len, TOPICS))
        print("\n".join(f"{name:<{width}}  {told}" for name, told in TOPICS.items()))
        click.echo("\nRead one: jbridge guide session", err=True)
    elif context.plain or not sys.stdout.isatty():
        print(text_of(topic), end="")
    else:
        from daq.cli.views.guide import show

        show(text_of(topic))
    return 0
