"""Everything pressed at once while readings arrive at 20 a second: all that was said to be done is
stored once, all that was refused is not, and no reading is lost.
"""

import threading
from collections import Counter
from typing import Any

from tests.system.browser.conftest import See
from tests.system.browser.played import Bench

READINGS, EVERY_S = 60, 0.05

SPY = """
window.sent = [];
const real = window.fetch;
window.fetch = async (...asked) => {
  const answer = await real(...asked);
  if (asked[1]?.method === "POST") window.sent.push([String(asked[1].body), answer.status]);
  return answer;
};
"""

MASH = """async () => {
  let count = 0;
  const words = ["back", "note", "keep", "drop", "skip", "retake", "check", "send"];
  window.isMashing = true;
  while (window.isMashing) {
    const word = words[count++ % words.length];
    const text = ["note", "skip"].includes(word) ? `mashed ${count}` : "";
    const body = new URLSearchParams({ word, text, step: document.body.dataset.step });
    await fetch("./", { method: "POST", body });
  }
}"""
"""As if somebody's elbow lay on the whole page."""

KINDS = {"back": "void", "note": "note", "skip": "skip", "keep": "kept", "drop": "dropped"}


def test_each_press_that_was_done_is_stored_and_no_other(bench: Bench, see: See) -> None:
    bench.write_plan(
        "test crank",
        "M1",
        ("angles_deg = [0]", "angles_deg = [0, 30, 60, 90, 120, 150]\nrepeats = 10"),
    )
    program = bench.measure(profile=str(bench.shop.profile))
    page = see(bench.press, script=SPY)
    page.allow("status of 409", "status of 503")
    bench.check()
    page.is_at("M1 front 0°")
    before = len(taken(bench))

    page.page.evaluate(f"window.mashing = ({MASH})(); null")
    sender = threading.Thread(target=send, args=(bench,))
    sender.start()
    while sender.is_alive():
        page.page.keyboard.press("Tab")
        page.page.keyboard.press("Enter")
    sender.join()
    page.page.evaluate("window.isMashing = false; window.mashing")
    page.until("document.querySelectorAll('#keys button:enabled').length > 0")
    program.type("note the end")
    program.wait_for("note", text="the end")

    pressed = page.page.evaluate("window.sent")
    done = Counter(word_of(body) for body, status in pressed if status == 204)
    assert {status for _, status in pressed} <= {204, 400, 409, 503}
    assert done["note"] > 3
    assert any(status == 409 for _, status in pressed)
    print([x for x in pressed if "note" in x[0]], [l for l in bench.stored("note")])
    by_board = Counter(
        line["kind"] for line in bench.ledger() if "board" in (line.get("by"), line.get("why"))
    )
    assert {KINDS[word]: many for word, many in done.items() if word in KINDS} == {
        kind: by_board[kind] for kind in KINDS.values() if by_board[kind]
    }
    notes = sorted(line["text"] for line in bench.stored("note") if line["by"] == "board")
    assert notes == sorted(text_of(body) for body, status in pressed if status == 204 and word_of(body) == "note")
    assert len(taken(bench)) - before == READINGS


def send(bench: Bench) -> None:
    """Readings at their pace, each unlike the one before."""
    pace = threading.Event()
    for number in range(READINGS):
        bench.gauge.send(f"59.98{number % 7}")
        pace.wait(EVERY_S)


def taken(bench: Bench) -> list[dict[str, Any]]:
    """All that came from the gauge."""
    return [line for line in bench.ledger() if line["kind"] in ("reading", "check_reading", "held")]


def word_of(body: str) -> str:
    """Which button."""
    return body.split("word=")[1].split("&")[0]


def text_of(body: str) -> str:
    """What followed the word."""
    return body.split("text=")[1].split("&")[0].replace("+", " ")
