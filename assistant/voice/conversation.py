"""One household spoken with: what is heard, asked about where it is in doubt, and only then answered by the session.

Nothing that is in doubt reaches the session: neither an answer nor an entry of the log rests on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from assistant import word
from assistant.session import Session
from assistant.voice.digits import joined, numbers
from assistant.voice.doubt import CHOICE, DANGER, TWO, Doubt, danger_in, doubt, spelt, with_units
from assistant.voice.ears import Ears, Spoken
from assistant.voice.replies import CANCEL, NEITHER, NO, YES, either_of, first_or_second, said_control, yes_or_no
from assistant.voice.sound import Sound
from assistant.voice.spoken_words import words_of
from knowledge.library import table

A_NEW_QUESTION = 5  # words: a reply to "is that right?" is shorter


@dataclass(frozen=True)
class Heard:
    """What one utterance led to. `record` is None where no words were heard, or the voice itself was spoken to."""

    words: str
    record: dict[str, Any] | None
    control: str = ""           # slower, faster, louder, quieter, stop
    confirmed: bool = False     # the answer rests on what was asked about and said again


class Conversation:
    """The spoken side of a session. One utterance at a time."""

    def __init__(self, session: Session, ears: Ears) -> None:
        self.session, self.ears = session, ears
        self.pending: Doubt | None = None
        self.last: dict[str, Any] | None = None

    def hear(self, sound: Sound, now: datetime) -> Heard:
        """One utterance, heard and answered, or asked about."""
        return self.take(self.ears.listen(sound), sound, now)

    def take(self, spoken: Spoken, sound: Sound, now: datetime) -> Heard:
        """The same, where the words are known already (a recogniser that ran ahead)."""
        if not spoken.text.strip(" .,!?-"):
            return Heard("", None)
        night = self.session.night(now)
        if danger_in(spoken, night):
            self.pending = None
            return self._say(spoken.text, now)
        control = said_control(spoken.text)
        if control and control != "stop":
            return self._control(control, spoken.text, now)
        pending, self.pending = self.pending, None
        if pending is not None and not _new_question(spoken):
            return self._reply(pending, spoken, sound, now)
        if control == "stop" and self.session.talk(now).guide is None:  # else it ends the walk-through
            return Heard(spoken.text, None, control)
        found = doubt(spoken, night)
        if found is not None and not self._chosen(spoken):
            return self._ask(found, now)
        return self._say(spoken.text, now)

    def _chosen(self, spoken: Spoken) -> bool:
        """A number of the choices just offered: nothing is computed from it."""
        offered = (self.last or {}).get("choices") or ()
        found = spoken.numbers
        return len(words_of(spoken.text)) <= 3 and len(found) == 1 and found[0].digits in "123"[: len(offered)]

    def _control(self, control: str, words: str, now: datetime) -> Heard:
        if control == "slower" and self.last is not None:  # the session says the last answer again, in small pieces
            said = self._say(words, now)
            return Heard(words, said.record, control)
        line = {"text": table("voice_en")["says"][control], "speech": table("voice_en")["says"][control]}
        record = word.told("slower" if control == "slower" else "repeat", "done", line, self.session.night(now))
        return Heard(words, {"heard": words, **record}, control)

    def _reply(self, pending: Doubt, spoken: Spoken, sound: Sound, now: datetime) -> Heard:
        """What was said to our question: the answer, or the question again; never the number that was not confirmed."""
        if pending.kind in (CHOICE, TWO):
            picked = (either_of(spoken, sound, self.ears, pending.either) if pending.either
                      else first_or_second(spoken, sound, self.ears))
            if picked in (0, 1):
                return self._say((pending.text, pending.other)[picked], now, confirmed=True)
        else:
            picked = yes_or_no(spoken, sound, self.ears)
            if picked == YES:
                return self._say(pending.text, now, confirmed=True)
        if picked in (NO, CANCEL):
            return self._told(spoken.text, {"speech": table("voice_en")["says"]["again"]}, now, "heard_right")
        self.pending = pending
        assert picked == NEITHER
        says = table("voice_en")["says"]
        if pending.kind == TWO:
            return self._told(spoken.text, {"speech": says["first_or_second"]}, now, "which_number")
        if pending.either is None:
            return self._told(spoken.text, {"speech": says["yes_or_no"]}, now, "heard_right")
        first, second = (spelt(digits) for digits in pending.either)
        return self._told(spoken.text, {"speech": says["again_reply"]}, now, "which_number", first=first, second=second)

    def _ask(self, found: Doubt, now: datetime) -> Heard:
        self.pending = found
        says = table("voice_en")["says"]
        if found.kind == DANGER:
            line = {"text": says["danger_doubt_text"], "speech": says["danger_doubt"]}
            told = self._told(found.text, line, now, "heard_right", heard=found.text)
            return Heard(told.words, {**(told.record or {}), "level": "urgent", "defers": True})
        if found.kind == CHOICE:
            assert found.either is not None
            first, second = (spelt(digits) for digits in found.either)
            line = {"speech": says["digits_or_words" if found.unsure else "digits_or"]}
            heard = " ".join(words_of(found.text))
            return self._told(found.text, line, now, "which_number", first=first, second=second, heard=heard)
        if found.kind == TWO:
            first, second = (says["digit_gap"].join(with_units(text)) or says["no_number"]
                             for text in (found.text, found.other))
            line = {"speech": says["two_heard"]}
            return self._told(found.text, line, now, "which_number", first=first, second=second)
        said = found.digits
        code = "read_back_words" if not said else "read_back" if len(said) == 1 else "read_back_many"
        facts = {"heard": " ".join(words_of(found.text)), "digits": says["digit_gap"].join(said)}
        return self._told(found.text, {"speech": says[code]}, now, "heard_right", **facts)

    def _told(self, words: str, line: dict[str, str], now: datetime, asks: str, **facts: str) -> Heard:
        """A question of ours about what was heard."""
        wording = {"text": line.get("text", line["speech"]), "speech": line["speech"]}
        record = word.told("unclear", "asked_back", wording, self.session.night(now), facts, asks=asks)
        self.last = {"heard": words, **record}
        return Heard(words, self.last)

    def _say(self, words: str, now: datetime, confirmed: bool = False) -> Heard:
        words = joined(words)
        self.last = self.session.say(words, now)
        return Heard(words, self.last, confirmed=confirmed)


def _new_question(spoken: Spoken) -> bool:
    """More than a reply: the question that waits is let go."""
    return len(words_of(spoken.text)) - sum(len(words_of(n.digits)) for n in numbers(spoken.text)) >= A_NEW_QUESTION
