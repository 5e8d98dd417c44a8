"""Measures hearing on synthetic speech (no people were recorded): numbers, dangers, the wake phrase, time, memory.

    nice python tests/benchmarks/voice.py FOLDER [numbers] [danger] [wake] [time] [recorded=FOLDER]

FOLDER keeps the voices' files (tests/voice_sets/make.py). A simulated carer, in the same voice beside the same pump,
replies to what is asked back, in the words that the question names: "yes that's right" or "no" to what was read back,
the digits or "the second" to a choice. One question, one reply: a number is right where every number of the sentence
(and its unit, "past", "an hour") reaches the answer as said, at once or after that one reply. What is asked a second
time, or is to be said again after a no, is not right.
"""

from __future__ import annotations

import os
import random
import resource
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "tests" / "voice_sets"))

import numpy as np  # noqa: E402
from make import NOISES, STRESS, VOICES, one, pump, sentences  # noqa: E402

from assistant.household.care_plan import read_plan  # noqa: E402
from assistant.session import Session, instant  # noqa: E402
from assistant.voice.conversation import Conversation  # noqa: E402
from assistant.voice.digits import compared, numbers  # noqa: E402
from assistant.voice.doubt import CHOICE, READ_BACK, TWO, spelt  # noqa: E402
from assistant.voice.ears import Ears, open_ears  # noqa: E402
from assistant.voice.loop import Loop  # noqa: E402
from assistant.voice.mouth import Manner, Mouth  # noqa: E402
from assistant.voice.segments import FRAME, Segments, activity  # noqa: E402
from assistant.voice.sound import RATE, Sound, read_wav  # noqa: E402
from assistant.voice.talker import Talker  # noqa: E402
from assistant.voice.wake import awake, phrases, woken  # noqa: E402

PLAN = read_plan(ROOT / "demo" / "child_overnight_pump.toml")
NOW = instant("2026-11-25T22:10", PLAN)
QUIET = 300  # of 32768: below it a synthetic voice says nothing
GRAVE = ("urgent", "emergency")


def fresh(ears: Ears) -> Conversation:
    return Conversation(Session(PLAN, now=NOW), ears)


def amounts(text: str) -> tuple[str, ...]:
    """The numbers of a text, and the units that would change them."""
    return compared(text)


def reply(talk: Conversation, true: str) -> str:
    """What the carer says to what is asked back."""
    pending = talk.pending
    assert pending is not None
    fits = [amounts(text) == amounts(true) for text in (pending.text, pending.other)]
    if pending.kind == CHOICE and any(fits):
        assert pending.either is not None
        return spelt(pending.either[fits.index(True)])
    if pending.kind == TWO and any(fits):
        return ("the first", "the second")[fits.index(True)]
    if pending.kind == READ_BACK and fits[0]:
        return "yes that's right"  # as the question asks
    return "no"


def number(talk: Conversation, text: str, voice: str, noise: str, folder: Path) -> str:
    """What became of one utterance with a number."""
    heard = talk.hear(one(text, voice, noise, folder), NOW)
    if talk.pending is None:
        if heard.record is None:
            return "not heard"
        if amounts(heard.words) == amounts(text):
            return "right at once"
        if heard.record["outcome"] in ("asked_back", "declined"):
            return "not understood"  # nothing was computed or written
        return "false danger" if heard.record["intent"] == "caution" else "WRONG at once"  # a card rests on no number
    said = reply(talk, text)
    after = talk.hear(one(said, voice, noise, folder), NOW)
    if talk.pending is not None:
        return "asked again"
    if after.confirmed:
        return "right after one" if amounts(after.words) == amounts(text) else "WRONG after one"
    return "to be said again"


def measure_numbers(ears: Ears, folder: Path) -> None:
    for voices, noises in ((VOICES, NOISES), (STRESS, NOISES[:1])):
        for noise in noises:
            found: Counter[str] = Counter()
            for text in sentences()["numbers"]:
                for voice in voices:
                    outcome = number(fresh(ears), text, voice, noise, folder)
                    found[outcome] += 1
                    if outcome.startswith("WRONG"):
                        print("  ", outcome, noise, voice, text)
            right = found["right at once"] + found["right after one"]
            print(f"numbers {'/'.join(voices)} {noise}: {right} of {found.total()} right ({right / found.total():.1%})",
                  dict(found), flush=True)


def measure_danger(ears: Ears, folder: Path) -> None:
    for noise in NOISES:
        for kind in ("danger", "calm"):
            if kind == "calm" and noise == "20":
                continue
            texts, found = sentences()[kind], Counter[str]()
            for text in texts:
                for voice in VOICES:
                    heard = fresh(ears).hear(one(text, voice, noise, folder), NOW)
                    record: dict[str, Any] = heard.record or {"level": "not heard", "outcome": ""}
                    grave = record["level"] in GRAVE
                    found[f"{'grave' if grave else 'not'}{', asked' if record['outcome'] == 'asked_back' else ''}"] += 1
                    if grave != (kind == "danger"):
                        print("  ", kind, noise, voice, text, "->", heard.words)
            grave_ones = sum(count for name, count in found.items() if name.startswith("grave"))
            print(f"{kind} {noise}: {grave_ones} of {found.total()} at level urgent or above", dict(found), flush=True)


def wakes(ears: Ears, sound: Sound, phrase: str = "") -> bool:
    """Would the loop wake? Phrases that are not ours are tried by their words alone."""
    assert ears.first is not None
    if phrase and phrase not in phrases():
        return woken(ears.first.heard(sound).text, (phrase,)) is not None
    return ears.wakes(sound) and awake(ears.first.heard(sound).text) is not None


def measure_wake(ears: Ears, folder: Path) -> None:
    """Misses on each phrase with and without a question; false wakes on other talk and on pump noise alone."""
    assert ears.first is not None
    for phrase in sentences()["wake"]:
        for noise in ("clean", "10"):
            asks = ["", *sentences()["after_wake"]]
            said = [(f"{phrase}, {ask}" if ask else phrase, voice) for ask in asks for voice in VOICES]
            misses = [text for text, voice in said if not wakes(ears, one(text, voice, noise, folder), phrase)]
            print(f"wake '{phrase}' {noise}: {len(misses)} of {len(said)} missed", flush=True)
    heard = [(text, voice) for key in ("other", "calm", "numbers", "danger") for text in sentences()[key]
             for voice in VOICES]
    false, seconds = 0, 0.0
    for text, voice in heard:
        sound = one(text, voice, "clean", folder)
        seconds += len(sound) / RATE
        if wakes(ears, sound):
            false += 1
            print("   false wake:", text)
    print(f"false wakes: {false} in {seconds / 60:.0f} minutes of other talk ({len(heard)} utterances)", flush=True)


class FirstSound:
    """A loudspeaker that only notes when it was first given a sound."""

    def __init__(self) -> None:
        self.at: float | None = None

    def play(self, sound: Sound) -> None:
        self.at = self.at or time.perf_counter()

    def stop(self) -> None:
        pass


def measure_time(ears: Ears, folder: Path) -> None:
    """End of speech to first sound of the reply, through the whole loop, its frames handed over as fast as they last.

    The speech ends where the voice's file falls silent. Half of the questions begin with the wake phrase.
    """
    texts = [text for key in ("learn", "calm") for text in sentences()[key]]
    random.Random(1).shuffle(texts)
    spans = sorted(first_sound(ears, text, VOICES[at % len(VOICES)], bool(at % 2), folder)
                   for at, text in enumerate(texts[:24]))
    median, p95 = spans[len(spans) // 2], spans[int(len(spans) * 0.95)]
    print(f"end of speech to first sound: median {median:.2f} s, p95 {p95:.2f} s; load {os.getloadavg()[0]:.1f}")
    print(f"memory with both ears: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB at most")


def first_sound(ears: Ears, text: str, voice: str, wakes: bool, folder: Path) -> float:
    """Seconds for one question; endless where nothing was said."""
    speaker = FirstSound()
    talker = Talker(Mouth(), speaker, print)
    loop = Loop(fresh(ears), talker, Segments(activity()), lambda: NOW, Manner(), lambda *_: None)
    if not wakes:
        loop._open_until = 10**6  # as after an answer
    sound = one(f"{sentences()['wake'][0]}, {text}" if wakes else text, voice, "clean", folder)
    ends = int(np.flatnonzero(np.abs(sound) > QUIET)[-1]) / RATE
    sound = np.concatenate([sound, np.zeros(2 * RATE, dtype=np.int16)])
    began = time.perf_counter()
    for at in range(0, len(sound) - FRAME + 1, FRAME):
        time.sleep(max(0.0, began + (at + FRAME) / RATE - time.perf_counter()))
        loop.frame(sound[at : at + FRAME])
    talker.wait()
    talker.close()
    return speaker.at - began - ends if speaker.at else float("inf")


def measure_recorded(ears: Ears, folder: Path) -> None:
    """Real recorded speech: the test sounds in pocketsphinx's source package (cards named aloud, and a reading)."""
    true = {}
    for line in (folder / "cards" / "cards.transcription").read_text(encoding="utf-8").splitlines():
        words, _, name = line.rpartition("(")
        true[name.rstrip(") \n")] = words.replace("<s>", "").replace("</s>", "").strip()
    for name, text in true.items():
        talk = fresh(ears)
        heard = talk.hear(read_wav(folder / "cards" / f"{name}.wav"), NOW)
        print(f"recorded {name}: said {[n.digits for n in numbers(text)]} heard {heard.words!r}",
              "asked about" if talk.pending else "passed on", flush=True)
    for path in sorted((folder / "librivox").glob("*.wav")):
        sound = read_wav(path)
        print(f"recorded {path.stem[-4:]}: woken={wakes(ears, sound)} {ears.listen(sound).text!r}")


def noise_alone(ears: Ears) -> None:
    """Pump noise without speech: nothing may be heard in it."""
    assert ears.first is not None
    words = [ears.first.heard((pump(3 * RATE, seed) * 900).astype("int16")).text for seed in range(20)]
    print(f"noise alone: words in {sum(bool(w.strip(' .')) for w in words)} of {len(words)} clips of 3 s", flush=True)


def main(folder: Path, wanted: list[str]) -> None:
    ears = open_ears()
    for name in wanted or ["numbers", "danger", "wake", "time"]:
        if name.startswith("recorded="):
            measure_recorded(ears, Path(name.partition("=")[2]))
        else:
            {"numbers": measure_numbers, "danger": measure_danger, "wake": measure_wake, "time": measure_time}[name](
                ears, folder)
        if name == "wake":
            noise_alone(ears)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
