"""The topics of the guide and their texts, as Markdown; read from the package, nothing else."""

import difflib
from importlib.resources import files

from daq.errors import UsageError
from drivers.profile.schema import reference

TOPICS = {
    "session": "from the first check to the verdict, and the words that can be typed",
    "page": "the session on a tablet beside the crank, heard, and pressed without a keyboard",
    "plan": "what is measured: the plan file, key by key",
    "checks": "proving the gauge before, in between and after; its history; a gauge study",
    "stacks": "which gauge blocks to wring, and a shop's own sets",
    "numbers": "estimate, temperature, uncertainty, decision, form, next step",
    "gauges": "how gauges are connected: cables, keyboards, networks, typing",
    "profiles": "how a gauge talks: the profile file with its whole schema",
    "data": "the folder, the tables, the record, exit codes",
    "python": "sessions as DataFrames, and sessions run by a program",
    "trouble": "when something goes wrong: what you see, and what to do",
    "glossary": "a dozen words",
}
"""Topics in the order in which they are read, with what each tells."""

_WITH_REFERENCE = "profiles"


def text_of(topic: str) -> str:
    """A topic's Markdown. Raises UsageError for a topic that there is not, naming the nearest."""
    if topic not in TOPICS:
        near = difflib.get_close_matches(topic.lower(), TOPICS, n=1)
        meant = f"Did you mean {near[0]}? " if near else ""
        raise UsageError(
            f"there is no topic {topic!r}. {meant}Topics: {', '.join(TOPICS)}", "TOPIC"
        )
    text = (files("daq.guide") / "texts" / f"{topic}.md").read_text(encoding="utf-8")
    return f"{text}{_deeper(reference())}\n" if topic == _WITH_REFERENCE else text


def _deeper(text: str) -> str:
    """The same with every heading a level deeper, since it stands inside a topic."""
    lines, is_code = [], False
    for line in text.splitlines():
        is_code ^= line.startswith("```")
        lines.append(f"#{line}" if line.startswith("#") and not is_code else line)
    return "\n".join(lines)
