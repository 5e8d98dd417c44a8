"""Sound as the recognisers take it: 16-bit samples, one channel, 16,000 a second; from and to WAV files."""

from __future__ import annotations

import io
import wave
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.voice.missing import Missing

RATE = 16_000  # samples a second
LONGEST_S = 60.0  # of one question: longer is cut off before it is heard, and refused
Sound = NDArray[np.int16]


def read_wav(source: Path | bytes) -> Sound:
    """A WAV file (8, 16 or 32 bits, any rate, any channels) as our samples.

    Raises Missing("sound_file") where it cannot be read, Missing("too_long") past LONGEST_S.
    """
    where = str(source) if isinstance(source, Path) else "-"
    try:
        with wave.open(str(source) if isinstance(source, Path) else io.BytesIO(source)) as file:
            width, rate, channels = file.getsampwidth(), file.getframerate(), file.getnchannels()
            if file.getnframes() / rate > LONGEST_S:
                raise Missing("too_long", file=where, seconds=int(LONGEST_S))
            raw = file.readframes(file.getnframes())
    except (OSError, EOFError, wave.Error, ZeroDivisionError, RuntimeError):  # the last: a part longer than the file
        raise Missing("sound_file", file=where) from None
    if width not in (1, 2, 4):
        raise Missing("sound_file", file=where)
    kinds: dict[int, Any] = {1: np.uint8, 2: np.dtype("<i2"), 4: np.dtype("<i4")}
    samples = np.frombuffer(raw[: len(raw) // (width * channels) * width * channels], dtype=kinds[width])
    wide: Any = samples.astype(np.float32)
    wide = (wide - 128) * 256 if width == 1 else wide / 65536 if width == 4 else wide
    return resampled(wide.reshape(-1, channels).mean(axis=1), rate)


def resampled(samples: NDArray[np.float32], rate: int) -> Sound:
    """Samples of another rate as ours: averaged over the span of a sample first where there are more of them."""
    if rate != RATE and len(samples):
        if rate > RATE:  # or what is too high for our rate would come back as another tone
            span = max(1, round(rate / RATE))
            samples = np.convolve(samples, np.full(span, 1 / span, dtype=np.float32), mode="same")
        count = int(len(samples) * RATE / rate)
        samples = np.interp(np.arange(count) * (rate / RATE), np.arange(len(samples)), samples).astype(np.float32)
    return np.asarray(np.clip(np.round(samples), -32768, 32767), dtype=np.int16)


def wav_bytes(sound: Sound, rate: int = RATE) -> bytes:
    """A WAV file in memory."""
    made = io.BytesIO()
    with wave.open(made, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(np.asarray(sound, dtype="<i2").tobytes())
    return made.getvalue()


def loudness(sound: Sound) -> float:
    """Root mean square against full scale, 0 to 1."""
    return float(np.sqrt(np.mean(np.square(sound.astype(np.float32))))) / 32768 if len(sound) else 0.0


def silence(seconds: float) -> Sound:
    return np.zeros(int(seconds * RATE), dtype=np.int16)
