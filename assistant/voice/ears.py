"""Two ears on the same sound, and what they agree on.

`Ear` is all an engine has to offer. The first ear's words are what is passed on; the second is heard for its numbers,
for questions with few answers, and alone where no model is installed (then every number is asked about).
"""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from assistant.voice.digits import Number, beside, compared, numbers
from assistant.voice.mended import mended
from assistant.voice.missing import Missing
from assistant.voice.quieter import noisy, quieter
from assistant.voice.sound import Sound

UNSURE = -0.55  # mean log chance below which the words are a guess: chosen on the sentences under `learn`


class Guess(Protocol):
    @property
    def text(self) -> str: ...
    @property
    def sure(self) -> float: ...
    @property
    def others(self) -> tuple[str, ...]: ...


class Ear(Protocol):
    """The first ear: words, and how sure it is of them."""

    name: str

    def heard(self, sound: Sound) -> Guess: ...


class SecondEar(Protocol):
    """The second ear: words, or which of a few answers."""

    name: str

    def heard(self, sound: Sound) -> str: ...

    def one_of(self, sound: Sound, answers: Iterable[str]) -> str: ...

    def wakes(self, sound: Sound) -> bool: ...


@dataclass(frozen=True)
class Spoken:
    """What was heard of one utterance."""

    text: str                    # the first ear's words, mended; the second's where there is no first
    second: str                  # the second ear's words
    sure: float
    alone: bool = False          # only one ear listened: nothing was confirmed by another
    others: tuple[str, ...] = ()  # what else the first ear may have heard: for questions, never for an answer
    quieter: str = ""            # what it has of the same sound with less noise, where that was asked for: the same

    @property
    def numbers(self) -> tuple[Number, ...]:
        return numbers(self.text)

    @property
    def agreed(self) -> bool:
        """Do both ears have the same numbers, in the same order, with the same words beside them?

        A unit that neither ear knows for one ("1.5 lectures", "1.5 like cheers") is heard as two different words.
        """
        if self.alone or compared(self.text) != compared(self.second):
            return False
        pairs = zip(beside(self.text), beside(self.second), strict=True)
        return all(first == second or first == "mL" for first, second in pairs)

    @property
    def guessed(self) -> bool:
        return self.sure < UNSURE


class Ears:
    """Both recognisers. `first` may be None (no model installed), never both."""

    def __init__(self, first: Ear | None, second: SecondEar | None) -> None:
        if first is None and second is None:
            raise Missing("model")
        self.first, self.second = first, second
        self._beside = ThreadPoolExecutor(1, thread_name_prefix="second-ear")

    def listen(self, sound: Sound) -> Spoken:
        """One utterance, by both ears at once."""
        second = self._beside.submit(self.second.heard, sound) if self.second is not None else None
        if self.first is None:
            assert second is not None
            words = second.result()
            return Spoken(mended(words), words, 0.0, alone=True)
        guess = self.first.heard(sound)
        spoken = Spoken(mended(guess.text), second.result() if second else "", guess.sure, alone=second is None,
                        others=tuple(mended(other) for other in guess.others))
        if (spoken.agreed and not spoken.guessed) or not noisy(sound):
            return spoken
        return replace(spoken, quieter=mended(self.first.heard(quieter(sound)).text))

    def one_of(self, sound: Sound, answers: Iterable[str]) -> str | None:
        """Which of a few answers was said, by the second ear; empty where none fits, None without a second ear."""
        return self._beside.submit(self.second.one_of, sound, answers).result() if self.second is not None else None

    def wakes(self, sound: Sound) -> bool:
        """Does the second ear hear the wake phrase too? True without one."""
        return self.second is None or self._beside.submit(self.second.wakes, sound).result()


def open_ears(model: Path | None = None) -> Ears:
    """The ears that are installed. Raises Missing where there is none, or where a model that was named is not there."""
    from assistant.voice.sphinx import Sphinx
    from assistant.voice.whisper import Whisper

    first: Ear | None = None
    second: SecondEar | None = None
    lacking: Missing | None = None
    try:
        first = Whisper(model)
    except Missing as missing:
        if model is not None or missing.code == "model_changed":
            raise
        lacking = missing
    try:
        second = Sphinx()
    except Missing as missing:
        lacking = lacking or missing
    if first is None and second is None and lacking is not None:
        raise lacking
    return Ears(first, second)
