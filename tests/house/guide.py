"""DEVELOPERS.md taken apart: its parts, its tree, its tables and what it names."""

import re

from tests.places import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

NAMED = re.compile(r"`([\w./-]+\.py)`((?:,?\s`[A-Za-z_][\w.]*`)+)")
"""A file, then what stands in it: `daq/rules/decide.py` `decide`, `ALLOWED`."""


def part(heading: str) -> str:
    """What stands below a heading, up to the next one of its level or above."""
    (found,) = re.finditer(rf"^(#+) {re.escape(heading)}$", GUIDE, re.MULTILINE)
    rest = GUIDE[found.end() :]
    above = re.search(rf"^#{{1,{len(found[1])}}} ", rest, re.MULTILINE)
    return rest[: above.start()] if above else rest


def tree() -> list[tuple[str, str]]:
    """The lines of the tree: path from the top, folders with a slash behind, and the words."""
    (block,) = re.findall(r"```\n(.*?)```", part("The tree"), re.DOTALL)
    above: list[str] = []
    lines = []
    for line in block.splitlines():
        indent, name, words = re.fullmatch(r"((?:  )*)(\S+) +(.*)", line).groups()  # type: ignore[union-attr]
        above = [*above[: len(indent) // 2], name]
        lines.append(("".join(above), words))
    return lines


def named(text: str) -> list[tuple[str, str]]:
    """Every name in a file that a text tells of, in its order."""
    return [
        (found[1], name)
        for found in NAMED.finditer(text)
        for name in re.findall(r"[\w.]+", found[2])
    ]


def rows(text: str, first: str) -> list[list[str]]:
    """The cells of the table whose head begins with `first`, without its head."""
    lines = text.splitlines()
    begin = next(number for number, line in enumerate(lines) if line.startswith(f"| {first} |"))
    found = []
    for line in lines[begin + 2 :]:
        if not line.startswith("|"):
            break
        found.append([cell.strip() for cell in line.strip("|").split("|")])
    return found
