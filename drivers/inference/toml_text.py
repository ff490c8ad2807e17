"""A profile as the text of its file. Pure."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from drivers.inference.marks import Marks
from drivers.profile.profile import CheckCharacter, Link

_IDLE_MS = 100
"""Silence that parts two presses; clear of the 16 ms for which USB bridges hold bytes back."""
_REPEAT_MS = 150


def text_of(value: object) -> str:
    """A TOML value: text, whole number, truth, or a list or table of these."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=True).replace("\x7f", "\\u007f")
    if isinstance(value, Mapping):
        cells = (f"{_key(key)} = {text_of(cell)}" for key, cell in value.items())
        return "{ " + ", ".join(cells) + " }"
    assert isinstance(value, Sequence)
    return "[" + ", ".join(map(text_of, value)) + "]"


def _key(key: str) -> str:
    is_bare = key.isascii() and bool(key) and key.replace("-", "a").replace("_", "a").isalnum()
    return key if is_bare else text_of(key)


def profile_text(
    *,
    name: str,
    title: str,
    link: Link,
    send: bytes,
    echo: bool,
    marks: Marks,
    longest: int,
    check: CheckCharacter | None,
    entries: Sequence[Mapping[str, Any]],
    is_loose: bool,
    unit: str,
    remarks: Sequence[str],
) -> str:
    """The file of a profile; `remarks` are what the presses left open. `is_loose`: the number may
    have a power of ten, so the agreed marks for "no number" are refused.
    """
    lines = [f"# {remark}" for remark in remarks]
    lines += [
        "schema = 1",
        f"id = {text_of(name)}",
        f"title = {text_of(title)}",
        'kind = "text"',
        "",
    ]
    lines += _link(link)
    if send:
        lines += ["[trigger]", f"send = {text_of(send.decode('latin-1'))}"]
        lines += ["echo = true", ""] if echo else [""]
    lines += [*_frame(marks, longest), ""]
    if check is not None:
        lines += ["[check]", f"kind = {text_of(check.kind)}", f"form = {text_of(check.form)}"]
        lines += [f"sep = {text_of(check.sep)}"] if check.sep else []
        lines += [f"over = {text_of(check.over)}"] if check.over != "payload" else []
        lines.append("")
    for entry in entries:
        lines.append("[[layout]]")
        lines += [f"{key} = {text_of(value)}" for key, value in entry.items()]
    if is_loose:
        lines += ["", "# IEEE 488.2 and SCPI: these are no sizes."]
        for value, word in _NO_SIZES:
            lines += ["[[sentinel]]", f"value = {text_of(value)}", f"name = {text_of(word)}"]
    lines += ["", "[value]"] if unit or is_loose else []
    lines += [f"unit = {text_of(unit)}"] if unit else []
    lines += ['min = "-1000000"', 'max = "1000000"'] if is_loose else []
    lines += ["", "[repeat]", f"window_ms = {_REPEAT_MS}"]
    return "\n".join(lines) + "\n"


_NO_SIZES = (
    ("9.91E37", "not-a-number"),
    ("9.9E37", "overrange"),
    ("-9.9E37", "underrange"),
)


def _link(link: Link) -> list[str]:
    if link.transport == "usb-hid-keyboard":
        lines = ["[link]", 'transport = "usb-hid-keyboard"', f"keyboard = {text_of(link.keyboard)}"]
        return [*lines, *(["alt_numpad = true"] if link.alt_numpad else []), ""]
    lines = ["[link]", f"baud = {link.baud}"]
    if (link.bits, link.parity) != (8, "N"):
        lines += [f"bits = {link.bits}", f"parity = {text_of(link.parity)}"]
    if link.stop != 1:
        lines.append(f"stop = {link.stop:g}")
    return [*lines, ""]


def _frame(marks: Marks, longest: int) -> list[str]:
    lines = ["[frame]"]
    if marks.start:
        lines.append(f"start = {text_of(marks.start.decode('ascii'))}")
    if marks.ends:
        ends = [end.decode("ascii") for end in marks.ends]
        lines.append(f"end = {text_of(ends if len(ends) > 1 else ends[0])}")
        if marks.tail:
            lines.append(f"tail = {marks.tail}")
    else:
        lines.append(f"idle_ms = {_IDLE_MS}")
    if marks.seventh is not None:
        lines.append("mask7 = true")
    lines.append(f"max_bytes = {max(32, -(-(longest + 12) // 16) * 16)}")
    return lines
