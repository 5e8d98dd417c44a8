"""Synthetic speech for measuring: sentences by several voices, clean and beside a pump. No people were recorded.

    python tests/voice_sets/make.py FOLDER

Needs Debian's flite, festival with festvox-us-slt-hts, and espeak-ng. The noise is made of what a pump sounds like
(mains hum with its harmonics, broadband, a click each turn) and is the same each time.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import numpy as np

from assistant.voice.sound import RATE, Sound, loudness, read_wav, silence, wav_bytes

HERE = Path(__file__).parent
VOICES = ("slt", "rms", "awb", "hts")      # two women (one by two methods), two men, one of them Scottish
STRESS = ("espeak",)                       # a formant voice: harder than people are; its figures are given apart
NOISES = ("clean", "20", "10")
ATTEMPT_S = 60


def sentences() -> dict[str, list[str]]:
    return tomllib.loads((HERE / "sentences.toml").read_text(encoding="utf-8"))


def said(text: str, voice: str) -> Sound:
    """`text` as the voice says it, with a little silence around."""
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "said.wav"
        if voice == "hts":
            command = ["text2wave", "-eval", "(voice_cmu_us_slt_arctic_hts)", "-o", str(made)]
        elif voice == "espeak" or voice.startswith("en-"):
            command = ["espeak-ng", "-v", "en-us" if voice == "espeak" else voice, "-w", str(made), text]
        else:
            command = ["flite", "-voice", voice, "-t", text, "-o", str(made)]
        subprocess.run(command, input=text if voice == "hts" else None, text=True, check=True, capture_output=True,
                       timeout=ATTEMPT_S)
        return np.concatenate([silence(0.3), read_wav(made), silence(0.6)])


def pump(samples: int, seed: int) -> np.ndarray:
    """The noise of a pump, root mean square 1."""
    dice = np.random.default_rng(seed)
    at = np.arange(samples) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * k * at + dice.uniform(0, 6)) / k for k in (1, 2, 3, 4, 6))
    broad = np.convolve(dice.standard_normal(samples), np.ones(3) / 3, mode="same")
    click = np.zeros(samples)
    for start in range(int(dice.uniform(0, RATE)), samples, int(1.1 * RATE)):
        length = min(240, samples - start)
        click[start : start + length] = dice.standard_normal(length) * np.exp(-np.arange(length) / 60) * 4
    noise = hum / np.std(hum) + broad / np.std(broad) + click
    return noise / np.sqrt(np.mean(noise**2))


def beside_pump(sound: Sound, decibels: float, seed: int) -> Sound:
    """Speech with pump noise that many decibels below it."""
    level = loudness(sound) * 32768 / 10 ** (decibels / 20)
    return np.clip(sound + pump(len(sound), seed) * level, -32768, 32767).astype(np.int16)


def one(text: str, voice: str, noise: str = "clean", folder: Path | None = None) -> Sound:
    """One utterance; kept in `folder` where that is given."""
    name = hashlib.sha256(f"{text}|{voice}".encode()).hexdigest()[:16]
    file = folder / f"{name}.wav" if folder else None
    if file is not None and file.exists():
        clean = read_wav(file)
    else:
        clean = said(text, voice)
        if file is not None:
            file.write_bytes(wav_bytes(clean))
    return clean if noise == "clean" else beside_pump(clean, float(noise), int(name, 16) % 2**32)


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for texts in sentences().values():
        for text in texts:
            for voice in (*VOICES, *STRESS):
                one(text, voice, folder=folder)
    print(f"{len(list(folder.glob('*.wav')))} files in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
