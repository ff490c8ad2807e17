"""Words that tell what to type, as they are told where there are buttons instead. Pure."""

import re

_TYPED = re.compile(
    r"\b([Tt])ype (back|keep or drop|zeroed|stop REASON|stop again|abandon again)(?!\w)"
)


def as_pressed(text: str) -> str:
    """`type back` as `press Back`, and so on for each word that has a button."""
    return _TYPED.sub(_pressed, text)


def _pressed(found: re.Match[str]) -> str:
    press = "Press" if found[1] == "T" else "press"
    word = found[2].removesuffix(" REASON")
    return f"{press} {' or '.join(each.capitalize() for each in word.split(' or '))}"
