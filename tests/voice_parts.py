"""What the tests of the voice share: ears that hear what they are told, a speaker that keeps what it plays, frames."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

import numpy as np
from conftest import DEMO

from assistant.household.care_plan import read_plan
from assistant.session import Session, instant
from assistant.voice.conversation import Conversation
from assistant.voice.ears import Ears, Spoken
from assistant.voice.loop import Loop
from assistant.voice.mouth import Manner
from assistant.voice.segments import FRAME, Frame, Segments
from assistant.voice.sound import RATE, Sound
from assistant.voice.talker import Talker

PLAN = read_plan(DEMO / "child_overnight_pump.toml")
NOW = instant("2026-11-25T22:10", PLAN)
NONE: Sound = np.zeros(0, dtype=np.int16)


class ToldEars(Ears):
    """Hears the given pairs one after the other: (first ear, second ear), or one text for both."""

    def __init__(self, *heard: Spoken | str | BaseException, few: str | None = "") -> None:
        self.first = self.second = None
        self.waiting = list(heard)
        self.few = few
        self.calls = 0
        self.sounds_of_the_phrase = True

    def listen(self, sound: Sound) -> Spoken:
        self.calls += 1
        told = self.waiting.pop(0) if self.waiting else ""
        if isinstance(told, BaseException):
            raise told
        return told if isinstance(told, Spoken) else both(told)

    def one_of(self, sound: Sound, answers: Iterable[str]) -> str | None:
        return self.few

    def wakes(self, sound: Sound) -> bool:
        return self.sounds_of_the_phrase


def both(text: str) -> Spoken:
    return Spoken(text, text, -0.05)


def ears_differ(first: str, second: str, sure: float = -0.1) -> Spoken:
    return Spoken(first, second, sure)


def talking(*heard: Spoken | str | BaseException, few: str | None = "") -> Conversation:
    return Conversation(Session(PLAN, now=NOW), ToldEars(*heard, few=few))


class KeptSpeaker:
    """A loudspeaker that keeps what it was given; `hold` makes it play until it is stopped."""

    def __init__(self, hold: bool = False) -> None:
        self.played: list[Sound] = []
        self.hold, self.stopped = hold, threading.Event()

    def play(self, sound: Sound) -> None:
        self.stopped.clear()
        self.played.append(sound)
        if self.hold:
            self.stopped.wait(5)

    def stop(self) -> None:
        self.stopped.set()


class KeptMouth:
    """A voice whose sounds are silence; what it said is kept."""

    def __init__(self) -> None:
        self.said: list[tuple[str, Manner]] = []

    def speak(self, text: str, manner: Manner, now: datetime) -> Iterator[Sound]:
        self.said.append((text, manner))
        yield np.zeros(160, dtype=np.int16)


def loud(frame: Frame) -> float:
    """Voice activity of the tests: what is loud is speech."""
    return 1.0 if np.abs(frame).max(initial=0) > 1000 else 0.0


def frames(*parts: tuple[str, float]) -> Iterator[Frame]:
    """("speech", seconds) and ("silence", seconds) as frames."""
    for kind, seconds in parts:
        for _ in range(int(seconds * RATE / FRAME)):
            yield np.full(FRAME, 5000 if kind == "speech" else 0, dtype=np.int16)


def an_utterance() -> tuple[tuple[str, float], ...]:
    return (("silence", 0.3), ("speech", 1.0), ("silence", 1.0))


class Kitchen:
    """A loop with everything around it kept."""

    def __init__(self, *heard: Any, hold: bool = False, wake: bool = True) -> None:
        self.mouth, self.speaker, self.shown = KeptMouth(), KeptSpeaker(hold), []
        self.talk = talking(*heard)
        talker: Any = Talker(self.mouth, self.speaker, lambda line: self.shown.append(("fault", line)))  # type: ignore[arg-type]
        self.talker = talker
        self.now = NOW
        self.loop = Loop(self.talk, talker, Segments(loud), lambda: self.now, Manner(), self.keep, wake)

    def keep(self, what: str, words: str) -> None:
        self.shown.append((what, words))

    def says(self, times: int = 1) -> None:
        for _ in range(times):
            self.loop.run(frames(*an_utterance()))
            if not self.speaker.hold:
                self.talker.wait()

    @property
    def said(self) -> list[str]:
        return [text for text, _ in self.mouth.said]
