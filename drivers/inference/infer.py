"""From what a few presses sent, and what the display showed, to a profile. Pure.

Every byte of a frame becomes the size, its sign, spaces, a unit named in words, or fixed text; what
changes from press to press and is none of these must be explained by the operator. So a frame that
differs later in a way that no press showed is refused, not misread.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

import msgspec
from msgspec.structs import replace

from drivers.dialects.codec import codec_for
from drivers.errors import ProfileError
from drivers.inference.checks import hex_check, raw_check, without_check
from drivers.inference.doubts import leading_zeros, not_seen, questions, units_of_frames
from drivers.inference.fields import Called
from drivers.inference.marks import Cut, PressedFrame, cut
from drivers.inference.said import CannotInfer, Question, Shown
from drivers.inference.sizes import SizeFound, Undecided, sized
from drivers.inference.tokens import TokenLayout, layout, words_sent
from drivers.inference.toml_text import profile_text
from drivers.inference.words import marks_words, parts_of
from drivers.profile.file import parse_profile
from drivers.profile.profile import CheckCharacter, Link
from drivers.reading import Instant, Outcome, Reading, escaped, plain

_APART_NS = 60_000_000_000
"""Distance between two presses when the result is tried: longer than any silence of a profile."""


class PressedBursts(msgspec.Struct, frozen=True, kw_only=True):
    """What is known before inferring. `bursts` are the bytes of each press, or one capture if not
    `is_timed`; `presses` says then how many it holds, where no end mark does. `shown` is by frame,
    0 the first. `skip` frames are left out. `send` is what asks the gauge.
    """

    bursts: tuple[bytes, ...]
    is_timed: bool = True
    presses: int | None = None
    shown: dict[int, Shown]
    answers: dict[str, str] = {}
    skip: tuple[int, ...] = ()
    send: bytes = b""
    link: Link = Link()
    name: str
    title: str


class Seen(msgspec.Struct, frozen=True):
    """One frame: which press (from 1), raw bytes, its parts as (what, text), and the reading if a
    profile could be made.
    """

    press: int
    raw: bytes
    parts: tuple[tuple[str, str], ...] = ()
    reading: Reading | None = None


class Inferred(msgspec.Struct, frozen=True):
    """`profile` is the text of a profile that decodes every frame, None while a question without a
    safe answer is open. `open` are the questions not answered, `unseen` what no press showed.
    """

    frames: tuple[Seen, ...]
    marks: str
    profile: str | None
    open: tuple[Question, ...]
    unseen: tuple[str, ...] = ()

    @property
    def must(self) -> tuple[Question, ...]:
        """Open questions that no default can answer."""
        return tuple(question for question in self.open if question.default is None)


def frames_in(presses: PressedBursts) -> tuple[Cut, tuple[PressedFrame, ...]]:
    """How the bytes are cut, and the frames that count; raises CannotInfer."""
    found = cut(presses.bursts, is_timed=presses.is_timed, presses=presses.presses)
    echo = presses.send.rstrip(b"\r\n")
    pieces = [piece for piece in found.pieces if not echo or piece.text != echo]
    wrong = [press + 1 for press in presses.skip if not 0 <= press < len(pieces)]
    if wrong:
        raise CannotInfer(f"There is no press {wrong[0]} to skip: {len(pieces)} came.")
    return found, tuple(pieces)


def infer(presses: PressedBursts) -> Inferred:
    """The profile, or the questions that stand before it; raises CannotInfer."""
    found, pieces = frames_in(presses)
    kept = [number for number in range(len(pieces)) if number not in presses.skip]
    if not kept:
        raise CannotInfer("No press is left. Press send on the gauge.")
    pieces = tuple(pieces[number] for number in kept)
    shown = {kept.index(press): size for press, size in presses.shown.items() if press in kept}
    wrong = [press + 1 for press in presses.shown if press not in kept]
    if wrong:
        raise CannotInfer(f"A display was typed for press {wrong[0]}, but {len(pieces)} came.")
    check = _check(found, pieces, presses.answers)
    texts = [without_check(piece.text.decode("ascii"), check) for piece in pieces]
    marks = marks_words(found, check)
    labels = [number + 1 for number in kept]
    bare = tuple(Seen(label, piece.raw) for label, piece in zip(labels, pieces, strict=True))
    if not shown:
        return Inferred(bare, marks, None, (_first(kept),))
    result = sized(texts, labels, shown, presses.answers)
    if isinstance(result, Undecided):
        return Inferred(bare, marks, None, (result.question,))
    asked = questions(result, shown, texts, labels)
    asked += _raw_tail(found, check)
    _answers_known(presses.answers, asked, result)
    still_open = tuple(one for one in asked if one.key not in presses.answers)
    parts = [parts_of(result, number) for number in range(len(pieces))]
    if any(one.default is None for one in still_open):
        seen = [replace(one, parts=part) for one, part in zip(bare, parts, strict=True)]
        return Inferred(tuple(seen), marks, None, still_open)
    text, readings, unseen = _made(presses, found, pieces, check, result, shown)
    seen = [
        replace(one, parts=part, reading=reading)
        for one, part, reading in zip(bare, parts, readings, strict=True)
    ]
    return Inferred(tuple(seen), marks, text, still_open, tuple(unseen))


def _made(
    presses: PressedBursts,
    found: Cut,
    pieces: Sequence[PressedFrame],
    check: CheckCharacter | None,
    result: SizeFound,
    shown: Mapping[int, Shown],
) -> tuple[str, list[Reading], list[str]]:
    """The profile's text, every frame read by it, and what no press showed."""
    answers = presses.answers
    result = _proven_units_only(result, shown)
    sent = units_of_frames(result, shown)
    typed = [size.unit for press, size in shown.items() if sent[press] is None and size.unit]
    default = (typed[0] if typed else answers.get("unit", "")) if None in sent else ""
    units = [unit or default for unit in sent]
    words = words_sent(result)
    words |= _other_words(words, answers.get("other-unit", "none"))
    is_optional = bool(words) and any(row.unit is None for row in result.rows)
    zeros = leading_zeros(result, shown)
    if answers.get("leading", "fixed") == "size":
        zeros = 0
    size_unit = next((size.unit for size in shown.values() if size.unit), "")
    made: TokenLayout = layout(result, words, is_optional, zeros, size_unit)
    is_unit_sent = bool(words) or any(said.kind == "unit" for said in result.names.values())
    unseen = not_seen(result, units, is_unit_sent)
    number = next(entry for entry in made.entries if entry.get("name") == "number")
    is_loose = number["form"] in ("exp", "nrf") or result.exponent is not None
    text = profile_text(
        name=presses.name,
        title=presses.title,
        link=presses.link,
        send=presses.send,
        echo=len(pieces) + len(presses.skip) < len(found.pieces),
        marks=found.marks,
        longest=max(len(piece.text) for piece in pieces),
        check=check,
        entries=made.entries,
        is_loose=is_loose,
        unit=default,
        remarks=unseen,
    )
    readings = _verified(text, presses, pieces, result.sizes, units)
    return text, readings, unseen


def _verified(
    text: str,
    presses: PressedBursts,
    pieces: Sequence[PressedFrame],
    sizes: Sequence[Decimal],
    units: Sequence[str],
) -> list[Reading]:
    """Every frame decoded by the profile itself; raises CannotInfer if one comes out otherwise."""
    try:
        profile = parse_profile(text, f"the profile of {presses.name}")
    except ProfileError as error:
        raise CannotInfer(f"No profile can be written from what was understood. {error}") from error
    codec = codec_for(profile, with_repeats=False)
    readings: list[Reading] = []
    for number, piece in enumerate(pieces):
        at = Instant(number * 60_000_000, number * _APART_NS)
        codec.request()
        out: list[Outcome] = [*codec.feed(piece.raw, at)]
        out += codec.idle(Instant(at.utc_us + 59_000_000, at.mono_ns + 59_000_000_000))
        good = [one for one in out if isinstance(one, Reading)]
        if (
            len(out) != 1
            or not good
            or good[0].value != sizes[number]
            or good[0].unit != units[number]
        ):
            got = "; ".join(
                plain(one.value) + " " + one.unit if isinstance(one, Reading) else one.detail
                for one in out
            )
            raise CannotInfer(
                f"What was understood does not fit: press {number + 1}, {escaped(piece.raw)}, "
                f"should be {plain(sizes[number])} {units[number]} and is read as "
                f"{got or 'nothing'}."
            )
        readings.append(good[0])
    return readings


def _check(
    found: Cut, pieces: Sequence[PressedFrame], answers: Mapping[str, str]
) -> CheckCharacter | None:
    if found.marks.tail:
        return raw_check(pieces, is_masked=found.marks.seventh is not None)
    if answers.get("check") == "none":
        return None
    return hex_check([piece.text.decode("ascii") for piece in pieces])


def _raw_tail(found: Cut, check: CheckCharacter | None) -> list[Question]:
    if not found.marks.tail or check is not None:
        return []
    return [
        Question(
            key="check",
            text=(
                "One byte follows the end mark, and it is no check character that is known "
                "here. Ignore it? Then nothing it may say (a unit, a status) is noticed."
            ),
            choices=("none",),
            default=None,
            settles="the gauge's manual",
        )
    ]


def _first(kept: Sequence[int]) -> Question:
    return Question(
        key="shows",
        text=f"What did the display show for press {kept[-1] + 1}?",
        choices=(f"{kept[-1] + 1}: SIZE UNIT",),
        default=None,
        settles="its display, typed",
        values=(str(kept[-1]),),
    )


def _answers_known(
    answers: Mapping[str, str], asked: Sequence[Question], result: SizeFound
) -> None:
    """Raises CannotInfer for an answer to no question, or one that is none of its choices."""
    fields = {field.key for field in result.fields if field.number}
    fields |= (
        {f"field-{len(fields) + 1}"}
        if "size" in {v.split(":")[0] for v in answers.values()}
        else set()
    )
    free = {"unit", "leading", "trailing", "fixed", "check", "keyboard", "other-unit"}
    for key, answer in answers.items():
        if key not in fields | free:
            names = ", ".join(sorted(fields | free))
            raise CannotInfer(f"{key}={answer}: there is no such question; there are {names}.")
        one = next((question for question in asked if question.key == key), None)
        chosen = answer.split(",") if key == "other-unit" else [answer]
        if one is not None and key in free and not set(chosen) <= set(one.choices):
            raise CannotInfer(f"{key}={answer}: answer with {' or '.join(one.choices)}.")
    if answers.get("trailing") == "code" and any(one.key == "trailing" for one in asked):
        raise CannotInfer(
            "Something that stands right beside digits with a decimal point cannot be told "
            "from them. Look in the gauge's settings for a format with a separator."
        )


def _other_words(words: Mapping[str, str], answer: str) -> dict[str, str]:
    """Units that no press showed and the operator says can come, spelled as the one that did."""
    if not words or answer == "none":
        return {}
    is_upper = next(iter(words)).isupper()
    return {(unit.upper() if is_upper else unit): unit for unit in answer.split(",")}


def _proven_units_only(result: SizeFound, shown: Mapping[int, Shown]) -> SizeFound:
    """Without a point in the number, a unit whose decimals no display proved is left out."""
    if not result.place.implied or result.exponent is not None:
        return result
    names = dict(result.names)
    for field in result.fields:
        said = names.get(field.number)
        if said is None or said.kind != "unit" or not said.meaning:
            continue
        proven = {field.values[press] for press in shown} | set(field.seen)
        kept = {value: unit for value, unit in said.meaning.items() if value in proven}
        names[field.number] = Called("unit", kept)
    return replace(result, names=names)
