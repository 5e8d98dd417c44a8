"""False wakes over hours of other talk and noise, faster than they would last. No people were recorded.

    nice python tests/benchmarks/voice_hours.py FOLDER [--hours 10] [--recorded FOLDER]

The hours are made of utterances (tests/voice_sets/household.toml: what people say in a home; and every list of
sentences.toml but the wake phrases) by ten synthetic voices, each time at another loudness and in another noise, with
pauses between; of pump noise and a television's hiss alone; and, where given, of recorded speech. They go through the
loop's own path: voice activity, the second ear for the sounds of the wake phrase, the first ear for its words.
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
from assistant.voice.sound import RATE, Sound, read_wav  # noqa: E402
from assistant.voice.wake import awake  # noqa: E402

VOICES = ("slt", "rms", "awb", "kal", "hts", "espeak", "en-gb", "en-gb-scotland", "en-us+f3", "en-us+m3")
SLOW = ("hts",)  # for every third sentence only
PIECE_S = 60
BESIDE = (None, 25, 20, 15, 10, 5)  # decibels below the speech; None: no noise


def talk() -> list[str]:
    told = tomllib.loads((HERE / "household.toml").read_text(encoding="utf-8"))
    lists = {name: texts for name, texts in sentences().items() if name not in ("wake", "after_wake")}
    return [text for texts in (*told.values(), *lists.values()) for text in texts]


def piece(
    dice: random.Random, said: list[tuple[str, str]], noises: list[np.ndarray], folder: Path
) -> tuple[Sound, int]:
    """A minute: of talk with pauses, or of noise alone; and how many utterances it holds."""
    made, count, filled = np.zeros(PIECE_S * RATE, dtype=np.float32), 0, int(dice.uniform(0, 4) * RATE)
    decibels = dice.choice(BESIDE)
    level = 10 ** dice.uniform(2.5, 3.4)  # of the speech, root mean square
    talking = dice.random() < 0.7
    while talking and filled < len(made) - 2 * RATE:
        text, voice = dice.choice(said)
        sound = one(text, voice, "clean", folder).astype(np.float32)
        sound *= level / max(1.0, float(np.sqrt(np.mean(sound**2))))
        end = min(len(made), filled + len(sound))
        made[filled:end] += sound[: end - filled]
        count += 1
        filled = end + int(dice.expovariate(1 / 3) * RATE)
    if decibels is not None or not talking:
        noise = np.roll(dice.choice(noises), dice.randrange(PIECE_S * RATE))
        made += noise * level / 10 ** ((decibels or 10) / 20)
    return np.clip(made, -32768, 32767).astype(np.int16), count


def main(argv: list[str]) -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--hours", type=float, default=10)
    parser.add_argument("--recorded", type=Path)
    args = parser.parse_args(argv)
    args.folder.mkdir(parents=True, exist_ok=True)
    dice, ears, segments = random.Random(1), open_ears(), Segments(activity())
    assert ears.first is not None and ears.second is not None
    said = [(text, voice) for at, text in enumerate(talk()) for voice in VOICES if voice not in SLOW or at % 3 == 0]
    noises = [pump(PIECE_S * RATE, seed).astype(np.float32) for seed in range(3)]
    hiss = np.convolve(np.random.default_rng(9).standard_normal(PIECE_S * RATE), np.ones(8) / 8, mode="same")
    noises.append((hiss / np.std(hiss)).astype(np.float32))
    found: Counter[str] = Counter()

    def hear(sound: Sound) -> None:
        for at in range(0, len(sound) - FRAME + 1, FRAME):
            found["frames"] += 1
            event = segments.feed(sound[at : at + FRAME])
            if not isinstance(event, Ended):
                continue
            found["cut out"] += 1
            if ears.wakes(event.sound):
                found["sounds of the phrase"] += 1
                words = ears.listen(event.sound).text
                if awake(words) is not None:
                    found["FALSE WAKES"] += 1
                    print("   false wake:", words, flush=True)

    for path in sorted(args.recorded.rglob("*.wav")) if args.recorded else ():
        try:
            hear(read_wav(path))
        except Missing as missing:
            print("   left out:", missing)
        hear(np.zeros(RATE, dtype=np.int16))
    if args.recorded:
        print(f"recorded: {found['frames'] * FRAME / RATE / 60:.1f} minutes", dict(found), flush=True)
    for minute in range(int(args.hours * 60)):
        sound, count = piece(dice, said, noises, args.folder)
        found["utterances"] += count
        hear(sound)
        if minute % 30 == 29:
            print(f"{(minute + 1) / 60:.1f} hours", dict(found), flush=True)
    hours = found["frames"] * FRAME / RATE / 3600
    print(f"{len(talk())} sentences, {len(said)} recordings of them; {hours:.1f} hours: "
          f"{found['FALSE WAKES'] / hours:.2f} false wakes an hour", dict(found))


if __name__ == "__main__":
    main(sys.argv[1:])
