"""`--only M1 M2`: an option that takes several names, as people write it."""

from pathlib import Path

import click


class TakesNames(click.Command):
    """A command whose `--only` takes all words up to the next option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Rewrite `--only A B` to `--only A --only B` before click reads it."""
        return super().parse_args(ctx, spread(args))


def spread(args: list[str]) -> list[str]:
    """The arguments with one `--only` before each name.

    The last name is the command's own argument if that would be missing otherwise and such a file
    or folder exists: `--only M1 M2 plan.toml`.
    """
    out: list[str] = []
    names: list[str] = []
    rest: list[str] = []
    words = iter(args)
    taking = False
    for word in words:
        if word == "--only":
            taking = True
        elif word.startswith("-"):
            taking = False
            rest.append(word)
        elif taking:
            names.append(word)
        else:
            rest.append(word)
    has_argument = (bool(rest) and not rest[0].startswith("-")) or _has_positional(rest)
    if names and not has_argument and Path(names[-1]).exists():
        rest.append(names.pop())
    for name in names:
        out += ["--only", name]
    return rest + out


_FLAGS = {"--json", "--plain", "--debug", "--help", "-h"}


def _has_positional(rest: list[str]) -> bool:
    """A word that is no option and no option's value."""
    is_value = False
    for word in rest:
        if word.startswith("-"):
            is_value = word not in _FLAGS and "=" not in word
        elif is_value:
            is_value = False
        else:
            return True
    return False
