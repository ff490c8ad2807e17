"""What is spoken of a session, a check and a refusal, in whole sentences; and that a translator has
all the keys, and none in vain.
"""

from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import msgspec
import pytest

from daq.board.board import (
    Asked,
    Board,
    CheckAsked,
    JournalRow,
    LastValue,
    LinkShown,
    PlaceAsked,
    PlaceShown,
)
from daq.board.of_session import first_shown, next_shown
from daq.record.results import JournalResult
from daq.rules.commands import (
    Back,
    Command,
    FindLink,
    GaugeZeroed,
    Keep,
    Later,
    LoseLink,
    Note,
    TakeReading,
    TakeReject,
)
from daq.sounds import speech
from daq.sounds.speech import (
    FILLED_IN,
    SpokenTexts,
    digits,
    language_for,
    languages,
    name_spoken,
    not_done,
    spoken,
    texts_in,
)
from drivers.toml_file import WrongKey
from tests.builders import ONE, PLAN, SECOND_US, Bench, opened, reading, reject, source

ENGLISH = (files("daq.sounds") / "texts" / "en.toml").read_text("utf-8")
STACK = ("59.970", "59.970")


class Listener:
    """A session of which each step's words are given."""

    def __init__(self, folder: Path, plan: str = ONE) -> None:
        self.bench = Bench.new(folder / "s", opened(plan))
        self.shown = first_shown(self.bench.state, self.bench.now_us)

    def say(self, command: Command) -> str:
        step, before = self.bench.say(command), self.shown
        now_us = self.bench.now_us
        self.shown = next_shown(before, step.entries, self.bench.state, now_us)
        return spoken(before.board, self.shown.board)

    def press(self, *values: str) -> list[str]:
        return [
            self.say(TakeReading(reading(value, self.bench.now_us + SECOND_US))) for value in values
        ]


@pytest.fixture
def listener(tmp_path: Path) -> Listener:
    return Listener(tmp_path)


def test_a_whole_session_as_it_is_spoken(listener: Listener) -> None:
    assert spoken(None, listener.shown.board) == "Stack five nine point nine seven zero."
    assert listener.press(*STACK, "59.980", "59.981", *STACK) == [
        "five nine point nine seven zero. Stack again.",
        "Check passed. M 1, front, 0 degrees.",
        "five nine point nine eight zero. 90 degrees.",
        "five nine point nine eight one. M 1 is done. Stack five nine point nine seven zero.",
        "five nine point nine seven zero. Stack again.",
        "Check passed. All done: accepted.",
    ]


def test_only_what_is_new_of_a_place_is_said(tmp_path: Path) -> None:
    """Four places of M1, then the rods on another stack."""
    listener = Listener(tmp_path, PLAN)
    listener.press(*STACK)
    said = [text.split(". ", 1)[1] for text in listener.press("59.980", "59.980", "59.980")]
    assert said == ["90 degrees.", "rear, 0 degrees.", "90 degrees."]


def test_a_held_reading_is_asked_about_and_what_was_not_used_is_asked_for_again(
    listener: Listener,
) -> None:
    listener.press(*STACK)
    assert listener.press("62.000") == ["In doubt: six two point zero zero zero. Keep or drop?"]
    assert listener.say(Keep()) == "six two point zero zero zero. M 1, front, 90 degrees."
    assert listener.say(TakeReject(reject(b"?"))) == "Not counted. M 1, front, 90 degrees."


def test_a_failed_check_says_what_is_lost_and_what_comes(listener: Listener) -> None:
    listener.press(*STACK, "59.980")
    listener.say(Later())
    assert listener.press("59.980", "59.980")[1] == (
        "Check failed. 1 to take again. The session stays open."
    )


def test_a_journal_below_its_limit_is_said_with_its_name(listener: Listener) -> None:
    listener.press(*STACK)
    assert listener.press("59.940") == [
        "five nine point nine four zero. M 1 is below its limit. 90 degrees."
    ]


def test_a_lost_link_is_said_alone_and_its_return_with_what_is_asked_for(
    listener: Listener,
) -> None:
    listener.press(*STACK)
    assert listener.say(LoseLink("unplugged")) == "Gauge lost."
    assert listener.say(FindLink(source())) == (
        "Gauge is back. Stack five nine point nine seven zero."
    )


def test_words_that_were_typed_are_followed_by_the_place_they_lead_to(listener: Listener) -> None:
    listener.press(*STACK, "59.980")
    assert listener.say(Back()) == "M 1, front, 0 degrees."
    assert listener.say(GaugeZeroed()) == "Stack five nine point nine seven zero."


def test_nothing_is_spoken_where_nothing_changed(listener: Listener) -> None:
    listener.press(*STACK)
    assert listener.say(Note("cold today")) == ""
    assert spoken(listener.shown.board, listener.shown.board) == ""


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("M2", "M 2"),
        ("Rod12b", "Rod 12 b"),
        ("No. 2", "No 2"),
        ("--version", "version"),
        ("<script>[[rate 900]]</script>", "script rate 900 script"),
        ("Größe\u202e3\x1b[2J", "Größe 3 2 J"),
        ("ह\u093f2", "ह\u093f 2"),  # a vowel sign stays with its letter
        ("x" * 65_536, "x" * 40),
        ("…", ""),
    ],
)
def test_of_a_name_only_letters_and_digits_are_spoken_and_apart(name: str, words: str) -> None:
    assert name_spoken(name) == words


def test_a_value_is_spoken_digit_by_digit() -> None:
    texts = texts_in(ENGLISH)
    assert digits("2.3610", texts) == "two point three six one zero"
    assert digits("-0.002", texts) == "minus zero point zero zero two"
    assert digits("7$x;4", texts) == "seven four"


# A translator's file ------------------------------------------------------------------------------


def scenes() -> Iterator[tuple[Board | None, Board]]:
    """Boards before and now that, all together, need every text of a language."""
    row = JournalRow(
        JournalResult(
            journal="M2",
            group="",
            positions_planned=1,
            positions_measured=1,
            low_limit_mm="60",
            verdict="below",
            size_verdict="below",
            form_verdict="",
            decision_rule="",
        ),
        0,
        0,
        0,
    )
    unlike = msgspec.structs.replace(row.result, size_verdict="incomplete")
    link = LinkShown("mic", "usb-1", "/dev/ttyUSB0")
    place = PlaceAsked("M2", "front", 0, 1, 1, 9)
    check = CheckAsked("before", "-0.5 mm", 0, 2)
    plain = Board(
        step=1,
        made_at="",
        session="s",
        job="",
        part="",
        operator="",
        status="measuring",
        asked=Asked("", ""),
        place=place,
        last=LastValue("-123456789.0", "mm", "part", "", counts=True),
        link=link,
        rows=(row,),
    )

    def other(board: Board = plain, **changed: object) -> Board:
        return msgspec.structs.replace(board, **changed)

    waiting = other(place=None, check=check, status="waiting")
    again = other(waiting, check=CheckAsked("before", "-0.5 mm", 1, 2), cue="kept")
    lost = other(link=msgspec.structs.replace(link, is_lost=True), cue="gauge-lost")
    not_below = other(rows=(msgspec.structs.replace(row, result=unlike),))
    is_open = other(rows=(msgspec.structs.replace(row, places=(PlaceShown("front", 0, 1),)),))
    repeated = PlaceAsked("M2", "rear", 0, 2, 2, 9)
    yield None, plain
    yield plain, other(place=repeated, cue="kept")
    yield plain, other(place=PlaceAsked("M2", "front", 90, 1, 2, 9), cue="kept")
    yield None, other(is_strip_due=True)
    yield plain, waiting
    yield waiting, again
    yield plain, lost
    yield lost, plain
    yield not_below, other(cue="below")
    yield is_open, other(cue="journal-done")
    yield plain, other(cue="look", status="asking")
    yield plain, other(cue="look", status="asking", press_answers=True)
    yield plain, other(cue="look")
    yield plain, other(waiting, cue="look")
    yield again, other(cue="check-passed")
    yield again, other(waiting, cue="check-failed", again=("M2/front/0",))
    yield plain, other(status="over")
    for verdict in ("accepted", "rejected", "abandoned"):
        yield plain, other(status="closed", verdict=verdict)


def test_every_text_is_spoken_somewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each text is marked with its key; the scenes above and a refusal speak all of them."""
    keys = [field.encode_name for field in msgspec.structs.fields(SpokenTexts)]
    marked = {key: f"<{key}>" + "".join(f"{{{x}}}" for x in FILLED_IN.get(key, ())) for key in keys}
    texts = msgspec.convert({**marked, "schema": 1}, SpokenTexts)
    monkeypatch.setattr(speech, "_texts", lambda language: texts)
    said = " ".join(spoken(before, board) for before, board in scenes()) + not_done()
    assert [key for key in keys if f"<{key}>" not in said] == ["schema"]


@pytest.mark.parametrize("language", languages())
def test_every_language_that_ships_has_each_text_and_all_that_is_filled_in(language: str) -> None:
    text = (files("daq.sounds") / "texts" / f"{language}.toml").read_text("utf-8")
    texts = msgspec.to_builtins(texts_in(text))
    for key, names in FILLED_IN.items():
        assert [name for name in sorted(names) if f"{{{name}}}" not in texts[key]] == [], key
    assert [key for key, said in texts.items() if key != "schema" and not said.strip()] == []


@pytest.mark.parametrize(
    ("old", "new", "key", "reason"),
    [
        ('minus = "minus"\n', "", "minus", "this key is required"),
        ('minus = "minus"', 'minus = "minus"\nplus = "plus"', "plus", "unknown key"),
        ('"{journal} is done."', '"{jurnal} is done."', "journal_done", "{jurnal}"),
        ('"Gauge lost."', '"Gauge {lost."', "gauge_lost", "braces"),
        ("schema = 1", "schema = 2", "schema", "schema = 1"),
    ],
)
def test_a_wrong_file_is_refused_with_its_key(old: str, new: str, key: str, reason: str) -> None:
    assert old in ENGLISH
    with pytest.raises(WrongKey) as refused:
        texts_in(ENGLISH.replace(old, new))
    assert refused.value.key == key
    assert reason in refused.value.reason


def test_a_language_without_texts_falls_back_in_words() -> None:
    assert language_for("en") == language_for("en_GB.UTF-8") == language_for("C") == ("en", "")
    language, words = language_for("tlh_QO.UTF-8")
    assert language == "en"
    assert words == "Nothing can be spoken in 'tlh' yet, so English is spoken."
    assert language_for("../../etc/passwd")[0] == "en"
