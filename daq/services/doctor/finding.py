"""What was found about one thing of a machine. Pure."""

import msgspec


class MachineFinding(msgspec.Struct, frozen=True):
    """One thing that was looked at: `needed` if a session cannot do without it; `message` says in
    a line how it is and, unless it is `ok`, what to do.
    """

    name: str
    ok: bool
    needed: bool
    message: str


def is_fit(findings: "tuple[MachineFinding, ...]") -> bool:
    """Nothing that is needed is missing."""
    return all(one.ok or not one.needed for one in findings)
