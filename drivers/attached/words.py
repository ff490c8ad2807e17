"""A device's own text made harmless for a terminal. Pure."""

MOST_SHOWN = 80


def shown(text: str, most: int = MOST_SHOWN) -> str:
    """`text` with everything that is not printable escaped, and cut to `most` characters.

    Marks that turn the direction of writing are not printable either.
    """
    out = "".join(char if char.isprintable() else _escape(char) for char in text[: most + 1])
    return out if len(out) <= most else out[: most - 1] + "…"


def _escape(char: str) -> str:
    code = ord(char)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
