"""A second look at speech beside steady noise: what it takes away, what it leaves; nothing is answered on it."""

from __future__ import annotations

import numpy as np
import pytest
from voice_parts import NONE, NOW, talking
from voice_sets.make import pump

from assistant.voice.conversation import Conversation
from assistant.voice.ears import Ears, Spoken
from assistant.voice.quieter import WINDOW, noisy, quieter
from assistant.voice.sound import RATE, Sound, loudness, silence
from assistant.voice.whisper import Guess

QUESTION = "how long will 180 last at 90 an hour"


def tones() -> Sound:
    """Short tones with silence between them: loud and quiet as speech is."""
    at = np.arange(RATE // 5) / RATE
    parts = [np.concatenate([(9000 * np.sin(2 * np.pi * pitch * at)).astype(np.int16), silence(0.2)])
             for pitch in (310, 440, 620, 530, 700, 390)]
    return np.concatenate(parts)


def with_noise(sound: Sound, decibels: float) -> Sound:
    level = loudness(sound) * 32768 / 10 ** (decibels / 20)
    return np.clip(sound + pump(len(sound), 7) * level, -32768, 32767).astype(np.int16)


def test_steady_noise_alone_becomes_much_quieter() -> None:
    noise = (pump(3 * RATE, 3) * 900).astype(np.int16)
    assert 20 * np.log10(loudness(quieter(noise)) / loudness(noise)) < -6


def test_what_is_clean_comes_back_as_it_was() -> None:
    clean = tones()
    assert np.corrcoef(clean, quieter(clean))[0, 1] > 0.99 and len(quieter(clean)) == len(clean)


def test_of_speech_beside_a_pump_the_speech_is_left() -> None:
    """Nearer to the clean sound than what came in."""
    clean = tones()
    heard = with_noise(clean, 10)
    before, after = (np.mean((sound.astype(float) - clean) ** 2) for sound in (heard, quieter(heard)))
    assert after < before / 2


@pytest.mark.parametrize("length", [0, 1, WINDOW, 2 * WINDOW - 1])
def test_what_is_too_short_to_look_at_stays(length: int) -> None:
    short = tones()[:length]
    assert np.array_equal(quieter(short), short) and not noisy(short[: 2 * WINDOW - 1])


def test_noise_is_told_from_none() -> None:
    assert not noisy(tones()) and noisy(with_noise(tones(), 20)) and noisy(with_noise(tones(), 10))


class FirstEar:
    """Hears one sentence the first time, another in every later look."""

    name = "told"

    def __init__(self, *texts: str, sure: float = -0.1) -> None:
        self.texts, self.sure, self.looks = texts, sure, 0

    def heard(self, sound: Sound) -> Guess:
        self.looks += 1
        return Guess(self.texts[min(self.looks, len(self.texts)) - 1], self.sure)


class OtherEar:
    name = "told too"

    def __init__(self, text: str) -> None:
        self.text = text

    def heard(self, sound: Sound) -> str:
        return self.text

    def one_of(self, sound: Sound, answers: object) -> str:
        return ""

    def wakes(self, sound: Sound) -> bool:
        return True


@pytest.mark.parametrize(("second", "decibels", "looks"), [
    (QUESTION, 10, 1),          # both have the same numbers
    ("a lump of it", 10, 2),
    ("a lump of it", None, 1),  # no noise: another look would show the same
])
def test_another_look_is_taken_only_where_there_is_doubt_and_noise(
    second: str, decibels: float | None, looks: int
) -> None:
    first = FirstEar(QUESTION.replace("180", "110"), QUESTION) if looks == 2 else FirstEar(QUESTION)
    sound = tones() if decibels is None else with_noise(tones(), decibels)
    spoken = Ears(first, OtherEar(second)).listen(sound)
    assert first.looks == looks and bool(spoken.quieter) == (looks == 2)


def asked_about(spoken: Spoken) -> tuple[Conversation, dict[str, object]]:
    talk = talking(spoken, "It's the second.", few="the second")
    record = talk.hear(NONE, NOW).record
    assert record is not None
    return talk, record


def test_what_differs_in_the_quieter_look_is_offered_and_not_used_unasked() -> None:
    """180 mL at 90 mL/h: 2 h."""
    spoken = Spoken(QUESTION.replace("180", "110"), "a lump of it", -0.2, quieter=QUESTION)
    talk, asked = asked_about(spoken)
    assert asked["figures"] == {}
    assert "one one zero" in str(asked["speech"]) and "one eight zero" in str(asked["speech"])
    answered = talk.hear(NONE, NOW)
    assert answered.confirmed and answered.record is not None
    assert answered.record["figures"]["duration"]["value"] == 2


def test_two_looks_that_agree_confirm_nothing() -> None:
    """It is the same ear: sure and mistaken twice."""
    _, asked = asked_about(Spoken(QUESTION, "a lump of it", -0.1, quieter=QUESTION))
    assert asked["outcome"] == "asked_back" and asked["figures"] == {}


def test_a_number_that_only_the_quieter_look_has_is_asked_about() -> None:
    _, asked = asked_about(Spoken("how long will it last at night an hour", "", -0.1, quieter=QUESTION))
    assert asked["outcome"] == "asked_back" and asked["figures"] == {}
