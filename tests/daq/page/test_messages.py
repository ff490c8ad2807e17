"""Lines between the measuring process and the page's server."""

from pathlib import Path

import msgspec
import pytest

from daq.page.messages import (
    FromServer,
    Hello,
    PageFailed,
    PageOver,
    PagePress,
    PageReady,
    PageShown,
    PageTold,
    PressAnswer,
    ToServer,
    from_server,
    line_of,
    to_server,
)
from tests.daq.page.boards import Shown, hostile

NASTY = '</script>\n\r\u2028\u202e\x00"\\'


def test_every_message_to_the_server_comes_as_it_went(tmp_path: Path) -> None:
    shown = Shown(tmp_path / "s")
    board = hostile(shown.press("59.970", "59.971", "59.980"), NASTY)
    messages: list[ToServer] = [
        Hello("look", "press", "127.0.0.1:8080", 5, b"\x00\xff", layout=shown.layout),
        PageShown(board, ("kept",), (NASTY,)),
        PageTold(NASTY),
        PressAnswer(3, "refused", NASTY),
        PageOver(board, (NASTY,)),
        PageOver(),
    ]
    lines = b"".join(map(line_of, messages))
    assert lines.count(b"\n") == len(messages)
    assert [to_server(line) for line in lines.splitlines(keepends=True)] == messages


def test_every_message_from_the_server_comes_as_it_went() -> None:
    messages: list[FromServer] = [PageReady(), PagePress(1, "note", NASTY, 7), PageFailed(NASTY)]
    assert [from_server(line_of(each)) for each in messages] == messages


@pytest.mark.parametrize("line", [b"", b"{}", b'{"type":"hello"}', b'{"type":"stop"}', b"\xff"])
def test_what_is_no_message_is_refused(line: bytes) -> None:
    with pytest.raises((msgspec.MsgspecError, UnicodeDecodeError)):
        to_server(line)
    with pytest.raises((msgspec.MsgspecError, UnicodeDecodeError)):
        from_server(line)
