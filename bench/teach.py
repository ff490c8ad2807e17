"""Teaching: a profile inferred from a few presses, tried on many later frames of the same gauge.

`python -m bench.teach [SETS]` prints the table by gauge. The gauges are `bench.taught_gauges`.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TypeAlias

import msgspec
from msgspec.structs import replace

from bench.ratio import Row
from bench.taught_gauges import GAUGES, Gauge, Sent
from bench.taught_traps import TRAPS
from drivers.dialects.codec import codec_for
from drivers.hid.decoder import KeyDecoder
from drivers.inference.infer import Inferred, PressedBursts, infer
from drivers.inference.keyboard import infer_keyboard
from drivers.inference.said import CannotInfer, Question, Shown, parse_shown
from drivers.profile.file import parse_profile, read_profile
from drivers.profile.profile import SHIPPED, Profile
from drivers.reading import Instant, Outcome, Reading

SETS, QUICK_SETS = 60, 5
"""Sets of presses a gauge: of a whole run, and of one that only counts."""
LATER = 150
"""Frames that each inferred profile is tried on."""
VECTORS = Path(__file__).resolve().parents[1] / "tests" / "vectors" / "profiles"
RIGHT, REFUSED, ASKED, GAVE_UP, WRONG = "right", "refused", "asked", "gave up", "wrong"
OUTCOMES = (RIGHT, REFUSED, ASKED, GAVE_UP, WRONG)
"""All later frames as meant; some refused, none misread; no profile without an answer; no profile
at all; some frame misread."""
_MOST_ROUNDS = 12


class Set(msgspec.Struct, frozen=True):
    """What a shop did: the presses, which display was typed first, and what is sent later."""

    presses: tuple[Sent, ...]
    typed: int
    later: tuple[Sent, ...]


class Verdict(msgspec.Struct, frozen=True):
    """What came of one set; `story` says how, for whoever looks into it."""

    outcome: str
    story: str = ""
    questions: int = 0


def sets(gauge: Gauge, count: int, seed: int) -> Iterable[Set]:
    """`count` sets of 3 to 6 presses at random sizes."""
    for number in range(count):
        rng = random.Random(f"{seed}/{number}")
        presses = tuple(gauge.press(rng) for _ in range(rng.randint(3, 6)))
        later = tuple(
            gauge.odd(rng) if gauge.odd is not None and rng.random() < 0.1 else gauge.press(rng)
            for _ in range(LATER)
        )
        yield Set(presses, rng.randrange(len(presses)), later)


def taught(gauge: Gauge, one: Set, *, is_answered: bool) -> tuple[Inferred | None, int, str]:
    """What is inferred, by an operator who answers truly or one who says --accept; how many
    questions came; and why nothing was inferred.
    """
    shown = {one.typed: parse_shown(one.presses[one.typed].display)}
    answers: dict[str, str] = {}
    asked = 0
    for _ in range(_MOST_ROUNDS):
        try:
            found = _infer(gauge, one, shown, answers)
        except CannotInfer as error:
            return None, asked, str(error)
        if not found.open or (not is_answered and not found.must):
            return found, asked, ""
        asked += len(found.open)
        if not is_answered:
            return None, asked, found.must[0].text
        before = (len(shown), len(answers))
        for question in found.open:
            _answer(gauge, one, question, shown, answers)
        if (len(shown), len(answers)) == before:
            return None, asked, f"no answer to {found.open}"
    return None, asked, "no end of questions"


def _infer(gauge: Gauge, one: Set, shown: dict[int, Shown], answers: dict[str, str]) -> Inferred:
    presses = PressedBursts(
        bursts=tuple(press.data for press in one.presses),
        shown=shown,
        answers=answers,
        send=gauge.send,
        name="taught",
        title="taught",
    )
    if gauge.is_keyboard:
        return infer_keyboard([press.reports for press in one.presses], presses)
    return infer(presses)


def _answer(
    gauge: Gauge,
    one: Set,
    question: Question,
    shown: dict[int, Shown],
    answers: dict[str, str],
) -> None:
    """What an operator with the gauge's manual says."""
    if question.key == "shows":
        press = int(question.values[0])
        shown[press] = parse_shown(one.presses[press].display)
    elif question.key.startswith("field-"):
        known = _meaning(gauge, question.values)
        if known:
            answers[question.key] = known
    elif question.key == "fixed":
        answers["fixed"] = "yes"
        for key, text in zip(question.values, question.texts, strict=True):
            known = _meaning(gauge, (text,))
            if known:
                answers[key] = known
    elif question.key in ("leading", "trailing"):
        said = gauge.leading if question.key == "leading" else gauge.trailing
        if said in question.choices:
            answers[question.key] = said
    elif question.key == "keyboard":
        answers["keyboard"] = gauge.layout
    elif question.key == "unit":
        answers["unit"] = "mm"
    elif question.key == "other-unit":
        can = [unit for unit in gauge.units if unit in question.choices]
        answers["other-unit"] = ",".join(can)


def _meaning(gauge: Gauge, values: Sequence[str]) -> str:
    return next((said for texts, said in gauge.meaning if set(values) <= set(texts)), "")


def judged(gauge: Gauge, one: Set, *, is_answered: bool) -> Verdict:
    """What came of a set."""
    found, asked, why = taught(gauge, one, is_answered=is_answered)
    if found is None or found.profile is None:
        return Verdict(GAVE_UP if is_answered or not asked else ASKED, why, asked)
    profile = parse_profile(found.profile, "taught")
    outcome, story = RIGHT, ""
    for sent, got in zip(one.later, decoded(profile, one.later), strict=True):
        if is_wrong(sent, got, is_answered=is_answered):
            return Verdict(WRONG, f"{sent} gave {got}\n{found.profile}", asked)
        if sent.value is not None and not isinstance(got, Reading):
            outcome, story = REFUSED, f"{sent.data!r}: {got.detail}"
    return Verdict(outcome, story, asked)


def is_wrong(sent: Sent, got: Outcome, *, is_answered: bool) -> bool:
    """A reading that is not what was meant.

    Where nobody was asked about texts that never changed, channel and status may be missing, which
    --accept says; they may never be others.
    """
    if not isinstance(got, Reading):
        return False
    if sent.value is None or got.value != sent.value or got.unit != sent.unit:
        return True
    beside = {(sent.channel, sent.flags)}
    if not is_answered:
        beside |= {(None, sent.flags), (sent.channel, ()), (None, ())}
    return (got.channel, got.flags) not in beside


def decoded(profile: Profile, sent: Iterable[Sent]) -> Iterable[Outcome]:
    """One outcome for each press; the presses are minutes apart."""
    codec = codec_for(profile, with_repeats=False)
    keys = KeyDecoder(profile.link.keyboard or "us", alt_numpad=profile.link.alt_numpad)
    for number, press in enumerate(sent):
        at = Instant(0, number * 60_000_000_000)
        codec.request()
        data = press.data
        if press.reports:
            text = "".join(keys.take(report).text for report in press.reports)
            data = text.encode("latin-1", "replace")
        out = [*codec.feed(data, at), *codec.idle(Instant(0, at.mono_ns + 50_000_000_000))]
        readings = [one for one in out if isinstance(one, Reading)]
        # Two readings of one press are one too many: the second would be stored as well.
        yield readings[-1] if readings else out[-1]


def truth(name: str, layout: str) -> Profile:
    """The profile that a gauge of this name was written by, for a keyboard set to `layout`."""
    file = f"{name.split(maxsplit=1)[0]}.toml"
    found = read_profile(next(f for f in (VECTORS / file, SHIPPED / file) if f.is_file()))
    if found.link.keyboard is None:
        return found
    return replace(found, link=replace(found.link, keyboard=layout))


def counts(
    name: str, count: int, *, is_answered: bool, seed: int = 1
) -> tuple[Counter[str], list[Verdict]]:
    """How often each outcome came for the gauge `name`, and the verdicts."""
    gauge = (GAUGES | TRAPS)[name]
    verdicts = [judged(gauge, one, is_answered=is_answered) for one in sets(gauge, count, seed)]
    return Counter(verdict.outcome for verdict in verdicts), verdicts


Tally: TypeAlias = dict[tuple[str, bool], Counter[str]]
"""Outcomes by gauge, and by whether the questions were answered."""


def tally(count: int, names: Iterable[str] = (*GAUGES, *TRAPS)) -> Tally:
    """The outcomes of `count` sets of each gauge."""
    return {
        (name, is_answered): counts(name, count, is_answered=is_answered)[0]
        for is_answered in (True, False)
        for name in names
    }


def rows(found: Tally) -> list[Row]:
    """The goals: nothing is ever misread. What is right is told beside it."""
    return [
        _row(found, gauges, is_answered, what)
        for gauges, what in ((GAUGES, "gauges of the vectors"), (TRAPS, "gauges that set traps"))
        for is_answered in (True, False)
    ]


def _row(found: Tally, gauges: Iterable[str], is_answered: bool, what: str) -> Row:
    total: Counter[str] = Counter()
    for name in gauges:
        total += found[name, is_answered]
    sets_made = total.total()
    shares = ", ".join(
        f"{word} {total[word] / sets_made:.0%}" for word in OUTCOMES if word != WRONG
    )
    how = "questions answered" if is_answered else "--accept"
    return Row(
        goal=f"teach, {what}, {how}: sets misread later ({sets_made} sets)",
        limit="none",
        ours=shares,
        value=total[WRONG],
        bound=0,
    )


def table(found: Tally) -> str:
    """The outcomes by gauge as a Markdown table; in each cell: questions answered / --accept."""
    lines = ["| gauge | " + " | ".join(OUTCOMES) + " |", "|---" * (len(OUTCOMES) + 1) + "|"]
    for name in dict.fromkeys(name for name, _ in found):
        cells = [f"{found[name, True][word]} / {found[name, False][word]}" for word in OUTCOMES]
        lines.append("| " + " | ".join((name, *cells)) + " |")
    return "\n".join(lines)


def words(found: Tally) -> str:
    """The section of RESULTS.md."""
    made = next(iter(found.values())).total()
    return f"""{made} sets of 3 to 6 presses of each gauge, one display typed, each profile tried on
{LATER} later frames. First figure: an operator who answers every question truly; second: nobody
answers, `--accept`. *Right*: all later frames as meant. *Refused*: some give an error, none is
misread. *Asked*: no profile without an answer. *Gave up*: no profile, with the reason. The last
eighteen gauges set traps; most of them fit no profile.

{table(found)}"""


def main() -> None:
    """Print the outcomes by gauge; with names of gauges, the stories of what did not go right."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else SETS
    print(table(tally(count, sys.argv[2:] or (*GAUGES, *TRAPS))))
    for name in sys.argv[2:]:
        for is_answered in (True, False):
            for verdict in counts(name, count, is_answered=is_answered)[1]:
                if verdict.outcome not in (RIGHT, ASKED):
                    print(verdict.outcome, verdict.story)


if __name__ == "__main__":
    main()
