"""Numbers by ear: nothing in doubt reaches the answer or the log; danger is heard first."""

from __future__ import annotations

from typing import Any

import pytest
from voice_parts import NONE, NOW, both, ears_differ, talking

from assistant.voice.conversation import Conversation, Heard
from assistant.voice.ears import Spoken


def turns(talk: Conversation, count: int) -> list[Heard]:
    return [talk.hear(NONE, NOW) for _ in range(count)]


def record(heard: Heard) -> dict[str, Any]:
    assert heard.record is not None
    return heard.record


def test_a_number_that_both_ears_have_is_answered_at_once() -> None:
    """400 mL at 65 mL/h: 400 / 65 = 6.1538 h."""
    (heard,) = turns(talking(ears_differ("How long will 400 mL last at 65 an hour?",
                                         "how long will four hundred millilitres last at sixty five an hour")), 1)
    assert record(heard)["figures"]["duration"]["value"] == pytest.approx(400 / 65)


def test_numbers_that_differ_are_read_back_digit_by_digit() -> None:
    talk = talking(ears_differ("How long will 400 mL last at 65?", "no long fill for a last six", -0.2), "Yes.")
    asked, answered = turns(talk, 2)
    assert record(asked)["outcome"] == "asked_back" and record(asked)["figures"] == {}
    assert "four zero zero" in record(asked)["speech"] and "six five" in record(asked)["speech"]
    assert answered.confirmed and record(answered)["figures"]["duration"]["value"] == pytest.approx(400 / 65)


@pytest.mark.parametrize(("said", "few"), [("Yes. Yes.", ""), ("Yes, let's try it.", "yes that's right"),
                                           ("That's all right.", "that's right"), ("Yes, that's right.", "")])
def test_a_yes_of_which_a_part_is_lost_is_one_where_the_other_ear_has_the_whole(said: str, few: str) -> None:
    talk = talking(ears_differ("How long will 400 mL last at 65?", "", -0.2), said, few=few)
    assert turns(talk, 2)[1].confirmed


@pytest.mark.parametrize(("said", "few"), [("Nice.", "yes"), ("Yes, let's try it.", ""), ("Not right.", "that's right"),
                                           ("Yes, 45.", "yes"), ("That isn't right.", "that's right"),
                                           ("Right.", "no")])
def test_a_yes_that_only_one_ear_has_a_part_of_confirms_nothing(said: str, few: str) -> None:
    talk = talking(ears_differ("How long will 400 mL last at 65?", "", -0.2), said, few=few)
    heard = turns(talk, 2)[1]
    assert not heard.confirmed and record(heard)["figures"] == {}


def test_after_a_no_nothing_is_computed() -> None:
    talk = talking(ears_differ("How long will 400 mL last at 65?", "", -0.2), "No.", "thank you")
    _, refused, after = turns(talk, 3)
    assert record(refused)["outcome"] == "asked_back" and talk.pending is None
    assert record(after)["figures"] == {}


@pytest.mark.parametrize(("said", "figure"), [("5 0", 50), ("five zero", 50), ("one five", 15)])
def test_fifteen_and_fifty_are_always_asked_about(said: str, figure: int) -> None:
    """Agreed by both ears, and still in doubt. 300 mL at 50 is 6 h, at 15 it is 20 h."""
    digits = {50: "five zero", 15: "one five"}[figure]
    talk = talking(both("how long will 300 mL last at 50 an hour"), said, few=digits)
    asked, answered = turns(talk, 2)
    assert record(asked)["asks"] == "which_number" and record(asked)["figures"] == {}
    assert "five zero" in record(asked)["speech"] and "one five" in record(asked)["speech"]
    used = record(answered)["used"]["rate"]["value"]
    assert answered.confirmed and used == figure


@pytest.mark.parametrize(("said", "few"), [("fifty", "fifty"), ("fifteen", ""), ("50", ""), ("one five", "five zero"),
                                           ("yes", "yes"), ("maybe", "")])
def test_a_reply_that_is_in_doubt_itself_is_asked_again(said: str, few: str) -> None:
    talk = talking(both("how long will 300 mL last at 50 an hour"), said, few=few)
    _, again = turns(talk, 2)
    assert record(again)["asks"] == "which_number" and record(again)["figures"] == {} and talk.pending is not None


def test_where_both_ears_have_a_sentence_both_are_offered() -> None:
    talk = talking(ears_differ("What rate gives 456 hours?", "what rate gives four hundred and fifty in six hours"),
                   "the second", few="the second")
    asked, answered = turns(talk, 2)
    assert "four five six" in record(asked)["speech"] and "four five zero" in record(asked)["speech"]
    assert record(answered)["figures"]["rate"]["value"] == 75  # 450 mL / 6 h


def test_another_reading_of_the_first_ear_is_offered_where_the_second_has_nothing() -> None:
    """180 mL at 90 mL/h: 2 h. The likelier reading is not the one that was said; neither is answered unasked."""
    spoken = Spoken("There is 110 left in the bag at 90 an hour.", "there's a lump of it", -0.3,
                    others=("There is 110 left in the bag at 90 in hour.",
                                                          "There is 180 left in the bag at 90 an hour."))
    talk = talking(spoken, "The second.", few="the second")
    asked, answered = turns(talk, 2)
    assert record(asked)["figures"] == {} and "one one zero" in record(asked)["speech"]
    assert "one eight zero left" in record(asked)["speech"] and "nine zero an hour" in record(asked)["speech"]
    assert answered.confirmed and record(answered)["figures"]["duration"]["value"] == 2


def test_other_readings_change_nothing_that_both_ears_agree_on() -> None:
    spoken = Spoken("how long will 400 mL last at 65", "how long will four hundred mils last at sixty five", -0.1,
                    others=("how long will 500 mL last at 65",))
    assert record(turns(talking(spoken), 1)[0])["figures"]["duration"]["value"] == pytest.approx(400 / 65)


def test_a_lone_teen_is_asked_about_with_its_sentence_where_the_second_ear_has_nothing() -> None:
    talk = talking(ears_differ("flushed with 30 mL", "flash the mill", -0.3), "one three", few="one three")
    asked, answered = turns(talk, 2)
    assert "flushed with thirty" in record(asked)["speech"] and "one three" in record(asked)["speech"]
    assert answered.confirmed and answered.words == "flushed with 13 mL"


def test_a_teen_beside_another_doubtful_number_is_read_back_with_it() -> None:
    (heard,) = turns(talking(ears_differ("How long will 300 mL last at 50?", "how long", -0.3)), 1)
    assert "three zero zero" in record(heard)["speech"] and record(heard)["asks"] == "heard_right"


def test_a_number_that_both_ears_lost_writes_nothing_down() -> None:
    talk = talking(ears_differ("Stop the pump at water past you.", "start the bump what a bass", -0.3))
    (heard,) = turns(talk, 1)
    assert record(heard)["outcome"] == "asked_back" and talk.session.events == ()


def test_a_stock_that_both_ears_lost_is_not_counted_from_the_plan() -> None:
    talk = talking(ears_differ("I have mind in parking's left, when do I run out?", "i didn't and left to go", -0.3))
    (heard,) = turns(talk, 1)
    assert record(heard)["outcome"] == "asked_back" and record(heard)["figures"] == {}


def test_a_question_without_a_number_that_both_ears_have_is_answered() -> None:
    (heard,) = turns(talking(ears_differ("When was the last flush at night?", "when was the last flush at night")), 1)
    assert record(heard)["outcome"] != "asked_back"


def test_a_unit_that_the_ears_hear_apart_is_asked_about() -> None:
    second = "how long will one point five like cheers last at one hundred and twenty five"
    (heard,) = turns(talking(ears_differ("How long will 1.5 lectures last at 125?", second)), 1)
    assert record(heard)["outcome"] == "asked_back" and record(heard)["figures"] == {}


@pytest.mark.parametrize("first", ["How long will the bag last?", "How long will it last?"])
def test_a_number_that_only_the_second_ear_has_is_not_dropped(first: str) -> None:
    (heard,) = turns(talking(ears_differ(first, "how long will the bag last at sixty two")), 1)
    assert record(heard)["outcome"] == "asked_back" and record(heard)["figures"] == {}
    assert "First: ." not in record(heard)["speech"]


def test_one_ear_alone_never_decides_on_a_number() -> None:
    (heard,) = turns(talking(Spoken("how long will 400 mL last at 65", "", 0.0, alone=True)), 1)
    assert record(heard)["outcome"] == "asked_back" and record(heard)["figures"] == {}


def test_what_is_in_doubt_is_not_written_down() -> None:
    talk = talking(ears_differ("flushed with 30 mL just now", "flushed with thirty mils just now"), "No.")
    turns(talk, 2)
    assert talk.session.events == ()


def test_a_danger_is_answered_whatever_its_numbers() -> None:
    talk = talking(ears_differ("she is choking and the pump is at 50", "he is joking at fifteen", -0.9))
    (heard,) = turns(talk, 1)
    assert record(heard)["level"] == "emergency" and record(heard)["outcome"] == "answered"


def test_a_danger_comes_before_the_question_that_waits() -> None:
    talk = talking(both("how long will 300 mL last at 50 an hour"), "her lips are turning blew")
    _, danger = turns(talk, 2)
    from assistant.voice.mended import mended

    assert mended("turning blew") == "turning blue"
    assert record(danger)["level"] == "emergency" and talk.pending is None


def test_a_danger_that_only_the_second_ear_has_is_asked_about_with_whom_to_call() -> None:
    talk = talking(ears_differ("She's not reading.", "she is not breathing", -0.9), "Yes.")
    asked, answered = turns(talk, 2)
    assert record(asked)["level"] == "urgent" and record(asked)["outcome"] == "asked_back"
    assert "911" in record(asked)["speech"] and "911" in record(asked)["text"]
    assert record(answered)["level"] == "emergency"


def test_a_danger_that_is_only_suspected_in_a_guess_is_asked_about() -> None:
    words = "1314 mL left when is it gone half her smile went missing"
    certain = turns(talking(ears_differ(words, "", -0.1)), 1)[0]
    guessed = turns(talking(ears_differ(words, "", -0.7)), 1)[0]
    assert record(certain)["intent"] == "caution" and record(certain)["outcome"] == "answered"
    assert record(guessed)["outcome"] == "asked_back" and record(guessed)["level"] == "urgent"


@pytest.mark.parametrize(("words", "control"), [("Slower.", "slower"), ("Speak up.", "louder"), ("softer", "quieter")])
def test_the_voice_is_spoken_to(words: str, control: str) -> None:
    (heard,) = turns(talking(words), 1)
    assert heard.control == control and record(heard)["outcome"] in ("done", "answered")


def test_no_words_are_no_question() -> None:
    assert turns(talking(""), 1)[0].record is None


def test_a_walk_through_goes_by_voice() -> None:
    talk = talking("walk me through a flush", "next", "back", "repeat", "how much again", "stop")
    first, second, back, again, much, stopped = turns(talk, 6)
    assert record(first)["intent"] == "guide" and record(second)["intent"] == "next_step"
    assert record(back)["intent"] == "previous_step" and record(again)["speech"] == record(back)["speech"]
    assert record(much)["outcome"] == "answered"
    assert record(stopped)["intent"] == "stop" and talk.session.talk(NOW).guide is None
