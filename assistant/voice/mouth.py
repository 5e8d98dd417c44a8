"""Speech out: espeak-ng, or a Piper voice in a process of its own where the user has installed one (it is GPL).

Spoken sentence by sentence, so that the first is heard while the next is made.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, time
from pathlib import Path

from assistant.voice.missing import Missing
from assistant.voice.sound import Sound, read_wav

PIPER_VARIABLE = "BAGSIDE_PIPER_VOICE"
SLOWEST, USUAL, FASTEST = 100, 160, 220  # words a minute
SOFTEST, MIDDLE, LOUDEST = 20, 100, 200  # of 200
AT_NIGHT = 40
WAITS_S = 30.0
_ENDS = re.compile(r"(?<=[.!?;])\s+")


@dataclass(frozen=True)
class Manner:
    """How it is spoken. `quiet` are the hours in which the voice stays low, whatever was said before."""

    pace: int = USUAL
    loudness: int = MIDDLE
    quiet: tuple[time, time] | None = None

    def after(self, control: str) -> Manner:
        """The manner that "slower", "faster", "louder" or "quieter" asks for."""
        pace = {"slower": -30, "faster": 30}.get(control, 0)
        louder = {"louder": 40, "quieter": -40}.get(control, 0)
        return replace(self, pace=min(FASTEST, max(SLOWEST, self.pace + pace)),
                       loudness=min(LOUDEST, max(SOFTEST, self.loudness + louder)))

    def loud_at(self, now: datetime) -> int:
        """The loudness at that moment: low in the quiet hours."""
        return min(self.loudness, AT_NIGHT) if self.is_quiet(now) else self.loudness

    def is_quiet(self, now: datetime) -> bool:
        """Is it within the quiet hours, which may pass midnight?"""
        if self.quiet is None:
            return False
        begins, ends = self.quiet
        at = now.time()
        return begins <= at < ends if begins <= ends else at >= begins or at < ends


def hours(text: str) -> tuple[time, time] | None:
    """ "21:00-07:00" as two times of day, or None where it is not that."""
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)-([01]?\d|2[0-3]):([0-5]\d)", text.strip())
    if found is None:
        return None
    first, second = (time(int(found[n]), int(found[n + 1])) for n in (1, 3))
    return first, second


def sentences(text: str) -> tuple[str, ...]:
    """The pieces that are spoken one after the other."""
    return tuple(piece for piece in _ENDS.split(text.strip()) if piece)


class Mouth:
    """A voice. Raises Missing where none is installed."""

    def __init__(self, piper_voice: Path | None = None) -> None:
        named = piper_voice or (Path(os.environ[PIPER_VARIABLE]) if os.environ.get(PIPER_VARIABLE) else None)
        if named is not None and not named.is_file():
            raise Missing("piper_voice", file=named)
        self.piper = named if named is not None and shutil.which("piper") else None
        if self.piper is None and shutil.which("espeak-ng") is None:
            raise Missing("voice")
        self.name = f"piper ({self.piper.name})" if self.piper else "espeak-ng"

    def speak(self, text: str, manner: Manner, now: datetime) -> Iterator[Sound]:
        """The sound of each sentence, as soon as it is made. Raises Missing where the voice fails."""
        loud = manner.loud_at(now)
        for sentence in sentences(text):
            yield self._piper(sentence, manner.pace, loud) if self.piper else self._espeak(sentence, manner.pace, loud)

    def _espeak(self, sentence: str, pace: int, loud: int) -> Sound:
        return self._run(["espeak-ng", "-v", "en", "-s", str(pace), "-a", str(loud), "--stdin", "--stdout"], sentence)

    def _piper(self, sentence: str, pace: int, loud: int) -> Sound:
        slow = f"{USUAL / pace:.2f}"
        command = ["piper", "--model", str(self.piper), "--length-scale", slow, "--output-file", "-"]
        spoken = self._run(command, sentence)
        return (spoken.astype("float32") * (min(loud, MIDDLE) / MIDDLE)).astype("int16")

    def _run(self, command: list[str], sentence: str) -> Sound:
        try:
            done = subprocess.run(command, input=f"{sentence}\n".encode(), capture_output=True, timeout=WAITS_S,
                                  check=True)
            return read_wav(_whole(done.stdout))
        except (OSError, subprocess.SubprocessError) as fault:
            raise Missing("voice_failed", voice=command[0], why=type(fault).__name__) from None


def _whole(wav: bytes) -> bytes:
    """A WAV stream whose header does not know its length yet (espeak-ng writes 2 GB), with the length it has."""
    at = wav.find(b"data", 12)
    if at < 0:
        return wav
    body = wav[at + 8 :]
    size, total = len(body).to_bytes(4, "little"), (at + len(body)).to_bytes(4, "little")
    return wav[:4] + total + wav[8 : at + 4] + size + body
