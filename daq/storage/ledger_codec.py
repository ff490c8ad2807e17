"""An event to the bytes of a ledger line, and back."""

import msgspec

from daq.record.events import AnyEvent, Entry
from daq.record.shape import shape_fault
from daq.storage.chain import headed
from drivers.reading import utc_micros, utc_text


class _Head(msgspec.Struct):
    seq: int
    at: str


_ENCODER = msgspec.json.Encoder()
_EVENT = msgspec.json.Decoder(AnyEvent)
_HEAD = msgspec.json.Decoder(_Head)


def body_of(entry: Entry) -> bytes:
    """The line up to its chain: a JSON object beginning with seq, at and kind, not yet closed."""
    head = b'{"seq":%d,"at":"%s",' % (entry.seq, utc_text(entry.at_us).encode())
    return headed(head, _ENCODER.encode(entry.event))


def entry_of(line: bytes) -> Entry:
    """The entry in a whole line; ValueError with the reason if it is none of ours."""
    try:
        head = _HEAD.decode(line)
        entry = Entry(head.seq, utc_micros(head.at), _EVENT.decode(line))
    except RecursionError as error:
        raise ValueError("it is nested deeper than any record") from error
    except (msgspec.DecodeError, msgspec.ValidationError) as error:
        raise ValueError(str(error)) from error
    fault = shape_fault(entry.event)
    if fault:
        raise ValueError(fault)
    return entry
