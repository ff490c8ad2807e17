"""Everything pressed at once while readings arrive at 20 a second: all that was said to be done is
stored once, all that was refused is not, and no reading is lost.
"""

import threading
from collections import Counter
from typing import Any
from urllib.parse import parse_qs

from tests.system.browser.conftest import See
from tests.system.browser.played import Bench
from tests.system.browser.viewer import POLL_MS

READINGS, EVERY_S = 60, 0.05
LEAST_DONE = 6
DONE = "window.sent.filter(([, status]) => status === 204).length"

SPY = """
window.sent = [];
window.waiting = 0;
const real = window.fetch;
window.fetch = async (...asked) => {
  if (asked[1]?.method !== "POST") return real(...asked);
  window.waiting++;
  try {
    const answer = await real(...asked);
    window.sent.push([String(asked[1].body), answer.status]);
    return answer;
  } finally {
    window.waiting--;
  }
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

FOCUS = "document.querySelector('#keys button[data-word=back]')?.focus()"
"""Not the others: whoever mashes all keys has soon abandoned the session."""

KINDS = {"back": "void", "retake": "void", "skip": "skip", "note": "note", "check": "check"}
"""The line that each word leaves, here where nothing is ever held."""


def test_each_press_that_was_done_is_stored_and_no_other(bench: Bench, see: See) -> None:
    bench.write_plan(
        "test crank",
        "M1",
        ("angles_deg = [0]", "angles_deg = [0, 30, 60, 90, 120, 150]\nrepeats = 10"),
    )
    bench.measure(profile=str(bench.shop.profile))
    page = see(bench.press, script=SPY)
    page.allow("status of 409", "status of 400")
    bench.check()
    page.is_at("M1 front 0°")
    before = len(taken(bench))

    page.page.evaluate(f"window.mashing = ({MASH})(); null")
    sender = threading.Thread(target=send, args=(bench,))
    sender.start()
    while sender.is_alive():
        page.page.evaluate(FOCUS)
        page.page.keyboard.press("Enter")
    sender.join()
    page.until(f"{DONE} >= {LEAST_DONE}")
    page.page.evaluate("window.isMashing = false")
    page.until("window.waiting === 0")
    while len(taken(bench)) - before < READINGS:  # else the time for a test passes
        page.page.wait_for_timeout(POLL_MS)

    pressed = page.page.evaluate("window.sent")
    done = Counter(word_of(body) for body, status in pressed if status == 204)
    assert {status for _, status in pressed} <= {204, 400, 409}
    assert any(status == 409 for _, status in pressed)
    stored = [line for line in bench.ledger() if "board" in (line.get("by"), line.get("why"))]
    assert Counter(KINDS[word] for word in done.elements()) == Counter(map(kind_of, stored))
    texts = [line["text"] for line in stored if kind_of(line) == "note"]
    assert sorted(texts) == sorted(
        text_of(body) for body, status in pressed if is_note(body, status)
    )
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


def kind_of(line: dict[str, Any]) -> str:
    """A note is also what tells that a check was asked for."""
    return str(line["about"] if line["kind"] == "note" else line["kind"])


def is_note(body: str, status: int) -> bool:
    """A note that was done."""
    return status == 204 and word_of(body) == "note"


def word_of(body: str) -> str:
    """Which button."""
    return parse_qs(body)["word"][0]


def text_of(body: str) -> str:
    """What followed the word."""
    return parse_qs(body)["text"][0]
