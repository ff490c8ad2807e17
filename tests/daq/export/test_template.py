"""A template gets the tables and nothing else, and is held to its bounds."""

from collections.abc import Callable
from pathlib import Path

import pytest

from daq.errors import UsageError
from daq.export import template
from daq.export.tables import Table
from daq.export.template import MOST_TEMPLATE_BYTES, filled, read_template
from tests.builders import tables_of
from tests.daq.export.awkward import PART, awkward


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Table, ...]:
    return tables_of(awkward(tmp_path_factory.mktemp("template") / "s"))


WHOLE = """\
{{ session.job }}|{{ session.part }}
{% for journal in journals %}
{{ journal.journal|quoted }};{{ journal.smallest_mm|comma }};{{ journal.angles_used|join("+") }}
{% endfor %}
{% set ns = namespace(count=0) %}
{% for row in readings if row.journal == "1E5" %}{% set ns.count = ns.count + row.seq %}{% endfor %}
{{ ns.count }} {{ range(3)|list }}{% if notes[1].journal is none %} none{% endif %}
"""


def test_it_is_filled_with_texts_as_they_were_given(made: tuple[Table, ...]) -> None:
    lines = filled(WHOLE, made).decode().splitlines()
    assert lines[0] == f"0047|{PART}"
    assert lines[1:3] == ['"0047";59,97806;0+90', '"1E5";50,76917;0+90']
    assert lines[-1] == "53 [0, 1, 2] none"  # lines 26 and 27 of the ledger


def test_nothing_that_it_must_not_do_is_done(made: tuple[Table, ...]) -> None:
    """One template for all that only raises: each is refused for itself where it stands."""
    for text, words in (
        ("a\n{% include '/etc/passwd' %}", "line 2: a template reads no other file"),
        ("{{ ''.__class__.__mro__ }}", "'__class__' of 'str' object is unsafe"),
        ("\n\n{{ journals[0].smalest }}", "line 3: .* no attribute 'smalest'"),
        ("{{ 'a' * 10**11 }}", "more memory than a template may have"),
    ):
        with pytest.raises(UsageError, match=words) as caught:
            filled(text, made)
        assert caught.value.option == "--template"
        assert str(caught.value).startswith("the template cannot be filled: ")


def test_a_loop_without_end_is_ended(made: tuple[Table, ...]) -> None:
    each = "{% for a in range(99999) %}"
    with pytest.raises(UsageError, match=r"takes more than 0.3 s, or more memory .* loop without"):
        filled(each * 3 + "{% endfor %}" * 3, made, seconds=0.3)


def test_a_text_without_end_is_ended(
    made: tuple[Table, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(template, "MOST_BYTES", 2**20)
    with pytest.raises(UsageError, match="it makes more than 1 MiB of text"):
        filled("{% for a in range(99999) %}{{ 'a' * 1000 }}{% endfor %}", made)


def make_a_child(body: str) -> Callable[[Path], Path]:
    def made_in(folder: Path) -> Path:
        (folder / "child.py").write_text(body, encoding="utf-8")
        return folder / "child.py"

    return made_in


@pytest.mark.parametrize(
    ("child", "words"),
    [
        ("import sys; sys.exit(9)", "it ended the process it ran in"),
        ("import sys; sys.stderr.write('no JSON'); sys.exit(3)", "no reason was told"),
    ],
)
def test_however_its_process_ends_there_are_words(
    made: tuple[Table, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    child: str,
    words: str,
) -> None:
    monkeypatch.setattr(template, "CHILD", make_a_child(child)(tmp_path))
    with pytest.raises(UsageError, match=words):
        filled("", made)


def test_a_file_that_is_no_template_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "t.j2"
    for data, words in ((b"\xff\xfe", "is not UTF-8"), (b"x" * (MOST_TEMPLATE_BYTES + 1), "256 K")):
        path.write_bytes(data)
        with pytest.raises(UsageError, match=words):
            read_template(path)
    for other in (tmp_path, tmp_path / "none", Path("/dev/zero")):
        with pytest.raises(UsageError, match="cannot be read"):
            read_template(other)
    path.write_text("Ø {{ 1 }}", encoding="utf-8")
    assert read_template(path) == "Ø {{ 1 }}"
