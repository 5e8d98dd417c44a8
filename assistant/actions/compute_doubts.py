"""What keeps a sum from being done though all of it could be filled: a number still asked about, another feed, a run
that went wrong, what was told and is not in the log."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from assistant.actions import Turn
from assistant.actions.carried_over import OF_A_FEED, points_back
from assistant.clauses.feed_hours import hour_of_none
from assistant.follow.settings_talk import RAN_AT
from assistant.follow.turns import pattern
from assistant.hear import hear
from assistant.numbers.doubts import left_out
from assistant.numbers.said import HINTED, Spoken
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from assistant.wording import asking
from assistant.wording.unwritten import listed, of_the_run

NOT_WRITTEN = "told_not_written"
THAT_RUN = timedelta(hours=12)  # after it, another feed is meant


def none_claimed(turn: Turn, slots: Slots) -> None:
    """ "Say six meds, not four", after a sum: where it claims none of the numbers, it is not what was asked.

    Nor is "71, gran's wheelbarrows" after "I am not sure what 71 stands for": it must say what of the sum it is.
    """
    asked_what = turn.talk.code == "unclaimed" and str((turn.talk.last or {}).get("text"))
    if not turn.question.follows or (turn.talk.asks not in (None, "which_question") and not asked_what):
        return
    claimed = [spoken for name, spoken in slots.spoken.items() if name in slots.used]
    idle = list(left_out(slots))
    if asked_what:
        idle += [s.amount.text for name, s in slots.spoken.items() if s in claimed and _as_unsure(name, s, asked_what)]
    if idle and (asked_what or not claimed):
        raise Ask("which_number", code="unclaimed", numbers=", ".join(idle))


def open_still(turn: Turn, slots: Slots) -> None:
    """ "I am not sure what 80 stands for." "It's 400 in the bag.", "So until when?": 80 is asked about again, and not
    dropped."""
    talk, last = turn.talk, turn.talk.last or {}
    goes_on = turn.question.follows or turn.question.carried or pattern("goes_on_so").match(turn.said.lower)
    if talk.code != "unclaimed" or not goes_on or turn.question.counts == "":
        return
    asked = [a for a in hear(talk.text).amounts if _named(a.text, str(last.get("text")))]
    mine = turn.said.heard.amounts
    told = {r.value for a in mine for r in a.readings}
    if mine and not told & {r.value for a in asked for r in a.readings} and _asks(turn.said.lower):
        return  # "I have only 150 of boiled water, how much can I make": asked with numbers of its own
    if asked and len(mine) <= 1 and not any(r.value in told for a in asked for r in a.readings):
        raise Ask("which_number", code="unclaimed", numbers=", ".join([*(a.text for a in asked), *left_out(slots)]))


def planned_start(slots: Slots) -> bool:
    """Does the sum rest on the plan's own start, where none is spoken of?"""
    start = slots.used.get("start")
    of_the_plan = start is not None and start.origin == "care plan"
    return of_the_plan and not slots.said.has("tomorrow", r"usual\w*", r"normal\w*", r"plan\w*", "meant", "supposed")


def _asks(text: str) -> bool:
    """Does a message ask by its own words, and not only put another value?"""
    if pattern("what_if").match(text):
        return False
    return bool(pattern("asks_anew").search(text) or pattern("begins_to_ask").search(text) or BESIDE_IT.search(text))


BESIDE_IT = re.compile(
    r"\b(?:is (?:that|it) (?:right|enough|ok|okay|too much)|will (?:he|she|it|that)|does (?:it|that))\b"
)


def _named(number: str, text: str) -> bool:
    return re.search(rf"(?<!\S){re.escape(number)}(?![\w.:])", text) is not None


def _as_unsure(name: str, spoken: Spoken, asked: str) -> bool:
    """Is the number that was asked about said again without a unit, or a word for what it is?"""
    bare = spoken.amount.readings[0].kind == "number" and spoken.roles.get(name, 0.0) < HINTED
    return bare and _named(spoken.amount.text, asked)


def of_a_run_gone_wrong(turn: Turn, slots: Slots) -> None:
    """ "It was on 880, not 88", and then "how much went in?": never at the ordered rate; which it ran at is asked."""
    danger, state = turn.talk.danger or {}, turn.night.state
    gone_wrong = danger.get("card") == "overfeed" and "unsure" not in danger and "at" in danger
    if gone_wrong:
        told_at = datetime.fromisoformat(danger["at"])
        begun_since = state is not None and state.started is not None and state.started > told_at
        gone_wrong = not begun_since and turn.night.now - told_at < THAT_RUN
    rate = slots.used.get("rate")
    told = rate is not None and rate.origin == "question"
    if gone_wrong and turn.question.name in asking.ABOUT_NOW and not told:
        raise Ask("rate", code=RAN_AT)


def of_no_feed(slots: Slots) -> None:
    """ "The 3 o'clock feed", where the plan has none then: another feed's order is not used for it."""
    by_plan = any(slots.used[n].origin == "care plan" for n in ("volume", "rate") if n in slots.used)
    if by_plan and len(slots.night.feeds) > 1 and hour_of_none(slots.said.heard.text) is not None:
        raise Ask("which_feed", names=[feed.name for feed in slots.night.feeds])


def of_what_is_open(turn: Turn, slots: Slots) -> None:
    """ "And how many calories is that?", while it was asked how much went in: not the plan's own amount."""
    talk = turn.talk
    waits = talk.asks not in (None, "which_question", "sure") and not turn.question.follows
    waits = waits or (bool(talk.just_looked_up()) and talk.looked_up_of is None)  # of several feeds
    said = any(used.origin == "question" for used in slots.used.values())
    hung = {"total", "volume"} & {n for n, used in talk.slots.items() if used.origin == "question"}
    of_it = talk.asks == "start" and waits and hung and not said and turn.question.name in WHEN_DRY
    if of_it and not turn.night.events:
        slots.used["volume"] = next(talk.slots[n] for n in ("volume", "total") if n in hung)
        raise Ask("start")  # "she put 340 in", and "so what time does it run out": not the plan's own feed
    if waits and not said and turn.question.name in OF_A_FEED and points_back(turn.said.lower):
        raise Ask("volume", code=asking.HOW_MUCH_IN)


WHEN_DRY = ("finish_at", "bag_duration", "remaining")
FILLED = re.compile(
    r"\b(?:pour|fill|top|tipp|open|spik|mix|refill)\w*|\b(?:hung|fresh|new|another|next|put \w+ (?:in|up|on))\b",
    re.IGNORECASE,
)


def by_the_plan_alone(turn: Turn, name: str, slots: Slots) -> None:
    """Ask, where the plan would stand in for a log that is empty since what was told could not be written."""
    told = turn.talk.unwritten
    opened = slots.used.get("opened")
    if told and name == "discard_at" and opened is not None and opened.origin == "feed log" and FILLED.search(told):
        raise Ask("which_question", code=NOT_WRITTEN, told=listed(told))  # the milk may be another one
    nothing_said = not any(u.origin == "question" for u in slots.used.values())
    by_log = any(u.origin == "feed log" for u in slots.used.values())
    if by_log:  # said once, and what changes nothing in a run: the figure says that it is left out
        told = "\n".join(line for line in of_the_run(told) if line not in turn.talk.refused.split("\n"))
    if told and nothing_said and name in asking.ABOUT_NOW and (by_log or name == "catch_up" or not turn.night.events):
        raise Ask("which_question", code=NOT_WRITTEN, told=listed(told))
