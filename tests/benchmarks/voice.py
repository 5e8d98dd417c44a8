"""Measures hearing on synthetic speech (no people were recorded): numbers, dangers, the wake phrase, time, memory.

    nice python tests/benchmarks/voice.py FOLDER [numbers] [danger] [wake] [time] [recorded=FOLDER]

FOLDER keeps the voices' files (tests/voice_sets/make.py). A simulated carer, in the same voice beside the same pump,
replies to what is asked back: yes or no to what was read back, the digits or "the second" to a choice; never more.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "tests" / "voice_sets"))

from make import NOISES, STRESS, VOICES, one, pump, sentences  # noqa: E402

from assistant.household.care_plan import read_plan  # noqa: E402
from assistant.session import Session, instant  # noqa: E402
from assistant.voice.conversation import Conversation, Heard  # noqa: E402
from assistant.voice.digits import compared, numbers  # noqa: E402
from assistant.voice.doubt import CHOICE, READ_BACK, TWO, spelt  # noqa: E402
from assistant.voice.ears import Ears, open_ears  # noqa: E402
from assistant.voice.sound import RATE, read_wav  # noqa: E402
from assistant.voice.wake import woken  # noqa: E402

PLAN = read_plan(ROOT / "demo" / "child_overnight_pump.toml")
NOW = instant("2026-11-25T22:10", PLAN)
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
        return "yes"
    return "no"


def number(talk: Conversation, text: str, voice: str, noise: str, folder: Path) -> str:
    """What became of one utterance with a number."""
    heard = talk.hear(one(text, voice, noise, folder), NOW)
    if talk.pending is None:
        if heard.record is None:
            return "not heard"
        if amounts(heard.words) == amounts(text):
            return "right at once"
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


def measure_wake(ears: Ears, folder: Path) -> None:
    """Misses on each phrase with and without a question; false wakes on other talk and on pump noise alone."""
    assert ears.first is not None
    for phrase in sentences()["wake"]:
        for noise in ("clean", "10"):
            asks = ["", *sentences()["after_wake"]]
            said = [(f"{phrase}, {ask}" if ask else phrase, voice) for ask in asks for voice in VOICES]
            misses = [text for text, voice in said
                      if woken(ears.first.heard(one(text, voice, noise, folder)).text, (phrase,)) is None]
            print(f"wake '{phrase}' {noise}: {len(misses)} of {len(said)} missed", flush=True)
    heard = [(text, voice) for key in ("other", "calm", "numbers", "danger") for text in sentences()[key]
             for voice in VOICES]
    false, seconds = 0, 0.0
    for text, voice in heard:
        sound = one(text, voice, "clean", folder)
        seconds += len(sound) / RATE
        words = ears.first.heard(sound).text
        if woken(words) is not None:
            false += 1
            print("   false wake:", text, "->", words)
    print(f"false wakes: {false} in {seconds / 60:.0f} minutes of other talk ({len(heard)} utterances)", flush=True)


def measure_time(ears: Ears, folder: Path) -> None:
    """End of speech to first sound of the reply: silence that is waited for, and what runs after it."""
    from assistant.voice.mouth import Manner, Mouth
    from assistant.voice.segments import EARLY, ENDS, FRAME

    mouth, spans = Mouth(), []
    texts = [text for key in ("learn", "calm") for text in sentences()[key]]
    random.Random(1).shuffle(texts)
    for at, text in enumerate(texts[:24]):
        talk, sound = fresh(ears), one(text, VOICES[at % len(VOICES)], "clean", folder)
        began = time.perf_counter()
        spoken = ears.listen(sound)
        recognised = time.perf_counter() - began
        began = time.perf_counter()
        heard: Heard = talk.take(spoken, sound, NOW)
        next(mouth.speak((heard.record or {"speech": "No."})["speech"], Manner(), NOW))
        rest = time.perf_counter() - began
        spans.append(max(EARLY * FRAME / RATE + recognised, ENDS * FRAME / RATE) + rest)
    spans.sort()
    median, p95 = spans[len(spans) // 2], spans[int(len(spans) * 0.95)]
    print(f"end of speech to first sound: median {median:.2f} s, p95 {p95:.2f} s")
    print(f"memory with both ears: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB at most")


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
        words = ears.listen(read_wav(path)).text
        print(f"recorded {path.stem[-4:]}: woken={woken(words) is not None} {words!r}")


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
