"""Gauges written by hand for the teaching measurement: what they send, and what it means.

They share no code with the drivers: each writes its frames from the format as the profile of the
same name describes it, and says itself what a frame means.
"""

import random
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import reduce
from operator import xor

import msgspec


class Sent(msgspec.Struct, frozen=True):
    """One press: the bytes, the display, and what is meant; `value` None is no reading."""

    data: bytes
    display: str
    value: Decimal | None
    unit: str = ""
    channel: str | None = None
    flags: tuple[str, ...] = ()
    reports: tuple[bytes, ...] = ()


Press = Callable[[random.Random], Sent]


class Gauge(msgspec.Struct, frozen=True):
    """`press` for a size as shops measure it; `odd` for what comes rarely (errors), if anything.

    `meaning` is what its manual says of texts beside the size, as an answer to a field: the first
    entry whose texts include all that were seen counts. `send` asks it for a reading.
    """

    press: Press
    meaning: tuple[tuple[tuple[str, ...], str], ...] = ()
    odd: Press | None = None
    send: bytes = b""
    is_keyboard: bool = False
    layout: str = ""
    units: tuple[str, ...] = ("mm", "in")
    leading: str = "size"
    trailing: str = "size"


def size(rng: random.Random, decimals: int, *, may_be_negative: bool = True) -> Decimal:
    """A size of one to three digits before the point."""
    top = rng.choice((10, 100, 1000)) * 10**decimals
    value = Decimal(rng.randrange(1, top)).scaleb(-decimals)
    return -value if may_be_negative and rng.random() < 0.35 else value


def some_unit(rng: random.Random, *units: str) -> str:
    """The first mostly."""
    return units[0] if rng.random() < 0.7 else rng.choice(units)


def decimals_of(unit: str) -> int:
    """As gauges show it."""
    return {"mm": 3, "in": 5, "um": 1}[unit]


def shown_text(value: Decimal, unit: str) -> str:
    """A display."""
    return f"{value:f} {unit}".strip()


def _sum(text: bytes) -> int:
    return sum(text) % 256


def _xor(text: bytes) -> int:
    return reduce(xor, text, 0)


def any_end_mask7(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    text = f"{value:f}" + rng.choice((f" {unit}", unit) if unit == "in" else ("", " mm", "mm"))
    end = rng.choice(("\r", "\n", "\r\n"))
    data = bytes(b | (b.bit_count() & 1) << 7 for b in (text + end).encode())
    return Sent(data, shown_text(value, unit), value, unit)


def comma_padded_lf(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, 3) % 30
    number = f"{abs(value):.3f}".replace(".", ",")
    sign = "-" if value < 0 else rng.choice(("", "", "+"))
    text = f"{sign + number:>10}" if rng.random() < 0.5 else (sign or " ") + f"{number:>9}"
    text = text[2:] if text.startswith("  ") else text
    return Sent(f"{text} {unit}\n".encode(), shown_text(value, unit), value, unit)


def trailing_sign(rng: random.Random) -> Sent:
    value = Decimal(rng.randrange(1, 2 * 10**6)).scaleb(-5) * (5 if rng.random() < 0.5 else 1)
    value = -value if rng.random() < 0.35 else value
    sign = "-" if value < 0 else rng.choice("+ ")
    digits = f"{abs(value).scaleb(5):08.0f}"
    return Sent(
        (digits + sign).encode(), shown_text(value.quantize(Decimal("0.00001")), "in"), value, "in"
    )


def trailing_over(rng: random.Random) -> Sent:
    return Sent(b"--------E", "Err", None)


def dms(rng: random.Random) -> Sent:
    degrees, minutes, seconds = rng.randrange(1, 360), rng.randrange(60), rng.randrange(60)
    minus = rng.random() < 0.3
    total = Decimal((degrees * 60 + minutes) * 60 + seconds)
    text = f"{'-' if minus else ''}{degrees} {minutes:02d} {seconds:02d}"
    return Sent(f"{text}\r".encode(), text, -total if minus else total, "arcsec")


def fixed_length(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    channel = "A" if rng.random() < 0.8 else rng.choice("AbC")
    value = size(rng, 5) if unit == "in" else size(rng, 3).quantize(Decimal("0.00001"))
    sign = "-" if value < 0 else "+"
    text = f"{channel}{sign}{abs(value).scaleb(5):09.0f}{'01'[unit == 'in']}"
    shown = value if rng.random() < 0.5 or unit == "in" else value.quantize(Decimal("0.001"))
    return Sent(text.encode(), shown_text(shown, unit), value, unit, channel)


def fraction(rng: random.Random) -> Sent:
    below = rng.choice((2, 4, 8, 16, 32, 64, 128))
    above = rng.randrange(1, below, 2)
    whole = rng.choice((0, 0, 1, 2, 11))
    text = f"{whole} {above}/{below}" if whole else f"{above}/{below}"
    value = Decimal(whole) + Decimal(above) / below
    if rng.random() < 0.15 and whole:
        text, value = str(whole), Decimal(whole)
    if rng.random() < 0.3:
        text, value = "-" + text, -value
    return Sent(f"{text}\n".encode(), f"{text} in", value, "in")


def hash_channel(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    channel = "3" if rng.random() < 0.7 else rng.choice(("1", "2", "4", "12"))
    value = size(rng, decimals_of(unit))
    flag = rng.choice("GGGHLN")
    names = {"G": ("in-tol",), "H": ("over-tol",), "L": ("under-tol",), "N": ()}
    sign = "-" if value < 0 else "+"
    number = f"{abs(value):08.3f}" if unit == "mm" else f"{abs(value):09.5f}"
    text = f"#{channel};{sign}{number};{'MI'[unit == 'in']};{flag}"
    return Sent(f"{text}\r".encode(), shown_text(value, unit), value, unit, channel, names[flag])


def hash_odd(rng: random.Random) -> Sent:
    text = rng.choice(("#3;OVR\r", "#12;BAT\r", "#3;+000.000;M;E\r"))
    return Sent(text.encode(), "Err", None, channel=None)


def key_value(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "um", "in")
    power = {"mm": -4, "um": rng.choice((0, 2)), "in": -6}[unit]
    units = rng.randrange(1, 10 ** (4 if power == 2 else rng.choice((3, 5, 6))))
    units = -units if rng.random() < 0.3 else units
    value = Decimal(units).scaleb(power)
    pad = rng.choice(("", "", "  "))
    text = f"{pad}N={units:{rng.choice(('', '', '+'))}d};X={power};U={unit}{rng.choice(('', ' '))}"
    return Sent(f"{text}\n".encode(), shown_text(Decimal(f"{value:f}"), unit), value, unit)


def key_value_odd(rng: random.Random) -> Sent:
    return Sent(b"N=OPEN\n", "----", None)


def nrf(rng: random.Random) -> Sent:
    value = size(rng, 3)
    way = rng.randrange(4)
    if way == 0:
        text = f"{value:f}"
    elif way == 1:
        text = f"{value:+.6E}"
        mantissa, _, power = text.partition("E")
        text = f"{mantissa}E{int(power):+03d}"
    elif way == 2:
        value = Decimal(int(value))
        text = f"{value:f}"
    else:
        value = abs(value) % 1
        text = f"{value:.3f}".removeprefix("0")
    return Sent(f"{text}\n".encode(), shown_text(Decimal(f"{value:f}"), "mm"), value, "mm")


def nrf_odd(rng: random.Random) -> Sent:
    return Sent(rng.choice((b"9.91E37\n", b"+9.9E+37\n", b"-9.9E37\n", b"nan\n")), "----", None)


def plain_crlf(rng: random.Random) -> Sent:
    value = size(rng, 3)
    text = ("-" if value < 0 else "+") + f"{abs(value):07.3f}"
    return Sent(f"{text}\r\n".encode(), shown_text(value, "mm"), value, "mm")


def plain_odd(rng: random.Random) -> Sent:
    return Sent(rng.choice((b"ERR1\r\n", b"ERR2\r\n", b"LOBAT\r\n")), "Err", None)


def query_echo(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit) - (unit == "in"))
    number = f"{abs(value):f}"
    sign = "-" if value < 0 else ""
    text = rng.choice((f"{sign + number:>9}", sign + f"{number:>8}" if sign else f"{number:>9}"))
    return Sent(
        f"Q\r{text.removeprefix('    ')}{unit}\r".encode(), shown_text(value, unit), value, unit
    )


def status_bits(rng: random.Random) -> Sent:
    channel = "A" if rng.random() < 0.7 else "B"
    value = size(rng, 3)
    bits = {0: "hold", 1: "low-battery", 2: "over-tol", 3: "under-tol"}
    word = rng.choice((0, 0, 0, 1, 2, 4, 8, 3))
    flags = tuple(sorted(name for bit, name in bits.items() if word >> bit & 1))
    number = ("-" if value < 0 else "") + f"{abs(value):0{rng.choice((7, 9))}.3f}"
    text = f"{channel},{number},{word:02X}"
    return Sent(f"{text}\r\n".encode(), shown_text(value, "mm"), value, "mm", channel, flags)


def status_odd(rng: random.Random) -> Sent:
    return Sent(rng.choice((b"A,0.000,80\r\n", b"A,0.000,40\r\n")), "----", None)


def stx_etx(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "um")
    value = size(rng, decimals_of(unit))
    text = ("-" if value < 0 else "+") + f"{abs(value):f} {unit}"
    body = text.encode() + b"\x03"
    return Sent(b"\x02" + body + bytes([_xor(body)]), shown_text(value, unit), value, unit)


def sum_hex(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    body = shown_text(value, unit).encode()
    return Sent(body + f"*{_sum(body):02X}\r\n".encode(), shown_text(value, unit), value, unit)


def number_crlf(rng: random.Random) -> Sent:
    value = size(rng, 3)
    return Sent(f"{value:f}\r\n".encode(), shown_text(value, "mm"), value, "mm")


def number_unit_crlf(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    return Sent(f"{value:+f} {unit}\r\n".encode(), shown_text(value, unit), value, unit)


def comma_number_unit(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    number = f"{value:f}".replace(".", ",")
    return Sent(f"{number:>10} {unit}\n".encode(), shown_text(value, unit), value, unit)


def channel_number_unit(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    channel = "1" if rng.random() < 0.7 else rng.choice(("2", "3", "11"))
    return Sent(
        f"C{channel} {value:f} {unit}\r".encode(), shown_text(value, unit), value, unit, channel
    )


def stx_number_unit(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    body = f"{value:+f} {unit}".encode() + b"\x03"
    return Sent(b"\x02" + body + bytes([_xor(body)]), shown_text(value, unit), value, unit)


def number_unit_status(rng: random.Random) -> Sent:
    unit = some_unit(rng, "mm", "in")
    value = size(rng, decimals_of(unit))
    word = rng.choice((0, 0, 1, 2, 3))
    flags = tuple(name for bit, name in ((0, "low-battery"), (1, "zeroed")) if word >> bit & 1)
    text = f"{value:f} {unit},{word:02X}\r\n"
    return Sent(text.encode(), shown_text(value, unit), value, unit, None, flags)


_US = {
    **{str((n + 1) % 10): (0x1E + n, 0) for n in range(10)},
    **{chr(97 + n): (4 + n, 0) for n in range(26)},
}
_KEYS: Mapping[str, Mapping[str, tuple[int, int]]] = {
    "us": {**_US, "-": (0x2D, 0), "+": (0x2E, 2), ".": (0x37, 0), " ": (0x2C, 0), "\n": (0x28, 0)},
    "de": {**_US, "-": (0x38, 0), "+": (0x30, 0), ".": (0x37, 0), " ": (0x2C, 0), "\n": (0x28, 0)},
    "fr": {
        **_US,
        **{str((n + 1) % 10): (0x1E + n, 2) for n in range(10)},
        "m": (0x33, 0),
        "-": (0x23, 0),
        "+": (0x2E, 2),
        ".": (0x36, 2),
        "\n": (0x28, 0),
    },
}
"""Character to usage id and modifier byte; from memory of the three layouts."""


def _keyboard(layout: str, unit_words: bool, sign: str) -> Press:
    def press(rng: random.Random) -> Sent:
        unit = some_unit(rng, "mm", "in") if unit_words else "mm"
        value = size(rng, decimals_of(unit))
        text = f"{value:{sign}f}" + (unit if unit_words else "") + "\n"
        reports: list[bytes] = []
        for char in text:
            usage, modifier = _KEYS[layout][char]
            reports += [bytes([modifier, 0, usage, 0, 0, 0, 0, 0]), bytes(8)]
        return Sent(text.encode(), shown_text(value, unit), value, unit, reports=tuple(reports))

    return press


_ALONE = ("A", "b", "B", "C")
_NUMBERS = ("1", "2", "3", "4", "11", "12")

GAUGES: dict[str, Gauge] = {
    "any-end-mask7": Gauge(any_end_mask7),
    "comma-padded-lf": Gauge(comma_padded_lf),
    "digits-trailing-sign-idle": Gauge(trailing_sign, odd=trailing_over),
    "dms-cr": Gauge(dms),
    "fixed-length-12": Gauge(
        fixed_length,
        (
            (_ALONE, "channel"),
            (("0", "1"), "unit:0=mm,1=in"),
            (("00", "01"), "unit:00=mm,01=in"),
            (("000", "001"), "unit:000=mm,001=in"),
        ),
    ),
    "fraction-lf": Gauge(fraction),
    "hash-channel-cr": Gauge(
        hash_channel,
        (
            (_NUMBERS, "channel"),
            (("M", "I"), "unit:M=mm,I=in"),
            (("G", "H", "L", "N"), "flag:G=in-tol,H=over-tol,L=under-tol,N=,E=!fault"),
        ),
        hash_odd,
    ),
    "kv-exponent-lf": Gauge(
        key_value, ((("-4", "-6", "0", "2"), "exponent"),), key_value_odd, units=("mm", "in", "um")
    ),
    "nrf-query-lf": Gauge(nrf, odd=nrf_odd, send=b"READ?\n"),
    "plain-crlf": Gauge(plain_crlf, odd=plain_odd),
    "query-echo-cr": Gauge(query_echo, send=b"Q\r"),
    "status-bits-crlf": Gauge(
        status_bits,
        (
            (_ALONE, "channel"),
            (
                ("00", "01", "02", "03", "04", "08"),
                "bits:0=hold,1=low-battery,2=over-tol,3=under-tol,6=!not-referenced,7=!sensor",
            ),
        ),
        status_odd,
    ),
    "stx-etx-lrc": Gauge(stx_etx, units=("mm", "um")),
    "sum-hex-crlf": Gauge(sum_hex),
    "number-crlf": Gauge(number_crlf),
    "number-unit-crlf": Gauge(number_unit_crlf),
    "comma-number-unit-lf": Gauge(comma_number_unit),
    "channel-number-unit-cr": Gauge(
        channel_number_unit,
        ((_NUMBERS, "channel"),),
    ),
    "stx-number-unit-etx-xor": Gauge(stx_number_unit),
    "number-unit-sum-crlf": Gauge(sum_hex),
    "number-unit-status-crlf": Gauge(
        number_unit_status, ((("00", "01", "02", "03"), "bits:0=low-battery,1=zeroed"),)
    ),
    "hid-line us": Gauge(_keyboard("us", True, ""), is_keyboard=True, layout="us"),
    "hid-line de": Gauge(_keyboard("de", True, ""), is_keyboard=True, layout="de"),
    "hid-line fr": Gauge(_keyboard("fr", True, ""), is_keyboard=True, layout="fr"),
    "hid-line no unit": Gauge(_keyboard("de", False, "+"), is_keyboard=True, layout="de"),
}
"""By the profile of the same name; what follows a space in the name is a variant."""
