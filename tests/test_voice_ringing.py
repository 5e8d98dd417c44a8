"""Reminders by voice: said between utterances when they are due, by a clock that the test sets."""

from __future__ import annotations

from datetime import time, timedelta
from typing import Any

import pytest
from voice_parts import NOW, Kitchen, an_utterance, frames

from assistant.voice.loop import FOLLOW_UP, SECOND
from assistant.voice.missing import Missing
from assistant.voice.mouth import Manner
from assistant.voice.ringing import cannot_wait

NIGHT = Manner(quiet=(time(21), time(7)))  # NOW is 22:10


def reminded(what: str, *heard: Any, minutes: int = 20, hold: bool = False) -> Kitchen:
    """A kitchen in which a reminder was set `minutes` ahead, quiet since."""
    kitchen = Kitchen(*heard, hold=hold)
    kitchen.talk.session.say(f"remind me in {minutes} minutes to {what}", NOW)
    assert len(kitchen.talk.session.reminders) == 1
    return kitchen


def after(kitchen: Kitchen, minutes: int, seconds: float = 3.0) -> list[str]:
    """What is said in the `seconds` that begin so many minutes later."""
    kitchen.now = NOW + timedelta(minutes=minutes)
    before = len(kitchen.said)
    for _ in range(int(seconds)):
        kitchen.loop.run(frames(("silence", 1.1)))
        kitchen.talker.wait()
    return kitchen.said[before:]


def test_a_reminder_is_said_once_when_it_is_due() -> None:
    """Set at 22:10 for twenty minutes later."""
    kitchen = reminded("change the nappy")
    assert after(kitchen, 19) == []
    (said,) = after(kitchen, 20)
    assert "change the nappy" in said and "ten thirty" in said
    assert after(kitchen, 21) == [] and kitchen.talk.session.reminders == ()
    assert [what for what, _ in kitchen.shown] == ["due"]


def test_it_waits_until_who_speaks_has_ended() -> None:
    kitchen = reminded("change the nappy", "they walked back side by side")
    kitchen.now = NOW + timedelta(minutes=20)
    kitchen.loop.run(frames(("speech", 4.0)))
    assert kitchen.said == []
    kitchen.loop.run(frames(("silence", 3.0)))
    kitchen.talker.wait()
    assert len(kitchen.said) == 1


def test_in_the_quiet_hours_it_waits_for_the_morning() -> None:
    kitchen = reminded("order new syringes")
    kitchen.loop.manner = NIGHT
    assert after(kitchen, 20) == [] and [what for what, _ in kitchen.shown] == ["due"]
    (said,) = after(kitchen, 9 * 60)
    assert "order new syringes" in said


@pytest.mark.parametrize("what", ["throw the milk away", "stop the feed", "take the bag down",
                                  "check that the feed has ended"])
def test_what_the_feed_cannot_wait_with_is_said_in_the_quiet_hours(what: str) -> None:
    kitchen = reminded(what)
    kitchen.loop.manner = NIGHT
    assert len(after(kitchen, 20)) == 1


def test_one_by_the_log_about_the_discard_is_said_in_the_quiet_hours() -> None:
    from knowledge.library import table

    lines = table("sentences_en")["log"]
    assert cannot_wait(lines["reminder_discard"]) and cannot_wait(lines["reminder_end"])
    assert not cannot_wait(lines["reminder_flush"]) and not cannot_wait(lines["reminder_what"])


def test_a_question_that_waits_is_replied_to_first_and_then_let_go() -> None:
    """A "yes" to the reminder must not be taken for a yes to the number."""
    kitchen = reminded("change the nappy", "Hey Bagside, how long will 300 mL last at 50", minutes=1)
    kitchen.says()
    assert kitchen.talk.pending is not None
    assert after(kitchen, 2) == []
    said = after(kitchen, 2, FOLLOW_UP / SECOND + 3)
    assert len(said) == 1 and "nappy" in said[0] and kitchen.talk.pending is None


def test_without_a_loudspeaker_it_stays_due_and_is_shown() -> None:
    kitchen = reminded("change the nappy")
    plays = kitchen.speaker.play

    def gone(_: Any) -> None:
        raise Missing("speaker")

    kitchen.speaker.play = gone  # type: ignore[method-assign]
    after(kitchen, 20)
    assert len(kitchen.talk.session.reminders) == 1 and [what for what, _ in kitchen.shown].count("due") == 1
    assert [what for what, _ in kitchen.shown].count("fault") == 1  # tried once a minute
    kitchen.speaker.play = plays  # type: ignore[method-assign]
    after(kitchen, 21)
    assert kitchen.talk.session.reminders == ()


def test_while_the_microphone_is_gone_reminders_go_on() -> None:
    kitchen = reminded("change the nappy")
    kitchen.now = NOW + timedelta(minutes=20)
    kitchen.loop.run([None])
    kitchen.talker.wait()
    assert len(kitchen.said) == 1


def test_stop_ends_a_reminder_for_good() -> None:
    import time as clock

    kitchen = reminded("change the nappy", "Stop.", hold=True)
    kitchen.now = NOW + timedelta(minutes=20)
    kitchen.loop.run(frames(("silence", 1.5)))
    while not kitchen.speaker.played:
        clock.sleep(0.01)
    kitchen.loop.run(frames(*an_utterance()))
    kitchen.talker.wait()
    kitchen.loop.run(frames(("silence", 3.0)))
    assert len(kitchen.said) == 1 and kitchen.talk.session.reminders == ()
