"""What `teach` understood, as text for people and as JSON. No terminal touched here."""

from collections.abc import Sequence
from typing import Any

from drivers.inference.infer import Inferred, Seen
from drivers.inference.said import Question
from drivers.reading import Reading, escaped, plain

MOST_ROWS = 20


def table(found: Inferred) -> list[str]:
    """The frames one below the other: bytes, parts by what they were taken for, and the reading."""
    columns = _columns(found.frames)
    rows = [["press", "bytes", *columns, "reading"]]
    for frame in found.frames[:MOST_ROWS]:
        cells = dict(_named(frame))
        reading = "?" if frame.reading is None else _reading(frame.reading)
        row = [str(frame.press), escaped(frame.raw), *(cells.get(name, "") for name in columns)]
        rows.append([*row, reading])
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [f"What each press sends {found.marks}."]
    lines += [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    left = len(found.frames) - MOST_ROWS
    return [*lines, f"… and {left} more"] if left > 0 else lines


def _named(frame: Seen) -> list[tuple[str, str]]:
    """The parts that have a name; what has none is fixed text or spaces."""
    return [(what, text) for what, text in frame.parts if what]


def _columns(frames: Sequence[Seen]) -> list[str]:
    longest = max(frames, key=lambda frame: len(_named(frame)))
    return list(dict.fromkeys(what for what, _ in _named(longest)))


def _reading(reading: Reading) -> str:
    text = f"{plain(reading.value)} {reading.unit}, step {plain(reading.resolution)}"
    if reading.channel is not None:
        text += f", channel {reading.channel}"
    return ", ".join((text, *reading.flags))


def question_lines(question: Question) -> list[str]:
    """A question with its choices and what would settle it."""
    lines = [f"{question.key}: {question.text}"]
    if question.settles:
        lines.append(f"    this would tell: {question.settles}")
    return lines


def option_for(question: Question) -> str:
    """The option that answers a question."""
    if question.key == "shows":
        return f"--shows '{question.choices[0]}'"
    return f"--answer {question.key}={'|'.join(question.choices)}"


def document(
    found: Inferred, name: str, files: tuple[str, str] | None, gauge: str | None
) -> dict[str, Any]:
    """What `--json` prints; `files` are those that were written."""
    return {
        "name": name,
        "written": files is not None,
        "files": list(files or ()),
        "frames_are": found.marks,
        "frames": [_frame(frame) for frame in found.frames],
        "open": [
            {
                "question": question.key,
                "text": question.text,
                "choices": question.choices,
                "default": question.default,
                "settles": question.settles,
            }
            for question in found.open
        ],
        "not_seen": list(found.unseen),
        "profile": found.profile,
        "gauge": gauge,
    }


def _frame(frame: Seen) -> dict[str, Any]:
    row: dict[str, Any] = {
        "press": frame.press,
        "raw_hex": frame.raw.hex(),
        "parts": [{"is": what, "text": text} for what, text in frame.parts],
    }
    reading = frame.reading
    if reading is not None:
        row |= {
            "value": plain(reading.value),
            "unit": reading.unit,
            "resolution": plain(reading.resolution),
            "channel": reading.channel,
            "flags": reading.flags,
        }
    return row
