"""What a shell offers while a name is typed: sessions, gauges, profiles, stacks of this home.

A shell asks on every press of its key: whatever goes wrong gives no names, and no words either.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.shell_completion import CompletionItem

from daq.errors import DaqError

if TYPE_CHECKING:
    from daq.services.session_list import Listed

Complete = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def sessions(context: click.Context, _: click.Parameter, begun: str) -> list[CompletionItem]:
    """Ids of sessions, the open ones first, their jobs where one session alone has it, folders."""
    return _offered(_listed(context), begun)


def open_sessions(context: click.Context, _: click.Parameter, begun: str) -> list[CompletionItem]:
    """The same of those that can be carried on."""
    from daq.evaluation.verdict import OPEN  # noqa: PLC0415 - a shell waits for this

    return _offered([one for one in _listed(context) if one.verdict == OPEN], begun)


def _listed(context: click.Context) -> "Sequence[Listed]":
    from daq.services.session_list import sessions_in  # noqa: PLC0415 - a shell waits for this

    home = _home(context)
    return [] if home is None else sessions_in(home)


def _offered(found: "Sequence[Listed]", begun: str) -> list[CompletionItem]:
    jobs = [one.job for one in found]
    items = [
        CompletionItem(word, help=f"{one.verdict}, {one.part}")
        for one in found
        for word in (one.session_id, one.job if jobs.count(one.job) == 1 else "")
        if word and word.startswith(begun)
    ]
    return [*items, CompletionItem(begun, type="dir")]


def gauges(context: click.Context, _: click.Parameter, begun: str) -> list[CompletionItem]:
    """Gauge files of the home."""
    return _files(context, "gauges", begun)


def stacks(context: click.Context, _: click.Parameter, begun: str) -> list[CompletionItem]:
    """Saved stacks of the home."""
    return _files(context, "stacks", begun)


def profiles(context: click.Context, _: click.Parameter, begun: str) -> list[CompletionItem]:
    """Profiles of the home, those that ship, and files."""
    from drivers.profile.profile import SHIPPED  # noqa: PLC0415 - a shell waits for this

    shipped = [CompletionItem(name) for name in _stems(SHIPPED, begun)]
    return [*_files(context, "profiles", begun), *shipped, CompletionItem(begun, type="file")]


def _files(context: click.Context, folder: str, begun: str) -> list[CompletionItem]:
    home = _home(context)
    return [] if home is None else [CompletionItem(name) for name in _stems(home / folder, begun)]


def _stems(folder: Path, begun: str) -> list[str]:
    try:
        return sorted(path.stem for path in folder.glob("*.toml") if path.stem.startswith(begun))
    except OSError:
        return []


def _home(context: click.Context) -> Path | None:
    from daq.services.home import home_folder  # noqa: PLC0415 - a shell waits for this

    try:
        return home_folder(context.params.get("home") or context.find_root().params.get("home"))
    except (DaqError, OSError):
        return None
