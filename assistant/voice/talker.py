"""Speaks in a thread of its own, so that "stop" is heard while it does."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from assistant.voice.devices import Speaker
from assistant.voice.missing import Missing
from assistant.voice.mouth import Manner, Mouth
from assistant.voice.sound import RATE, Sound


@dataclass
class Said:
    """What became of a text: `over` once it was played or broken off, `failed` where no loudspeaker played it."""

    over: bool = False
    failed: bool = False


Task = tuple[str, Manner, datetime, Said] | Sound


def tone() -> Sound:
    """A soft tone of 0.12 s: listening."""
    at = np.arange(int(0.12 * RATE)) / RATE
    soft = np.minimum(1, np.minimum(at, at[-1] - at) / 0.03)
    return (np.sin(2 * np.pi * 660 * at) * soft * 3000).astype(np.int16)


class Talker:
    """What is to be said, one after the other. `failed` is told of a voice or loudspeaker that is missing."""

    def __init__(self, mouth: Mouth, speaker: Speaker, failed: Callable[[str], None]) -> None:
        self._mouth, self._speaker, self._failed = mouth, speaker, failed
        self._waiting: queue.Queue[tuple[int, Task] | None] = queue.Queue()
        self._broken_off = 0
        self._unsaid: list[int] = []  # for each text not yet said: how often was broken off before it
        self._thread = threading.Thread(target=self._work, daemon=True, name="talker")
        self._thread.start()

    def say(self, text: str, manner: Manner, now: datetime) -> Said:
        said = Said()
        self._unsaid.append(self._broken_off)
        self._waiting.put((self._broken_off, (text, manner, now, said)))
        return said

    def play(self, sound: Sound) -> None:
        self._waiting.put((self._broken_off, sound))

    @property
    def busy(self) -> bool:
        """Is something being said, or about to be? A tone is nothing that could be taken for a question."""
        return self._broken_off in self._unsaid

    def stop(self) -> None:
        """Break off at once, and leave out what waits."""
        self._broken_off += 1
        self._speaker.stop()

    def wait(self) -> None:
        """Until everything is said."""
        self._waiting.join()

    def close(self) -> None:
        self.stop()
        self._waiting.put(None)
        self._thread.join(timeout=5)

    def _work(self) -> None:
        while (waiting := self._waiting.get()) is not None:
            asked_at, task = waiting
            said = task[3] if isinstance(task, tuple) else Said()
            try:
                self._play(self._mouth.speak(*task[:3]) if isinstance(task, tuple) else (task,), asked_at)
            except Missing as missing:
                said.failed = True
                self._failed(str(missing))
            except Exception as fault:  # a device that fails in its own way ends a sentence, not the loop
                said.failed = True
                self._failed(type(fault).__name__)
            finally:
                said.over = True
                if isinstance(task, tuple):
                    self._unsaid.remove(asked_at)
                self._waiting.task_done()

    def _play(self, sounds: Iterable[Sound], asked_at: int) -> None:
        for sound in sounds:
            if self._broken_off != asked_at:
                return
            self._speaker.play(sound)
