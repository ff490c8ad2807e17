"""What every dialect does with a judged frame: words of a reject, value limits, repeats. Pure."""

from decimal import Decimal

import msgspec

from drivers.profile.profile import Profile
from drivers.reading import Instant, Reading, Reject, escaped

FIRST_AFTER_OPEN = "first-after-open"
NO_ECHO = "no-echo"
REPEAT = "repeat"


class Bad(Exception):
    """A whole frame that gives no reading: the reject's code, and where and what was expected."""

    def __init__(self, code: str, detail: str) -> None:
        self.code = code
        self.detail = detail
        super().__init__(detail)


def rejected(
    profile: Profile,
    code: str,
    detail: str,
    raw: bytes,
    at: Instant,
    *,
    skipped: int = 0,
    is_first: bool = False,
) -> Reject:
    """A reject that names profile, place and bytes; `is_first` after the port was opened."""
    words = f"profile {profile.id}: {detail}"
    if raw:
        words += f"; got {escaped(raw)} (hex {raw[:24].hex()}{'…' if len(raw) > 24 else ''})"
    if skipped:
        words += f" and {skipped} more bytes"
    flags: tuple[str, ...] = ()
    if is_first and code == "syntax":
        flags = (FIRST_AFTER_OPEN,)
        words += (
            "; the first that comes after opening may be the rest of one that was on its "
            "way: press send again"
        )
    return Reject(code, words, raw, at, skipped, flags)


def has_limits(profile: Profile) -> bool:
    """Whether there is anything that `refuse_value` compares with."""
    return bool(profile.sentinels) or profile.least is not None or profile.most is not None


def refuse_value(profile: Profile, value: Decimal, unit: str, *, in_range: bool = True) -> None:
    """Raises Bad where the number stands for something else or lies out of range; `in_range`
    False: it does so by its form (minutes over 59).
    """
    for sentinel, name in profile.sentinels:
        if value == sentinel:
            raise Bad(f"gauge.{name}", f"the number {value:f} means {name}")
    if not in_range:
        raise Bad("range", "minutes or seconds over 59")
    if profile.least is not None and value < profile.least:
        raise Bad("range", f"{value:f} {unit} is under {profile.least:f}")
    if profile.most is not None and value > profile.most:
        raise Bad("range", f"{value:f} {unit} is over {profile.most:f}")


def exact(text: str, exponent10: int = 0, decimals: int = 0) -> Decimal:
    """`text` x 10**`exponent10` exactly and in plain notation; zero has no sign.

    `text` is a sign or none, ASCII digits and at most one point with `decimals` digits behind it.
    """
    if not exponent10:
        number = Decimal(text)
    elif exponent10 <= decimals:
        number = Decimal(f"{text}E{exponent10}")
    else:
        number = Decimal(text.replace(".", "") + "0" * (exponent10 - decimals))
    return number if number else number.copy_abs()


def repeat_window_ns(profile: Profile, *, with_repeats: bool) -> int:
    """A reading whose bytes are those of the reading before, so short a time ago or less, is a
    repeat; negative: none is.
    """
    return profile.repeat_window_ms * 1_000_000 or -1 if with_repeats else -1


NO_READING: tuple[bytes, int] = (b"", 0)
"""The bytes of the reading before and when they came, in ns, as long as there is none."""


def flagged(reading: Reading, *names: str) -> Reading:
    """The reading with further flags."""
    flags = tuple(sorted({*reading.flags, *names}))
    return msgspec.structs.replace(reading, flags=flags)
