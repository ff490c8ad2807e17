"""Files of the page."""

import re

import pytest

from daq.board.cue import CUES
from daq.page.server.files import file_named


def test_each_cue_has_its_sound() -> None:
    for cue in CUES:
        file = file_named(f"sounds/{cue}.wav")
        assert file is not None
        assert (file.kind, file.content[:4]) == ("audio/wav", b"RIFF")


@pytest.mark.parametrize(
    "name", ["", "page", "../app.py", "sounds/", "sounds/.wav", "sounds/none.wav", "page.css/"]
)
def test_no_other_name_is_a_file(name: str) -> None:
    assert file_named(name) is None


@pytest.mark.parametrize("name", ["page.css", "page.js", "icon.svg"])
def test_a_file_names_no_other_place(name: str) -> None:
    file = file_named(name)
    assert file is not None
    text = file.content.decode("ascii" if name != "page.css" else "utf-8")
    places = re.findall(
        r"(?:https?:)?//[\w.]+\.\w+", text.replace("http://www.w3.org/2000/svg", "")
    )
    assert places == []
    assert "@import" not in text
    assert "url(" not in text
