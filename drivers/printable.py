"""Text from anywhere made harmless for a terminal. Pure."""


def printable(text: str, keep: str = "") -> str:
    """`text` with a question mark for each character that is not printable, but for those of
    `keep`.
    """
    return "".join(char if char.isprintable() or char in keep else "?" for char in text)


MOST_SHOWN = 80


def shown(text: str, most: int = MOST_SHOWN) -> str:
    """A device's own text with all that is not printable escaped, cut to `most` characters.

    Marks that turn the direction of writing are not printable either.
    """
    out = "".join(char if char.isprintable() else _escape(char) for char in text[: most + 1])
    return out if len(out) <= most else out[: most - 1] + "…"


def _escape(char: str) -> str:
    code = ord(char)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
