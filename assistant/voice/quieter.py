"""Speech with the steady noise around it made quieter (a pump, a fan): another look at a sound that was hard to hear.

Spectral subtraction (Boll, IEEE Trans. ASSP 27, 1979, from memory): what a pitch has at its quietest is taken to be
noise. Only ever for a second reading to ask about: a recogniser that is surer in it is not therefore right.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.voice.sound import Sound

WINDOW, STEP = 512, 128          # samples: 32 ms, a new look every 8 ms
QUIETEST = 0.2                   # of the looks: below this share a pitch holds noise alone
MEAN = -np.log(1 - QUIETEST)     # noise's power is spread exponentially: that share lies below its mean times this
LEAST = 0.3                      # what is left of noise: with none, what remains of it sounds like tones
SMOOTH = np.ones(5) / 5          # over 40 ms

NOISY = 35.0                     # dB from the quiet to the loud of a sound: with less between them there is noise
QUIET, LOUD = 0.1, 0.95          # of its looks

_SHAPE = np.hanning(WINDOW)


def noisy(sound: Sound) -> bool:
    """Is there so much noise under the speech that a quieter look can help? Not in a sound too short to tell."""
    looks = len(sound) // WINDOW
    if looks < 2:
        return False
    power = np.mean(sound[: looks * WINDOW].astype(np.float64).reshape(looks, WINDOW) ** 2, axis=1) + 1.0
    low, high = np.quantile(power, (QUIET, LOUD))
    return bool(10 * np.log10(high / low) < NOISY)


def quieter(sound: Sound) -> Sound:
    """The same speech, of the same length, with less steady noise. What is too short to look at comes back as it is."""
    if len(sound) < 2 * WINDOW:
        return sound
    starts = range(0, len(sound) - WINDOW + 1, STEP)
    looks: NDArray[np.complex128] = np.fft.rfft(np.stack([sound[at : at + WINDOW] * _SHAPE for at in starts]))
    power = np.abs(looks) ** 2
    noise = np.quantile(power, QUIETEST, axis=0) / MEAN
    kept = np.sqrt(np.maximum(1 - noise / np.maximum(power, 1e-9), LEAST**2))
    kept = np.apply_along_axis(lambda over_time: np.convolve(over_time, SMOOTH, mode="same"), 0, kept)
    parts = np.fft.irfft(looks * kept, WINDOW) * _SHAPE
    made, weight = np.zeros(len(sound)), np.zeros(len(sound))
    for at, part in zip(starts, parts, strict=True):
        made[at : at + WINDOW] += part
        weight[at : at + WINDOW] += _SHAPE**2
    return np.asarray(np.clip(np.round(made / np.maximum(weight, 1e-3)), -32768, 32767), dtype=np.int16)
