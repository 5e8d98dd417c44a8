"""The Wyoming protocol's side: a home voice hub's events to conversations, one for each satellite.

Everything that counts or touches the disk runs in one thread. Words that the hub's own recogniser heard were heard by
one ear alone: every number in them is said back first. Words from our `asr` were heard by both.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from typing import Any

import numpy as np
from wyoming.asr import Transcribe, Transcript
from wyoming.audio import AudioChunk, AudioStart, AudioStop
from wyoming.error import Error
from wyoming.event import Event
from wyoming.handle import Handled, NotHandled
from wyoming.info import (
    AsrModel,
    AsrProgram,
    Attribution,
    Describe,
    HandleModel,
    HandleProgram,
    Info,
    TtsProgram,
    TtsVoice,
)
from wyoming.ping import Ping, Pong
from wyoming.server import AsyncEventHandler
from wyoming.tts import Synthesize

from assistant.session import Session
from assistant.voice.conversation import Conversation
from assistant.voice.ears import Ears, Spoken
from assistant.voice.loop import spoken_words
from assistant.voice.missing import Missing
from assistant.voice.mouth import Manner, Mouth
from assistant.voice.sound import LONGEST_S, RATE, Sound, resampled
from knowledge.library import table

SATELLITES = 32   # conversations kept; the one that was silent longest goes first
OWN_WORDS = 32    # what our asr heard of late, so that `handle` knows that two ears listened
OURS = Attribution(name="Bagside", url="")
ENGLISH = ["en"]
NAMES = ("satellite_id", "device_id", "conversation_id")  # what tells one conversation from another, best first
NO_SOUND: Sound = np.zeros(0, dtype=np.int16)


class Hub:
    """What all connections share. `opened` makes a session for a conversation's name, in the one working thread."""

    def __init__(
        self,
        opened: Callable[[str], Session],
        clock: Callable[[], datetime],
        ears: Ears | None = None,
        mouth: Mouth | None = None,
        version: str = "",
    ) -> None:
        self._opened, self._clock, self.ears, self.mouth, self._version = opened, clock, ears, mouth, version
        self._talks: OrderedDict[str, Conversation] = OrderedDict()
        self._own: OrderedDict[str, Spoken] = OrderedDict()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="hub")
        self.manner = Manner()

    async def run(self, work: Callable[..., Any], *args: Any) -> Any:
        return await asyncio.get_running_loop().run_in_executor(self._thread, work, *args)

    def handle(self, words: str, name: str) -> tuple[str, bool]:
        """What is to be said, and whether the words were understood."""
        talk = self._talks.pop(name, None) or Conversation(self._opened(name), Deaf())
        self._talks[name] = talk
        if len(self._talks) > SATELLITES:
            self._talks.popitem(last=False)
        spoken = self._own.pop(words, None) or Spoken(words, words, 0.0, alone=True)
        heard = talk.take(spoken, NO_SOUND, self._clock())
        self.manner = self.manner.after(heard.control)
        if heard.record is None:
            return "", True
        return spoken_words(heard.record), heard.record["intent"] not in ("out_of_scope",)

    def transcribe(self, sound: Sound) -> str:
        """The words of an utterance, by both ears."""
        assert self.ears is not None
        spoken = self.ears.listen(sound)
        self._own[spoken.text] = spoken
        if len(self._own) > OWN_WORDS:
            self._own.popitem(last=False)
        return spoken.text

    def spoken(self, text: str) -> list[Sound]:
        assert self.mouth is not None
        return list(self.mouth.speak(text, self.manner, self._clock()))

    def info(self) -> Info:
        """What is served."""
        about: dict[str, Any] = {"attribution": OURS, "installed": True, "version": self._version or None}
        says = table("voice_en")["wyoming"]
        model = HandleModel(name="bagside", description=says["handle"], languages=ENGLISH, **about)
        made = Info(handle=[HandleProgram(name="bagside", description=says["handle"], models=[model], **about)])
        if self.ears is not None:
            ear = AsrModel(name="two-ears", description=says["asr"], languages=ENGLISH, **about)
            made.asr = [AsrProgram(name="bagside", description=says["asr"], models=[ear], **about)]
        if self.mouth is not None:
            voice = TtsVoice(name=self.mouth.name, description=says["tts"], languages=ENGLISH, **about)
            made.tts = [TtsProgram(name="bagside", description=says["tts"], voices=[voice], **about)]
        return made


class Deaf(Ears):
    """No sound comes with a transcript: a reply is judged by its words alone."""

    def __init__(self) -> None:
        self.first = self.second = None

    def one_of(self, sound: Sound, answers: Any) -> None:
        return None


class Connection(AsyncEventHandler):
    """One client. What it began is forgotten when it goes."""

    def __init__(self, hub: Hub, *args: Any) -> None:
        super().__init__(*args)
        self.hub = hub
        self._sound: list[Sound] | None = None
        self._seconds = 0.0

    async def handle_event(self, event: Event) -> bool:
        try:
            await self._take(event)
        except Missing as missing:
            await self.write_event(Error(text=str(missing), code="missing").event())
        except (KeyError, TypeError, ValueError, AttributeError):  # an event that lacks what its kind must have
            await self.write_event(Error(text=table("voice_en")["wyoming"]["bad_event"], code="bad-event").event())
        return True

    async def _take(self, event: Event) -> None:
        hub = self.hub
        if Describe.is_type(event.type):
            await self.write_event(hub.info().event())
        elif Ping.is_type(event.type):
            await self.write_event(Pong(text=Ping.from_event(event).text).event())
        elif Transcript.is_type(event.type):
            await self._handle(Transcript.from_event(event))
        elif hub.ears is not None and (Transcribe.is_type(event.type) or AudioStart.is_type(event.type)):
            self._sound, self._seconds = [], 0.0
        elif self._sound is not None and AudioChunk.is_type(event.type):
            self._collect(AudioChunk.from_event(event))
        elif self._sound is not None and AudioStop.is_type(event.type):
            sound, self._sound = np.concatenate([NO_SOUND, *self._sound]), None
            await self.write_event(Transcript(text=await hub.run(hub.transcribe, sound), language="en").event())
        elif hub.mouth is not None and Synthesize.is_type(event.type):
            await self._speak(Synthesize.from_event(event).text)

    async def _handle(self, said: Transcript) -> None:
        context = said.context or {}
        name = next((str(context[key]) for key in NAMES if context.get(key)), "hub")
        text, understood = await self.hub.run(self.hub.handle, str(said.text), name)
        answer = Handled(text=text, context=said.context) if understood else NotHandled(text=text, context=said.context)
        await self.write_event(answer.event())

    def _collect(self, chunk: AudioChunk) -> None:
        """Up to the longest question; the rest of a stream that never ends is not kept."""
        if chunk.width != 2 or chunk.rate <= 0 or chunk.channels < 1:
            raise ValueError
        if self._sound is None or self._seconds > LONGEST_S:
            return
        samples = np.frombuffer(chunk.audio[: len(chunk.audio) // (2 * chunk.channels) * 2 * chunk.channels], np.int16)
        mono = samples.reshape(-1, chunk.channels).astype(np.float32).mean(axis=1)
        self._seconds += len(mono) / chunk.rate
        self._sound.append(resampled(mono, chunk.rate))

    async def _speak(self, text: str) -> None:
        await self.write_event(AudioStart(rate=RATE, width=2, channels=1).event())
        for sound in await self.hub.run(self.hub.spoken, text):
            for at in range(0, len(sound), RATE // 4):
                chunk = AudioChunk(rate=RATE, width=2, channels=1, audio=sound[at : at + RATE // 4].tobytes())
                await self.write_event(chunk.event())
        await self.write_event(AudioStop().event())

    async def disconnect(self) -> None:
        self._sound = None
