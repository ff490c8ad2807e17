"""What the page lets hear: sounds after one tap, and words, for what was stored."""

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench

CUES = ("kept", "look", "journal-done", "below", "check-passed", "check-failed", "gauge-lost")

SPY = """
window.started = [];
window.spoken = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...when) {
  window.started.push(this.buffer.duration);
  return start.apply(this, when);
};
Object.defineProperty(window, "speechSynthesis", {
  value: { speak: (said) => window.spoken.push([said.text, said.lang]), cancel: () => {} },
});
"""
"""Keeps what is played and spoken: a machine of tests has no loudspeaker and no voice."""

DURATIONS = """async (cues) => {
  const audio = new AudioContext();
  const found = {};
  for (const cue of cues) {
    const answer = await fetch(`sounds/${cue}.wav`);
    const decoded = await audio.decodeAudioData(await answer.arrayBuffer());
    const samples = decoded.getChannelData(0).map(Math.abs);
    const loudest = samples.reduce((most, one) => Math.max(most, one));
    found[cue] = [decoded.duration, loudest];
  }
  await audio.close();
  return found;
}"""


def test_each_sound_is_decoded_by_the_browser_is_short_and_not_silent(
    bench: Bench, see: See
) -> None:
    bench.measure()
    page = see(bench.look)
    found = page.page.evaluate(DURATIONS, list(CUES))
    assert set(found) == set(CUES)
    for cue, (seconds, loudest) in found.items():
        assert 0.05 < seconds < 1.5, cue
        assert 0.1 < loudest <= 1.0, cue


def test_sounds_are_played_after_one_tap_and_not_before(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.look, script=SPY)
    bench.check()
    page.is_at(ROUTE[0])
    assert page.page.evaluate("window.started") == []
    page.part("sound").click()
    page.until("window.started.length === 1")  # so that the tap is heard
    bench.read(GOOD[0])
    page.until("window.started.length === 2")
    bench.read(GOOD[1])  # the second of two places of M1: another sound
    page.until("window.started.length === 3")
    first, kept, done = page.page.evaluate("window.started")
    assert first == kept
    assert done != kept
    page.part("sound").click()
    bench.read(GOOD[2])
    page.is_at(ROUTE[3])
    assert len(page.page.evaluate("window.started")) == 3


def test_the_value_and_the_next_place_are_spoken_where_it_is_switched_on(
    bench: Bench, see: See
) -> None:
    bench.measure()
    page = see(bench.look, script=SPY)
    bench.check()
    page.is_at(ROUTE[0])
    assert page.page.evaluate("window.spoken") == []
    page.part("speak").click()
    bench.read(GOOD[0])
    page.until("window.spoken.length === 2")
    bench.hold("61.000")
    page.until("window.spoken.length === 3")
    # The journal is the same as before, so it is not said again.
    assert page.page.evaluate("window.spoken") == [
        ["Speaking", "en"],
        ["five nine point nine eight one. rear, 0 degrees.", "en"],
        ["In doubt: six one point zero zero zero. Keep or drop?", "en"],
    ]


def test_a_session_begun_with_speech_speaks_at_once(bench: Bench, see: See) -> None:
    bench.measure("--speak")
    page = see(bench.look, script=SPY)
    bench.check()
    page.until("window.spoken.some(([text]) => text === 'Check passed. M 1, front, 0 degrees.')")
