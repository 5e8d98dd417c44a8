"""The hands-free loop over frames: wake phrase or space bar -> words -> answer -> speech, and "stop" while it speaks.

It counts time in frames, so that a test that feeds a recording meets the same loop as a kitchen does. While it speaks
only "stop", or the wake phrase with what follows, is listened to: the microphone hears the loudspeaker.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime
from typing import Any

from assistant.voice.conversation import Conversation
from assistant.voice.ears import Spoken
from assistant.voice.mouth import Manner
from assistant.voice.replies import said_control
from assistant.voice.ringing import Ringing
from assistant.voice.segments import FRAME, Early, Ended, Frame, Resumed, Segments
from assistant.voice.sound import RATE, Sound
from assistant.voice.talker import Talker, tone
from assistant.voice.wake import awake, woken
from knowledge.library import table

LOG = logging.getLogger("bagside")
SECOND = RATE / FRAME  # frames
FOLLOW_UP = int(8 * SECOND)    # after an answer: no wake phrase is needed
IN_A_GUIDE = int(300 * SECOND)  # in a walk-through hands are busy for minutes; only its own short words are taken then
SHORT = 5  # words
LOOKS_EVERY = int(SECOND)  # for reminders that are due


class Loop:
    """Takes frames one by one. `show` gets (what, words) for the terminal: "heard", "answer", "fault"."""

    def __init__(
        self,
        talk: Conversation,
        talker: Talker,
        segments: Segments,
        clock: Callable[[], datetime],
        manner: Manner,
        show: Callable[[str, str], None],
        wake: bool = True,
    ) -> None:
        self.talk, self.talker, self.segments = talk, talker, segments
        self.clock, self.manner, self.show, self.wake = clock, manner, show, wake
        self._frames = 0
        self._open_until = 0       # frame until which no wake phrase is needed
        self._guide_until = 0
        self._over_speech = False  # the utterance began while we spoke
        self._was_speaking = False
        self._ahead: Future[tuple[Spoken, bool]] | None = None
        self._ringing = Ringing(talk.session, talker, show)
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="first-ear")

    def run(self, frames: Iterable[Frame | None]) -> None:
        """Until the frames end. A fault costs one utterance, never the loop."""
        for frame in frames:
            self.frame(frame)

    def push(self) -> None:
        """The space bar: speech is broken off, and what follows needs no wake phrase."""
        self.talker.stop()
        self.segments.reset()
        self._listen()

    def frame(self, frame: Frame | None) -> None:
        self._frames += 1
        if frame is None:  # a gap: a number with a piece missing is another number
            self.segments.reset()
            self._ahead = None
            self._ring()
            return
        event = self.segments.feed(frame)
        if self.segments.speaking and not self._was_speaking:
            self._over_speech = self.talker.busy
        self._was_speaking = self.segments.speaking
        if self._frames % LOOKS_EVERY == 0:
            self._ring()
        if isinstance(event, Early):
            self._ahead = self._worker.submit(self._heard, event.sound, self._awaits_wake())
        elif isinstance(event, Resumed):
            self._ahead = None
        elif isinstance(event, Ended):
            ahead, self._ahead = self._ahead, None
            try:
                heard = ahead.result() if ahead else self._heard(event.sound, self._awaits_wake())
                self._ended(event.sound, *heard)
            except Exception:
                LOG.exception("an utterance was lost")
                self._say(table("voice_en")["says"]["fault"])

    def _awaits_wake(self) -> bool:
        """Is nothing but the wake phrase for us now?"""
        ours = self._frames <= max(self._open_until, self._guide_until) or self.talk.pending is not None
        return self.wake and not (ours or self.talker.busy or self._over_speech)

    def _heard(self, sound: Sound, awaits_wake: bool) -> tuple[Spoken, bool]:
        """The words, and whether the sounds of the wake phrase were found. Without them other people's talk is not
        recognised at all.
        """
        if awaits_wake and not self.talk.ears.wakes(sound):
            return Spoken("", "", 0.0), False
        return self.talk.ears.listen(sound), awaits_wake

    def _ended(self, sound: Sound, spoken: Spoken, wakes: bool) -> None:
        """One utterance: is it for us, and what does it lead to? `wakes`: the phrase's sounds were found already."""
        if not spoken.text.strip(" .,!?-"):
            return
        if said_control(spoken.text) == "stop" and (self.talker.busy or self._over_speech):
            self.talker.stop()
            self._listen(with_tone=False)
            return
        rest = awake(spoken.text) if self.wake else None
        if rest is not None and not (wakes or self.talk.ears.wakes(sound)):
            rest = None
        if rest is None and (self._over_speech or not self._is_for_us(spoken)):
            return
        if rest is not None:
            self.talker.stop()
            if not rest:
                self._listen()
                return
            spoken = replace(spoken, text=rest, second=woken(spoken.second) or spoken.second,
                             others=tuple(woken(other) or other for other in spoken.others))
        self.show("heard", spoken.text)
        now = self.clock()
        heard = self.talk.take(spoken, sound, now)
        if heard.control == "stop":
            self.talker.stop()
            return
        self.manner = self.manner.after(heard.control)
        if heard.record is not None:
            self.show("answer", heard.record["text"])
            self._say(spoken_words(heard.record))
        guided = self.talk.session.talk(now).guide is not None
        self._guide_until = self._frames + IN_A_GUIDE if guided else 0

    def _is_for_us(self, spoken: Spoken) -> bool:
        if self._frames <= self._open_until or self.talk.pending is not None:
            return True
        return self._frames <= self._guide_until and len(spoken.text.split()) <= SHORT

    def _say(self, text: str) -> None:
        self.talker.say(text, self.manner, self.clock())
        self._open_until = self._frames + FOLLOW_UP

    def _ring(self) -> None:
        """A reminder that is due, where nobody speaks and no question of ours waits for its reply.

        A question that waited longer than the window is let go: a "yes" to the reminder must confirm no number.
        """
        waits = self.talk.pending is not None and self._frames <= self._open_until
        free = not (self.segments.speaking or self.talker.busy or waits)
        if self._ringing.look(self.clock(), self.manner, free):
            self.talk.pending = None
            self._open_until = self._frames + FOLLOW_UP

    def _listen(self, with_tone: bool = True) -> None:
        if with_tone:
            self.talker.play(tone())
        self._open_until = self._frames + FOLLOW_UP

    def still_speaking(self) -> None:
        """Called while the reply is heard: the follow-up window begins at its end."""
        if self.talker.busy and self._open_until > self._frames:
            self._open_until = self._frames + FOLLOW_UP


def spoken_words(record: dict[str, Any]) -> str:
    """What is said of a record: its speech, and how one of the choices is picked."""
    voice = table("voice_en")
    offered = voice["choices"]["words"][: len(record.get("choices") or ())]
    if len(offered) < 2:
        return str(record["speech"])
    numbers = f"{', '.join(offered[:-1])}, or {offered[-1]}"
    return f"{record['speech']} {voice['says']['choice'].format(numbers=numbers)}"
