"""What several errors in a row of one kind mean, said once. Pure."""

from drivers.reading import Outcome, Reject

AFTER = 3
"""So many in a row make advice worth giving."""

_TELNET = (b"\xff\xfb", b"\xff\xfd", b"\xff\xfe")


class Adviser:
    """Watches one gauge's outcomes; `kind` is its profile's."""

    def __init__(self, kind: str = "text") -> None:
        self._advice = _advice if kind == "text" else _binary_advice
        self._code = ""
        self._in_row = 0
        self._said: set[str] = set()

    def after(self, outcome: Outcome) -> str | None:
        """Advice that this outcome makes due, if any."""
        if not isinstance(outcome, Reject):
            self._code, self._in_row = "", 0
            return None
        if outcome.raw.startswith(_TELNET):
            return self._once(
                "This port speaks the telnet protocol. Open it as rfc2217:// instead of socket://."
            )
        self._in_row = self._in_row + 1 if outcome.code == self._code else 1
        self._code = outcome.code
        return self._once(self._advice(outcome)) if self._in_row >= AFTER else None

    def _once(self, text: str) -> str | None:
        if not text or text in self._said:
            return None
        self._said.add(text)
        return text


def _advice(reject: Reject) -> str:
    if reject.code == "encoding" and any(byte > 0x7F for byte in reject.raw):
        return (
            "In the profile check the baud rate, and whether the gauge sends 7 data bits with "
            "parity (link.baud, link.bits, link.parity, or frame.mask7)."
        )
    if reject.code == "separator":
        return (
            "The gauge sends the other decimal sign, comma for point or point for comma: "
            "change number.sep in the profile, or the gauge's setting."
        )
    if reject.code == "truncated" and reject.raw.endswith((b"\r", b"\n")):
        end = "CR" if reject.raw.endswith(b"\r") else "LF"
        return (
            f"The gauge ends what it sends with {end} alone, and the profile says "
            "otherwise: change frame.end."
        )
    if reject.code == "overlong":
        return (
            "No end mark ever comes: frame.end in the profile, or the speed (link.baud), is wrong."
        )
    return _binary_advice(reject)


def _binary_advice(reject: Reject) -> str:
    """What holds for frames of every kind; those of bytes have no other."""
    return _EVERY_KIND.get(reject.code, "")


_EVERY_KIND = {
    "checksum": (
        "The check character never fits: compare speed and parity with the gauge's "
        "setting (link.baud, link.parity). If it fits now and then, look for a bad "
        "cable."
    ),
    "address": (
        "Another gauge answers: compare the unit number set at the gauge with modbus.unit_id."
    ),
    "modbus.exception-01": (
        "The gauge's registers are of the other sort: try modbus.function 4 instead of "
        "3, or 3 instead of 4."
    ),
    "modbus.exception-02": (
        "The gauge has no register at that address. Printed lists often count from 1 "
        "or 40001, the gauge counts from 0: try modbus.address one lower, or one "
        "higher."
    ),
}
"""By code. Source: Modbus Application Protocol V1.1b3, 4.4 and 7 (from memory)."""
