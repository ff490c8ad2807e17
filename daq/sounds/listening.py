"""A run that is heard: the tone of each step, and what is spoken of it."""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from daq.board.board import Board
from daq.board.cue import CUES, LOOK, urgency
from daq.sounds.player import Player
from daq.sounds.programs import ways_to_play, ways_to_speak
from daq.sounds.speech import language_for, not_done, spoken
from daq.sounds.tones import length_s, wav
from daq.sounds.waiting import Sounding
from drivers.reading import Reading

LONGEST_SOUND_S, LONGEST_SPEECH_S = 5.0, 20.0
"""What plays or speaks longer hangs: tones last 0.6 s at most, and texts are bounded."""

PATIENCE_S = 4.0
"""So long the last tone and the last words are waited for at the end."""

_URGENT = urgency(LOOK)
_BELLS, _BELL_REST_S = 3, 0.25
"""So many strokes for what is urgent, where the bell is all there is; one for all else."""


class SoundShow:
    """Plays the tone of each step (`with_sound`) and speaks of it (`with_speech`), by whatever the
    machine has for that; never waits for either. What cannot be played or spoken is told once each
    by `tell`, which may be called from another thread. `language`: as a system writes it, or its
    code.
    """

    def __init__(
        self, with_sound: bool, with_speech: bool, tell: Callable[[str], None], language: str = "en"
    ) -> None:
        self._last: Board | None = None
        self._language = "en"
        self._sounds = _Sounds(tell) if with_sound else None
        self._voice: Player | None = None
        if with_speech:
            self._language, fallen_back = language_for(language)
            if fallen_back:
                tell(fallen_back)
            self._voice = _voice(self._language, tell)

    def begun(self, board: Board) -> None:
        """Nothing yet; the first step follows at once."""

    def step(self, board: Board, step: object) -> None:
        """Sound like the step that led to this board."""
        self.shown(board)

    def shown(self, board: Board) -> None:
        """The same where there are only boards, as in a check outside any session."""
        before, self._last = self._last, board
        if before is board:
            return
        self._play(board.cue)
        if self._voice is not None:
            self._speak(spoken(before, board, self._language), board.cue)

    def refused(self, reason: str) -> None:
        """A word was not taken: look here."""
        self._play(LOOK)
        if self._voice is not None:
            self._speak(not_done(self._language), LOOK)

    def advice(self, text: str) -> None:
        """Nothing: a hint is for reading."""

    def streamed(self, reading: Reading) -> None:
        """Nothing: a stream is not counted."""

    def end(self) -> None:
        """Let what sounds come to its end, for a few seconds at most; nothing is left behind."""
        began_s = time.monotonic()
        try:
            if self._sounds is not None:
                self._sounds.end(PATIENCE_S)
        finally:
            if self._voice is not None:
                self._voice.end(max(0.0, PATIENCE_S - (time.monotonic() - began_s)))

    def _play(self, cue: str) -> None:
        if self._sounds is not None and urgency(cue):
            self._sounds.put(Sounding(cue, urgency(cue)))

    def _speak(self, text: str, cue: str) -> None:
        if self._voice is not None and text:
            behind_s = length_s(cue) if self._sounds is not None else 0.0
            self._voice.put(Sounding(text, urgency(cue), behind_s))


class _Sounds:
    """Tones by the machine's own player, from files in a folder that only this user can read."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        self._files = _Files()
        ways = ways_to_play()
        has_bell = sys.stderr.isatty()
        instead = "the terminal's bell is rung" if has_bell else "nothing is heard"
        if not ways:
            tell(
                f"No program that plays sounds was found, so {instead}. "
                "Install sox or alsa-utils to hear them."
            )
        self._player = Player(
            ways,
            tell,
            sendable=self._files.of,
            known=CUES[::-1],  # the likely ones first
            otherwise=_ring if has_bell else _nothing,
            instead=instead,
            longest_s=LONGEST_SOUND_S,
        )

    def put(self, sounding: Sounding) -> None:
        """Play a cue."""
        self._player.put(sounding)

    def end(self, patience_s: float) -> None:
        """Play what waits, then take the files away."""
        try:
            self._player.end(patience_s)
        finally:
            self._files.remove()


class _Files:
    """A file for each cue, in a new folder of mode 0700, made when the first is wanted."""

    def __init__(self) -> None:
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._written: dict[str, str] = {}

    def of(self, cue: str) -> str:
        """The file of a cue by its whole path; raises OSError."""
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory("", "jbridge-", ignore_cleanup_errors=True)
        if cue not in self._written:
            file = Path(self._folder.name, f"{cue}.wav")
            file.write_bytes(wav(cue))
            self._written[cue] = str(file)
        return self._written[cue]

    def remove(self) -> None:
        """Take them away."""
        if self._folder is not None:
            self._folder.cleanup()


def _voice(language: str, tell: Callable[[str], None]) -> Player | None:
    ways = ways_to_speak(language)
    if not ways:
        tell("No program that speaks was found, so nothing is spoken. Install espeak-ng.")
        return None
    return Player(
        ways,
        tell,
        sendable=str,
        otherwise=_nothing,
        instead="nothing is spoken",
        longest_s=LONGEST_SPEECH_S,
        cuts=True,
    )


def _nothing(sounding: Sounding) -> None:
    """Nothing is left to play it by."""


def _ring(sounding: Sounding) -> None:
    """Ring the terminal's bell: past all buffers, in one write, so that it falls between two
    drawings of a screen and never into one.
    """
    for stroke in range(_BELLS if sounding.urgency >= _URGENT else 1):
        if stroke:
            time.sleep(_BELL_REST_S)
        with suppress(OSError, ValueError):  # the terminal is gone
            os.write(sys.stderr.fileno(), b"\a")
