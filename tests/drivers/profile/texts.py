"""Good profiles to make mistakes in, and the ways to make them."""

TOP = 'schema = 1\nid = "t"\nkind = "text"\n'
NUMBER = '[[layout]]\nname = "number"\nform = "fixed"\n'
UNIT = '[[layout]]\nname = "unit"\nmap = { mm = "mm", in = "in" }\n'
GOOD = TOP + '[frame]\nend = "\\r\\n"\n' + NUMBER
TEXT = TOP + NUMBER
BCD = """schema = 1
id = "t"
kind = "bcd"
[frame]
start_hex = "AA55"
length = 8
[bcd]
order = "low-first"
[[layout]]
name = "status"
bits = { "0" = "hold", "3" = "!sensor" }
[[layout]]
name = "channel"
[[layout]]
name = "decimals"
[[layout]]
name = "digits"
nibbles = 6
[[layout]]
name = "sign"
map = { "0" = "+", "b" = "-" }
[[layout]]
name = "unit"
map = { "0" = "mm", "A" = "in" }
[[layout]]
name = "check"
kind = "xor"
"""
MODBUS = """schema = 1
id = "t"
kind = "modbus-rtu"
[modbus]
unit_id = 247
function = 4
address = 65534
count = 2
type = "int32"
words = "little"
decimals = 4
sentinel_hex = "8000000A"
sentinel_name = "no-signal"
[value]
unit = "mm"
"""


def frame(keys: str) -> str:
    """A profile with these keys in its frame table."""
    return TOP + f"[frame]\n{keys}\n" + NUMBER


def number(keys: str) -> str:
    """A profile whose number has these keys."""
    return TOP + f'[[layout]]\nname = "number"\n{keys}\n'


def also(text: str) -> str:
    """The good profile and more."""
    return GOOD + text + "\n"


def token(keys: str) -> str:
    """The good profile with one more token, the second, at the end."""
    return also(f"[[layout]]\n{keys}")


def bcd(old: str, new: str) -> str:
    assert BCD.count(old) == 1, old
    return BCD.replace(old, new)


def modbus(old: str, new: str) -> str:
    assert MODBUS.count(old) == 1, old
    return MODBUS.replace(old, new)


def entry(keys: str) -> str:
    """The BCD profile with one more entry, the eighth, at the end."""
    return BCD + f"[[layout]]\n{keys}\n"
