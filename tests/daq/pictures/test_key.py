"""The key of a drawing: each sign with its words, none over the edge."""

import re

from daq.pictures.key import KeySign, key_rows
from daq.pictures.lettering import text_width
from daq.pictures.svg import circle


def sign(words: str) -> KeySign:
    return KeySign(lambda x, y: circle(x, y, 3), 20, words)


def test_signs_follow_one_another_and_go_on_in_the_next_row() -> None:
    parts, bottom = key_rows([sign("a word or two")] * 5, 10, 15, 300, size=13)
    places = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', "".join(parts))
    # A sign takes 20, its words and a blank of 13: two fit into 290, so there are three rows.
    room = 20 + text_width("a word or two", 13) + 13
    assert [y for _, y in places] == ["15", "15", "35", "35", "55"]
    assert float(places[1][0]) == round(10 + room, 1)
    assert places[2][0] == "10"
    assert bottom == 55


def test_words_too_long_are_cut_and_hostile_ones_are_words() -> None:
    parts, _ = key_rows([sign("M" * 200), sign("<b>")], 0, 10, 400)
    assert "M…</tspan>" in "".join(parts)
    assert "&lt;b&gt;" in "".join(parts)
