r"""A gauge's dialect as declared: profile files to checked records.

# Profile schema 1

A profile is one TOML file that says how a gauge is connected, where its frames begin and end, and
what they mean. No regular expressions: tokens are read from left to right, with no way back, and
all of the text must be used up. All texts are ASCII, all arithmetic is decimal. An unknown key, and
keys that do not go together, are refused with file, key and reason.

Behind each key stands in brackets what it is where it is left out, "required", or "may be left
out"; then the kinds that it goes with, if not with all of them. A *name* is 1 to 40 characters of
`A-Z a-z 0-9 . _ -`.

```toml
schema = 1
id = "two-inputs"
kind = "text"
[frame]
end = "\r\n"
[[layout]]
lit = "#"
[[layout]]
name = "channel"                                # "1" or "2"
chars = "digit"
width = 1
allowed = ["1", "2"]
[[layout]]
sp = [0, 3]
[[layout]]
name = "number"                                 # "+ 12.345", ten characters in all
form = "fixed"
sign = "required"
gap = true
width = 10
[[layout]]
name = "unit"
map = { "" = "mm", " in" = "in" }
[[layout]]
name = "flag"
optional = true
map = { " H" = "hold", " E" = "!no-signal" }    # " E": there is no reading
[value]
min = "0"
max = "100"
```

## File

- `schema` (required): 1.
- `id` (required): a-z, 0-9 and -, at most 64 characters; the file's name.
- `kind` (required): text, bcd or modbus-rtu.
- `title` (""): for people.

## `[link]`

How to open the port. What the user says goes before it.

- `transport` ("serial"): serial, usb-hid-keyboard (text only), tcp or rfc2217.
- `baud` (9600): 50 to 4000000. Kind modbus-rtu: 19200.
- `bits` (8): 5 to 8. Kinds bcd and modbus-rtu: always 8.
- `parity` ("N"): N, E, O, M or S. Kind modbus-rtu: E.
- `stop` (1): 1, 1.5 or 2.
- `dtr` (may be left out): whether that line is up; else as the system opens it.
- `rts` (may be left out): likewise.
- `keyboard` (may be left out; text): us, de or fr: the layout that the *gauge* is set to; else us.
- `alt_numpad` (false; text): keypad digits typed with Alt held are one character's code.

## `[trigger]`

With this table the gauge is asked for each reading. Kind modbus-rtu is always asked; there the
table is for `reply_ms` alone.

- `send` (required; text, bcd): what asks for one reading: 1 to 256 bytes, characters up to U+00FF.
- `reply_ms` (1000): 1 to 60000. No answer by then is `no-reply`.
- `echo` (false; text): the gauge sends the request back. The first frame since the request, or
  since the last outcome, that is equal to `send` without its line ends is the echo and is consumed;
  a reading without one before it gets the flag `no-echo`.

## `[frame]`

Where a frame begins and ends. Its payload is what lies between start and end mark. A mark
is 1 to 16 bytes, ASCII but for `start_hex`.

- `start` (may be left out; text, bcd): the start mark, as text.
- `start_hex` (may be left out; text, bcd): the same in hex digits, any bytes, with `mask7` up to
  7F; only one of the two.
- `end` (may be left out; text): the end mark, or a list of them.
- `tail` (0; text): 0 to 16 bytes behind the end mark that belong to the frame.
- `length` (may be left out; text, bcd): a fixed length in bytes, start mark included, up to 4096.
  It goes without `end`, `tail` and `max_bytes`. Kind bcd needs it.
- `idle_ms` (500): 1 to 60000: so long a silence closes a frame.
- `max_bytes` (64; text): 1 to 4096: the longest payload.
- `mask7` (false; text): bit 7 of every byte is cleared before anything else. Raw bytes stay as they
  came.
- `trim` (false; text): spaces at both ends of the payload do not count.

A frame ends at its end mark and tail, or at its length. One that has neither `end` nor `length`
ends by `idle_ms` of silence; of one that has, silence makes `truncated`. Bytes before a start mark
are one `noise`, up to the mark or silence. A frame whose payload is longer than `max_bytes` (a
begun end mark not counted) is one `overlong`, also if its end mark or tail never comes; its rest up
to the next end mark and tail, or silence, is counted and not kept. `noise` and `overlong` are told
when they end, or after `idle_ms` of a stream that never pauses; what is passed over after that is
not told again. In a list of end marks the longest that fits counts; a listed CR ends a frame at
once, and an LF right behind it belongs to it. What comes of bytes depends on them and on the
silences between them, never on how they are cut. Every byte but end marks and a consumed echo lies
in exactly one outcome.

## `[check]`

A check character. Kind text; the other kinds have their own.

- `kind` (required; text): xor8 or sum8: all bytes exclusive-or'd, or added modulo 256.
- `form` (required; text): raw, the one byte of `frame.tail = 1`; or hex2, two hex digits in either
  case at the end of the payload.
- `sep` (""; text): with hex2: what stands before the two digits and is not summed.
- `over` ("payload"; text): what is summed; with raw also "payload+end".

Digits or `sep` that are not there are `syntax`, a wrong sum is `checksum`. With `mask7` bit 7 of a
raw sum is not compared.

## `[[layout]]`, kind text

Tokens in order; each entry has exactly one of `lit`, `sp` and `name`. There must be one number; of
channel, sign, exponent and unit there may be one each. The first token that does not fit names the
error: `syntax`, where no other code stands here. A layout that fails by `syntax` or `unit`, and
would fit with point and comma changed over in the number, is `separator` instead. A width is a
number of characters n, or [least, most]; as many as fit are taken.

### lit

- `lit` (required): literal text.
- `optional` (false): it may be missing.

### sp

- `sp` (required): n spaces, or [least, most]; least may be 0.

### channel

Which input a reading came from, kept as text.

- `chars` (required): digit, alpha or alnum: 0-9, A-Z and a-z, or both.
- `width` (required): how many of them.
- `allowed` (may be left out): the list of channels there are; any other is `channel`.

### sign

A sign apart from the number, before or behind it. Then the number itself has none.

- `map` (required): text = "+" or "-"; the longest text that fits counts.
- `optional` (false): it may be missing: plus.

### number

- `form` (required): how it is written, see below.
- `sign` ("none"): none, optional or required: + or - right before the digits.
- `gap` (false): any number of spaces may stand between sign and digits; none where no sign came.
- `sep` ("."): the decimal separator, "." or ","; forms fixed, exp and nrf. Form dms needs one
  character, which stands between its three numbers. Forms int and fraction have none.
- `width` (may be left out): characters of the whole token, sign and gap included; form int: of its
  digits. Nothing behind them is looked at.
- `decimals` (may be left out): form int: how many of its digits are decimals, 0 if left out. Forms
  fixed and exp: how many must be sent; another number of them is `decimals`.

| form | written | resolution |
|---|---|---|
| int | digits; the decimals are implied | the last digit |
| fixed | digits, separator, digits: both sides need one | the last digit |
| exp | as fixed, then E or e and a signed power of ten | the last digit, times that power |
| nrf | as the loose form of IEEE 488.2: .5, 5., 1e3 too | the last digit, times that power |
| dms | degrees, minutes, seconds | 1: the value is in seconds of arc |
| fraction | W, N/D or W N/D with one space; N < D, D a power of two | 1/D as sent, of W alone 1 |

Leading zeros are always allowed, separators of thousands never. A fraction's value is its exact
decimal without trailing zeros. A negative zero is zero. A power of ten over 40, more than 100
digits, a D over 2**40, and minutes or seconds over 59 are `range`.

### exponent

A power of ten apart from a number of form int or fixed, which it multiplies.

- `sign` ("none"): none, optional or required.

### unit

- `map` (required): text as sent = unit; the longest text that fits counts. None: `unit`.
- `optional` (false): it may be missing: `value.unit`.

### flag

A status word.

- `map` (required): text as sent = name of a flag. "" for the name: it says nothing. "!name": there
  is no reading, the outcome is `gauge.name`. The longest text that fits counts.
- `optional` (false): it may be missing.

### bits

A status in hex digits, either case.

- `width` (required): 1 to 8 digits.
- `bits` (required): number of a bit, from "0" for the lowest = name of a flag, "" or "!name" as
  above. A bit that is set and not named gives the flag `bit-N`.

Of several "!name" in a frame the first counts, in the order of the layout, the lowest bit first.

## `[bcd]`

- `order` (required; bcd): high-first or low-first: which half of a byte comes first.

## `[[layout]]`, kind bcd

The frame behind its start mark, nibble by nibble: the tokens name every one, in order. There must
be one digits; of the others but status there may be one each.

### digits

- `nibbles` (required): 1 to 40, a digit each. One over 9 is `bcd`.
- `first` ("msd"): msd or lsd: the most or the least significant digit comes first.
- `decimals` (0): how many of them are decimals, where the frame does not send it.

### decimals

How many of the digits are decimals; more than there are is `syntax`.

- `nibbles` (1): 1.

### sign

- `map` (required): hex digit = "+" or "-"; any other is `syntax`.
- `nibbles` (1): 1.

### unit

- `map` (required): hex digit = unit; any other is `unit`.
- `nibbles` (1): 1.

### channel

The nibble as decimal text, 0 to 15.

- `nibbles` (1): 1.

### status

- `bits` (required): as in kind text. Empty for nibbles that mean nothing, though any bit set in
  them gives its `bit-N`; name it "" to say nothing.
- `nibbles` (1): 1 to 16; of several the first is the highest.

### check

- `kind` (required): xor: of all nibbles before it, the start mark's not among them.
- `nibbles` (1): 1.

## `[modbus]`

The program asks for registers and reads one number from them.

- `unit_id` (required; modbus-rtu): 1 to 247.
- `function` (required; modbus-rtu): 3 holding registers, 4 input registers.
- `address` (required; modbus-rtu): of the first one, from 0 as on the wire; lists that begin at 1
  or 40001 are one more.
- `count` (required; modbus-rtu): 1 for the types of 16 bits, 2 for those of 32.
- `type` (required; modbus-rtu): int16, uint16, int32, uint32 or float32.
- `words` (may be left out; modbus-rtu): needed with two registers: big, the high word first, or
  little. No standard says which.
- `decimals` (0; modbus-rtu): 0 to 40: implied ones of an integer; a float32 is rounded to so many,
  half to even, from its exact value, and needs the key.
- `sentinel_hex` (may be left out; modbus-rtu): all bits of a number that is no reading, high word
  first.
- `sentinel_name` (may be left out; modbus-rtu): what that means: `gauge.name`. Both or neither.

A reply is what comes until silence: `idle_ms` of it, but 40 ms at most once as many bytes are here
as the reply announces; the next request ends it too. Fewer bytes than announced are `truncated`,
more are `overlong`. `reply_ms` is for the bytes, not for that silence. An exact copy of the request
right behind it is an adapter's echo and is dropped, once. NaN and infinity are
`gauge.not-a-number`.

## `[conditions]`, kind text

`"whole payload" = "name"`; `?` stands for any one character. The outcome is `gauge.name`. The
pattern with the fewest `?` is tried first.

## `[[sentinel]]`

- `value` (required): a number as text, like "9.91E37": equal to it, a number is no reading.
- `name` (required): what it means: `gauge.name`.

## `[value]`

- `unit` (""): of a frame that names none.
- `resolution` ("digits"): "digits", as the form of the number says; a positive decimal as text; or
  a table with one for every unit that a frame can have.
- `min` (may be left out): the least value as text, itself allowed, in the unit sent; less is
  `range`.
- `max` (may be left out): the greatest value as text, itself allowed; more is `range`.

## `[repeat]`

- `window_ms` (required): 1 to 60000. A reading whose payload is that of the reading before, no more
  than so long ago, gets the flag `repeat`. Without this table none does.

## Order of tests

- text: empty, encoding (a byte outside 0x20 to 0x7E), check, trim, conditions, layout, "!name",
  sentinel, range.
- bcd: checksum, status, digits, sign and unit in the order of the layout, decimals, sentinel,
  range. So a status that says "no reading" goes before bad digits.
- modbus-rtu: truncated, overlong, checksum, address (of another unit), function (`syntax`),
  exception, number of registers (`syntax`), sentinel, range.

## Codes

`empty` `encoding` `syntax` `separator` `decimals` `unit` `channel` `checksum` `range` `truncated`
`overlong` `noise` `bcd` `address` `modbus.exception-NN` `gauge.NAME` `no-reply`

Sources: IEEE 488.2 for the number forms, IEEE 754 for float32, Modbus Application Protocol V1.1b3
and Modbus over Serial Line V1.02 (all from memory); the rest chosen by us.
"""
