"""False wakes over hours of other talk and noise, faster than they would last. No people were recorded.

    nice python tests/benchmarks/voice_hours.py FOLDER [--hours 10] [--seed 1] [--recorded FOLDER]

The hours are made of utterances (tests/voice_sets/household.toml: what people say in a home; and every list of
sentences.toml but the wake phrases) by ten synthetic voices, each time at another loudness and mostly in noise, with
pauses of 3 s on average; a tenth of the time is pump noise or hiss alone; and, where given, there is recorded speech.
Every utterance goes to the loop's wake path (the second ear for the sounds of the phrase, then the first ear for its
words); so does the noise alone, every 2.2 s of it, which voice activity would have kept away. Pauses are counted only.
"""

from __future__ import annotations

import argparse
import random
import sys
import tomllib
from collections import Counter
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "tests" / "voice_sets"))

from make import HERE, one, pump, sentences  # noqa: E402

from assistant.voice.ears import open_ears  # noqa: E402
from assistant.voice.missing import Missing  # noqa: E402
from assistant.voice.segments import FRAME, Ended, Segments, activity  # noqa: E402
from assistant.voice.sound import RATE, Sound, loudness, read_wav, silence  # noqa: E402
from assistant.voice.wake import awake  # noqa: E402

VOICES = ("slt", "rms", "awb", "kal", "hts", "espeak", "en-gb", "en-gb-scotland", "en-us+f3", "en-us+m3")
SLOW = ("hts",)  # for every third sentence only
NOISE_S, WINDOW_S, PAUSE_S, NOISE_SHARE = 60, 2.2, 3.0, 0.1
BESIDE = (None, 25, 20, 15, 10, 5)  # decibels below the speech; None: no noise


def talk() -> list[str]:
    told = tomllib.loads((HERE / "household.toml").read_text(encoding="utf-8"))
    lists = {name: texts for name, texts in sentences().items() if name not in ("wake", "after_wake")}
    return [text for texts in (*told.values(), *lists.values()) for text in texts]


def noises() -> list[np.ndarray]:
    """A minute each of three pumps and of a hiss, root mean square 1."""
    hiss = np.convolve(np.random.default_rng(9).standard_normal(NOISE_S * RATE), np.ones(8) / 8, mode="same")
    return [*(pump(NOISE_S * RATE, seed) for seed in range(3)), hiss / np.std(hiss)]


def heard_somewhere(clean: Sound, dice: random.Random, made: list[np.ndarray]) -> Sound:
    """The utterance at some loudness, beside some noise."""
    level, decibels = 10 ** dice.uniform(2.5, 3.4), dice.choice(BESIDE)
    sound = clean.astype(np.float64) * level / max(1.0, loudness(clean) * 32768)
    if decibels is not None:
        at = dice.randrange(NOISE_S * RATE - len(sound))
        sound += dice.choice(made)[at : at + len(sound)] * level / 10 ** (decibels / 20)
    return np.clip(sound, -32768, 32767).astype(np.int16)


class Count:
    """What went by, and what it woke."""

    def __init__(self) -> None:
        self.ears, self.seconds, self.found = open_ears(), 0.0, Counter[str]()
        assert self.ears.first is not None and self.ears.second is not None

    def hear(self, sound: Sound, kind: str) -> None:
        self.seconds += len(sound) / RATE
        self.found[kind] += 1
        if self.ears.wakes(sound):
            self.found[f"{kind}, sounds of the phrase"] += 1
            words = self.ears.listen(sound).text
            if awake(words) is not None:
                self.found["FALSE WAKES"] += 1
                print(f"   false wake ({kind}):", words, flush=True)

    def told(self) -> str:
        hours = self.seconds / 3600
        return f"{hours:.2f} hours: {self.found['FALSE WAKES'] / hours:.2f} false wakes an hour {dict(self.found)}"


def recorded(count: Count, folder: Path) -> None:
    """Recorded speech, cut up as the loop does it."""
    segments = Segments(activity())
    for path in sorted(folder.rglob("*.wav")):
        try:
            sound = np.concatenate([read_wav(path), silence(1)])
        except Missing as missing:
            print("   left out:", missing)
            continue
        for at in range(0, len(sound) - FRAME + 1, FRAME):
            if isinstance(event := segments.feed(sound[at : at + FRAME]), Ended):
                count.hear(event.sound, "recorded")
    print("recorded:", count.told(), flush=True)


def main(argv: list[str]) -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--hours", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--recorded", type=Path)
    args = parser.parse_args(argv)
    args.folder.mkdir(parents=True, exist_ok=True)
    dice, count, made, told = random.Random(args.seed), Count(), noises(), 0.0
    said = [(text, voice) for at, text in enumerate(talk()) for voice in VOICES if voice not in SLOW or at % 3 == 0]
    print(f"{len(talk())} sentences, {len(said)} recordings of them", flush=True)
    if args.recorded:
        recorded(count, args.recorded)
    while count.seconds < args.hours * 3600:
        if dice.random() < NOISE_SHARE * 2.5:  # a window of noise is shorter than an utterance with its pause
            noise = np.roll(dice.choice(made), dice.randrange(NOISE_S * RATE))[: int(WINDOW_S * RATE)]
            count.hear(np.clip(noise * 10 ** dice.uniform(2, 3.3), -32768, 32767).astype(np.int16), "noise")
        else:
            text, voice = dice.choice(said)
            count.hear(heard_somewhere(one(text, voice, "clean", args.folder), dice, made), "utterances")
            count.seconds += PAUSE_S
        if count.seconds > told + 900:
            told = count.seconds
            print(count.told(), flush=True)
    print("ALL:", count.told())


if __name__ == "__main__":
    main(sys.argv[1:])
