"""The hands-free loop on frames: when it listens, when it is silent, and what it survives."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from voice_parts import Kitchen, an_utterance, frames, loud

from assistant.voice.devices import Held
from assistant.voice.live import listen
from assistant.voice.loop import FOLLOW_UP, SECOND
from assistant.voice.missing import Missing
from assistant.voice.segments import FRAME, Ended, Frame, Segments
from assistant.voice.sound import RATE


def test_speech_is_cut_out_of_silence_with_its_beginning() -> None:
    segments, ended = Segments(loud), []
    for frame in frames(*an_utterance(), *an_utterance()):
        if isinstance(event := segments.feed(frame), Ended):
            ended.append(event.sound)
    assert len(ended) == 2
    assert all(np.count_nonzero(sound) == int(1.0 * RATE / FRAME) * FRAME for sound in ended)


def test_a_pause_for_breath_does_not_end_a_question() -> None:
    segments = Segments(loud)
    events = [segments.feed(f) for f in frames(("speech", 0.6), ("silence", 0.45), ("speech", 0.6), ("silence", 1.0))]
    assert sum(isinstance(event, Ended) for event in events) == 1


def test_without_the_wake_phrase_it_stays_silent() -> None:
    kitchen = Kitchen("how long will the bag last", "they walked back side by side")
    kitchen.says(2)
    assert kitchen.said == [] and kitchen.shown == []


def test_without_the_sounds_of_the_wake_phrase_nothing_is_recognised() -> None:
    """ "Hey Becky" is written as the phrase by an ear that is primed for it: its words alone wake nobody."""
    kitchen = Kitchen("Hey Bagside, what is the rate?")
    ears: Any = kitchen.talk.ears
    ears.sounds_of_the_phrase = False
    kitchen.says()
    assert ears.calls == 0 and kitchen.said == []


def test_after_an_answer_the_sounds_of_the_wake_phrase_are_not_asked_for() -> None:
    kitchen = Kitchen("Hey Bagside, what is the rate?", "who do I call")
    ears: Any = kitchen.talk.ears
    kitchen.says()
    ears.sounds_of_the_phrase = False
    kitchen.says()
    assert len(kitchen.said) == 2


def test_wake_phrase_and_question_in_one_breath() -> None:
    kitchen = Kitchen("Hey Bagside, what is the rate?")
    kitchen.says()
    assert len(kitchen.said) == 1 and "seventy two" in kitchen.said[0]  # demo plan: 72 mL/h


def test_after_an_answer_no_wake_phrase_is_needed_for_a_while() -> None:
    kitchen = Kitchen("Hey bag side, what is the rate?", "who do I call", "who do I call")
    kitchen.says(2)
    assert len(kitchen.said) == 2
    kitchen.loop.run(frames(("silence", FOLLOW_UP / SECOND + 1)))
    kitchen.says()
    assert len(kitchen.said) == 2


def test_the_wake_phrase_alone_gives_a_tone_and_opens_the_ear() -> None:
    kitchen = Kitchen("Hey Bagside.", "what is the rate")
    kitchen.says(2)
    assert len(kitchen.said) == 1 and len(kitchen.speaker.played) == 2


def test_the_space_bar_needs_no_wake_phrase() -> None:
    kitchen = Kitchen("what is the rate", wake=False)
    kitchen.loop.push()
    kitchen.says()
    assert len(kitchen.said) == 1


def test_stop_breaks_off_what_is_said() -> None:
    kitchen = Kitchen("Hey Bagside, what is the rate?", "Stop.", hold=True)
    kitchen.says()
    while not kitchen.speaker.played:
        time.sleep(0.01)
    kitchen.says()
    kitchen.talker.wait()
    assert len(kitchen.speaker.played) == 1 and kitchen.speaker.stopped.is_set()


def test_its_own_voice_is_no_question() -> None:
    kitchen = Kitchen("Hey Bagside, what is the rate?", "what is the rate", hold=True)
    kitchen.says(2)
    assert len(kitchen.mouth.said) <= 1 and len([w for w, _ in kitchen.shown if w == "heard"]) == 1
    kitchen.talker.stop()


def test_in_a_walk_through_short_words_need_no_wake_phrase_for_minutes() -> None:
    kitchen = Kitchen("Hey Bagside, walk me through a flush", "next", "I will put the kettle on for you now")
    kitchen.says()
    kitchen.loop.run(frames(("silence", 60.0)))
    kitchen.says()
    kitchen.loop.run(frames(("silence", 60.0)))
    kitchen.says()
    assert len(kitchen.said) == 2


def test_a_fault_costs_one_utterance() -> None:
    kitchen = Kitchen(RuntimeError("no"), "Hey Bagside, what is the rate?")
    kitchen.says(2)
    assert len(kitchen.said) == 2 and "seventy two" in kitchen.said[1]


def test_a_gap_in_the_sound_drops_the_utterance() -> None:
    """Frames that were lost may have held a digit: what is left is not heard at all."""
    kitchen = Kitchen("Hey Bagside, what is the rate?")
    kitchen.loop.run([*frames(("speech", 0.5)), None, *frames(("silence", 1.0))])
    assert kitchen.talk.ears.calls == 0  # type: ignore[attr-defined]


def test_a_full_queue_becomes_a_gap_and_goes_on() -> None:
    held = Held(most=3)
    frame = np.zeros(FRAME, dtype=np.int16)
    for _ in range(5):
        held.put(frame)
    got = [held.get(0.1) for _ in range(3)]
    held.put(frame)
    assert held.lost == 2 and all(g is not None for g in got)
    assert held.get(0.1) is None and held.get(0.1) is not None


def test_ten_minutes_of_noise_say_nothing_and_leave_it_listening() -> None:
    kitchen = Kitchen(*[""] * 1000)
    dice = np.random.default_rng(1)
    for _ in range(int(600 * SECOND)):
        kitchen.loop.frame(dice.integers(-3000, 3000, FRAME).astype(np.int16))
    kitchen.loop.run(frames(("silence", 2.0)))
    assert kitchen.said == []
    kitchen.talk.ears.waiting = ["Hey Bagside, what is the rate?"]  # type: ignore[attr-defined]
    kitchen.says()
    assert len(kitchen.said) == 1


class Comes:
    """A microphone that is pulled out after its first stretch and comes back."""

    def __init__(self, *stretches: list[Frame] | None) -> None:
        self.stretches = list(stretches)

    def frames(self) -> Iterator[Frame | None]:
        stretch = self.stretches.pop(0)
        if stretch is None:
            raise Missing("microphone")
        yield from stretch
        if self.stretches:
            raise Missing("microphone")


def test_a_microphone_that_goes_is_tried_again() -> None:
    kitchen = Kitchen("Hey Bagside, what is the rate?")
    source = Comes(list(frames(("silence", 0.5))), None, list(frames(*an_utterance())))
    listen(kitchen.loop, source, lambda: "", tries_every_s=0)
    kitchen.talker.wait()
    assert len(kitchen.said) == 1


def test_a_microphone_that_was_never_there_is_said_in_one_line() -> None:
    with pytest.raises(Missing, match="--wav"):
        listen(Kitchen().loop, Comes(None), lambda: "")


def test_a_loudspeaker_that_is_missing_does_not_end_it() -> None:
    kitchen = Kitchen("Hey Bagside, what is the rate?", "Hey Bagside, what is the rate?")

    def gone(_: Any) -> None:
        raise Missing("speaker")

    kitchen.speaker.play = gone  # type: ignore[method-assign]
    kitchen.says(2)
    assert len(kitchen.said) == 2 and [what for what, _ in kitchen.shown].count("fault") == 2
