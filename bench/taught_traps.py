"""Gauges that set traps for inference: glued codes, two sizes in a frame, moving decimals.

Written like `bench.taught_gauges`; no profile of these exists, and some cannot have one.
"""

import random

from bench.taught_gauges import Gauge, Sent, decimals_of, shown_text, size, some_unit


def unit_digit_behind(rng: random.Random) -> Sent:
    """0 or 1 for mm or in, right behind the decimals."""
    unit = some_unit(rng, "mm", "in")
    value = size(rng, 3)
    sign = "-" if value < 0 else "+"
    text = f"{sign}{abs(value):07.3f}{'01'[unit == 'in']}\r\n"
    return Sent(text.encode(), shown_text(value, unit), value, unit)


def channel_digit_before(rng: random.Random) -> Sent:
    """A channel digit, right before a zero-padded number."""
    channel = "0" if rng.random() < 0.8 else rng.choice("123")
    value = size(rng, 3, may_be_negative=False)
    return Sent(f"{channel}{value:08.3f}\r".encode(), shown_text(value, "mm"), value, "mm")


def channel_digit_before_int(rng: random.Random) -> Sent:
    """The same without a point."""
    channel = "0" if rng.random() < 0.8 else rng.choice("123")
    value = size(rng, 3, may_be_negative=False)
    text = f"{channel}{value.scaleb(3):07.0f}\r"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def sign_letter(rng: random.Random) -> Sent:
    """P or N stands for the sign."""
    value = size(rng, 3)
    text = f"{'NP'[value > 0]}{abs(value):07.3f} mm\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def sign_digit(rng: random.Random) -> Sent:
    """0 or 1 for the sign, glued to zero-padded digits."""
    value = size(rng, 3)
    text = f"{'01'[value < 0]}{abs(value).scaleb(3):07.0f}\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def sign_behind_unit(rng: random.Random) -> Sent:
    """The sign comes last, behind the unit."""
    value = size(rng, 3)
    text = f"{abs(value):.3f} mm {'+-'[value < 0]}\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def decimals_by_unit(rng: random.Random) -> Sent:
    """Digits without a point; mm has three decimals, in has five."""
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    sign = "-" if value < 0 else "+"
    text = f"{sign}{abs(value).scaleb(decimals_of(unit)):08.0f} {unit}\r\n"
    return Sent(text.encode(), shown_text(value, unit), value, unit)


def factor_letter(rng: random.Random) -> Sent:
    """The number is in thousandths where a k follows it."""
    value = size(rng, 3, may_be_negative=False)
    is_big = rng.random() < 0.25
    text = f"{value:.3f}{'k' if is_big else ' '}\r\n"
    meant = value * 1000 if is_big else value
    return Sent(text.encode(), shown_text(meant, "mm"), meant, "mm")


def error_behind(rng: random.Random) -> Sent:
    """An E behind the number means that it is none."""
    value = size(rng, 3)
    is_error = rng.random() < 0.1
    text = f"{value:.3f}{'E' if is_error else ''}\r\n"
    meant = None if is_error else value
    return Sent(text.encode(), shown_text(value, "mm"), meant, "mm")


def error_with_digit(rng: random.Random) -> Sent:
    """E1 behind the number is an error, not a power of ten."""
    value = size(rng, 3)
    is_error = rng.random() < 0.2
    text = f"{value:.3f}{rng.choice(('E1', 'E2')) if is_error else ''}\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), None if is_error else value, "mm")


def two_sizes(rng: random.Random) -> Sent:
    """The size and, behind it, the last one; now and then they are the same."""
    value, other = size(rng, 3), size(rng, 3)
    if rng.random() < 0.4:
        other = value
    text = f"{value:+.3f};{other:+.3f};mm\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def limit_before(rng: random.Random) -> Sent:
    """A limit that seldom changes stands before the size."""
    value = size(rng, 3)
    limit = "12.500" if rng.random() < 0.8 else "13.000"
    text = f"L{limit} {value:+.3f} mm\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def temperature_behind(rng: random.Random) -> Sent:
    """The temperature of the gauge follows."""
    value = size(rng, 3)
    text = f"{value:.3f} mm {rng.choice(('20.1', '20.2', '19.9'))}C\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def comma_fields(rng: random.Random) -> Sent:
    """A decimal comma among commas that part fields."""
    value = size(rng, 3)
    text = f"1,{value:.3f}".replace(".", ",") + f",mm,{rng.choice('000012')}\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm", None)


def counter_before(rng: random.Random) -> Sent:
    """A counter of presses stands before the size."""
    value = size(rng, 3)
    text = f"{rng.randrange(1, 1000):04d} {value:+09.3f}mm\r"
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def seconds_behind(rng: random.Random) -> Sent:
    """A time of day follows, which looks like an angle."""
    value = size(rng, 3)
    text = (
        f"{value:+.3f} {rng.randrange(24):02d}:{rng.randrange(60):02d}:{rng.randrange(60):02d}\r\n"
    )
    return Sent(text.encode(), shown_text(value, "mm"), value, "mm")


def unit_word_for_error(rng: random.Random) -> Sent:
    """The unit gives way to OL where the number means nothing."""
    value = size(rng, 3)
    is_error = rng.random() < 0.1
    text = f"{value:+.3f} {'OL' if is_error else 'mm'}\r\n"
    return Sent(text.encode(), shown_text(value, "mm"), None if is_error else value, "mm")


def crc_behind(rng: random.Random) -> Sent:
    """Four hex digits of a check that no profile can express."""
    value = size(rng, 3)
    body = f"{value:+.3f}mm"
    check = 0xFFFF
    for byte in body.encode():
        check ^= byte
        for _ in range(8):
            check = check >> 1 ^ (0xA001 if check & 1 else 0)
    return Sent(f"{body}{check:04X}\r\n".encode(), shown_text(value, "mm"), value, "mm")


_SIGNS = (("P", "N"), "sign:P=+,N=-")

TRAPS: dict[str, Gauge] = {
    "unit digit behind decimals": Gauge(unit_digit_behind, trailing="code"),
    "channel digit before zeros": Gauge(channel_digit_before, leading="fixed"),
    "channel digit before, no point": Gauge(channel_digit_before_int, leading="fixed"),
    "letter for the sign": Gauge(sign_letter, (_SIGNS,)),
    "digit for the sign": Gauge(sign_digit, ((("0", "1"), "sign:0=+,1=-"),), leading="fixed"),
    "sign behind the unit": Gauge(sign_behind_unit, ((("+", "-"), "sign:+=+,-=-"),)),
    "implied decimals by unit": Gauge(decimals_by_unit),
    "k multiplies": Gauge(factor_letter),
    "E means error": Gauge(error_behind),
    "E1 means error": Gauge(error_with_digit),
    "two sizes": Gauge(two_sizes),
    "a limit before": Gauge(limit_before),
    "a temperature behind": Gauge(temperature_behind),
    "decimal comma among commas": Gauge(comma_fields, ((("0", "1", "2"), "flag:0=,1=,2="),)),
    "a counter before": Gauge(counter_before),
    "a time behind": Gauge(seconds_behind),
    "unit gives way to OL": Gauge(unit_word_for_error),
    "unknown check behind": Gauge(crc_behind),
}
