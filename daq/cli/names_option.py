"""`--only M1 M2`: an option that takes several names, as people write it."""

import click


class TakesNames(click.Command):
    """A command whose `--only` takes all words up to the next option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Rewrite `--only A B` to `--only A --only B` before click reads it."""
        return super().parse_args(ctx, spread(args))


def spread(args: list[str]) -> list[str]:
    """The arguments with one `--only` before each name.

    The last name is the command's own argument where that would be missing otherwise:
    `--only M1 M2 plan.toml`. `--` ends the names.
    """
    names: list[str] = []
    rest: list[str] = []
    taking = False
    for place, word in enumerate(args):
        if word == "--":
            rest += args[place:]
            break
        if word == "--only":
            taking = True
        elif word.startswith("-"):
            taking = False
            rest.append(word)
        elif taking:
            names.append(word)
        else:
            rest.append(word)
    if names and not _has_positional(rest):
        rest.append(names.pop())
    return [word for name in names for word in ("--only", name)] + rest


_FLAGS = {"--json", "--plain", "--debug", "--help", "-h"}


def _has_positional(rest: list[str]) -> bool:
    """A word that is no option and no option's value."""
    is_value = False
    for place, word in enumerate(rest):
        if word == "--":
            return place + 1 < len(rest)
        if word.startswith("-"):
            is_value = word not in _FLAGS and "=" not in word
        elif is_value:
            is_value = False
        else:
            return True
    return False
