"""An entry of the log put right: "that was wrong, 40 not 50", "make it half eleven", "amend the flush to 00:20"."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.turns import LOG_TALK, Question, pattern
from assistant.message import Amount, Heard, Reading
from assistant.night import Night
from assistant.numbers.said import Said, Spoken, said
from assistant.numbers.wants import Used
from assistant.told.act_times import KIND as ACTS
from assistant.told.acts import acts_told
from assistant.told.acts_numbers import LAST_HOUR, clock_of
from rules.feed_state import Event
from rules.quantity import is_amount

KIND = {
    "log_start": "feed_started",
    "log_pause": "paused",
    "log_resume": "resumed",
    "log_stop": "stopped",
    "log_flush": "flushed",
    "log_poured": "poured",
    "log_symptom": "symptom",
    "log_rate": "rate_changed",
    "log_set": "set_changed",
    "log_medicine": "medicine_given",
}
INTENT = {kind: intent for intent, kind in KIND.items()} | {"vomited": "log_symptom", "given": "log_stop"}
AKIN = {"symptom": "vomited", "stopped": "paused", "paused": "stopped"}
TIMED = ("log_start", "log_pause", "log_resume", "log_stop")  # a bare number beside one of these is an hour
MEANT = 0.9  # a number whose noise is above this was taken back
IT_WAS = re.compile(r"\b(?:it was|was|at|started|it's|its|make it)(?: (?:at|nearer|about|really|actually))*$")
HALF_A_DAY, NEAR = 720, 90  # minutes; a time this near is the same start, put right
SAID_AGAIN = {"feed_started": "started at", "paused": "paused at", "resumed": "back on at", "stopped": "stopped at"}
IF = re.compile(r"\b(?:if|what|when|how|would|could)\b")
TAKEN_BACK = re.compile(r"\b(?:no|not|wasn't|wasnt|sorry|wait|actually|instead|rather|i mean|oops)\b")
AMENDS = re.compile(r"^(?:please |can you |ok )*(?:amend|correct|edit|fix)\b")
NAMED = {  # the entry by its noun, where no act is told: "amend the flush time"
    "log_flush": r"flush|rins|water\b",
    "log_poured": r"pour|fill|top(?:ped)?[- ]up",
    "log_start": r"start",
    "log_resume": r"(?:off|stopped|paused) (?:\w+ )?(?:till?|until)\b|restart",
    "log_pause": r"pause|break|stop(?:page)?\b",
    "log_symptom": r"sick|vomit|threw up|puke",
    "log_rate": r"\brate\b|\bspeed\b",
    "log_medicine": r"meds?\b|medicines?\b|medication|tablets?\b",
    "log_set": r"(?:new |fresh )?(?:set|line|tubing)\b",
}


def put_right(text: str, heard: Heard, talk: Talk, logged: tuple[str, ...]) -> Question | None:
    """The entry that a message puts right; None where it does not, or where it says neither entry nor value.

    `logged`: the kinds of the log's entries, in order. After a sum, only an act told again puts an entry right.
    """
    if not heard.amounts or "?" in text or pattern("asks_first").search(text) or str(talk.code).startswith("slip_"):
        return None
    plainly = any(pattern(name).search(text) for name in ("it_was_then", "puts_right", "of_an_entry"))
    takes_back = pattern("correction").match(text)
    if not plainly and not takes_back:
        return None
    if takes_back and (start := _start_just_told(text, heard, talk)) is not None:
        return start
    by_noun = talk.question not in gather.names() or bool(AMENDS.match(text.lower()))
    intent = _named(text, said(heard), nouns=by_noun)
    if intent is None and pattern("of_an_entry").search(text) and logged:
        intent = INTENT[logged[-1]]  # "that second one was 160"
    clocks = [s for s in said(heard).spoken if s.reading("clock")]
    if intent is None and logged and len(clocks) == len(heard.amounts) == 1 and pattern("it_was_then").match(text):
        of_a_sum = any(used.origin == "question" for used in talk.slots.values())
        intent = None if of_a_sum else INTENT[logged[-1]]  # "it was five past ten actually"
    if intent is not None and not ({KIND[intent], AKIN.get(KIND[intent])} & set(logged)):
        return None
    if intent is None and talk.question not in LOG_TALK:
        return None
    intent = intent or str(talk.question)  # "no, half nine"
    timed = any(s.reading("clock") or (intent in TIMED and _may_be_an_hour(s))
                for s in said(heard).spoken if s.roles.get("noise", 0.0) <= MEANT)
    favours = "start" if timed else "rate" if intent == "log_rate" else "volume"
    return Question(intent, carried={"corrects": Used(True, "question")}, favours=favours, follows=True)


def time_just_told(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "Wait, it was half 8 not 8", "was it 4... no, half 4": the time of what was just written, also after a sum."""
    entries = [entry["new"] for entry in talk.wrote[-1]["entries"] if entry.get("new")] if talk.wrote else []
    times = {_minutes(datetime.fromisoformat(entry["at"])): entry["kind"] for entry in entries}
    told_again = {int(r.value) % HALF_A_DAY for a in heard.amounts if (r := _hour(a)) is not None}
    written = {at for at in times if at % HALF_A_DAY in told_again and times[at] in SAID_AGAIN}
    new = told_again - {at % HALF_A_DAY for at in times}
    if not written or len(new) != 1 or not TAKEN_BACK.search(text.lower()) or IF.search(text.lower()):
        return None
    hour = new.pop()
    at = min(written, key=lambda one: _apart(one, hour))
    if _apart(at, hour) > NEAR:
        return None
    kind = times[at]
    first = f"{SAID_AGAIN[kind]} {hour // 60 or 12}:{hour % 60:02}"
    corrects = {"corrects": Used(True, "question")}
    return Question(INTENT[kind], carried=corrects, favours="start", follows=True, counts=first)


def _minutes(at: datetime) -> int:
    return at.hour * 60 + at.minute


def _apart(one: int, other: int) -> int:
    """Minutes between two times of day, whichever half of the day they are of."""
    return min((one - other) % HALF_A_DAY, (other - one) % HALF_A_DAY)


def _hour(amount: Amount) -> Reading | None:
    """A time of day; a bare number up to twelve is an hour."""
    clock = next((r for r in amount.readings if r.kind == "clock"), None)
    first = amount.readings[0]
    if clock is None and first.kind == "number" and 1 <= first.value <= LAST_HOUR and first.value == int(first.value):
        return Reading("clock", int(first.value) * 60, "12h")
    return clock


def _start_just_told(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "Wait no, it was 10:45, I was on the phone at half past", after a sum by the log: the start told before."""
    told_of = talk.wrote[-1]["entries"][-1]["new"] if talk.wrote else None
    by_log = any(used["from"] == "feed log" for used in (talk.answer or {}).get("used", {}).values())
    words = said(heard)
    clock = clock_of(words.spoken[0], words) if words.spoken else None
    if told_of is None or told_of["kind"] != "feed_started" or not by_log or clock is None:
        return None
    if not IT_WAS.search(" ".join(heard.tokens[: heard.amounts[0].start])):
        return None
    at = datetime.fromisoformat(told_of["at"])
    if _apart(int(clock.value), _minutes(at)) > NEAR:
        return None
    first = f"started at {int(clock.value) // 60}:{int(clock.value) % 60:02}"
    corrects = {"corrects": Used(True, "question")}
    return Question("log_start", carried=corrects, favours="start", follows=True, counts=first)


def _may_be_an_hour(spoken: Spoken) -> bool:
    number = spoken.reading("number")
    return number is not None and 1 <= number.value <= LAST_HOUR


def _named(text: str, told: Said, nouns: bool) -> str | None:
    named = (intent for intent, noun in NAMED.items() if re.search(rf"\b(?:{noun})", text.lower()))
    by_noun = next(named, None) if nouns else None
    acts = acts_told(told)
    pause = acts[0] if len(acts) == 1 and acts[0].what in ("off", "pause") and acts[0].clock is None else None
    if pause is not None and (pause.until or pause.lasted):
        return "log_resume"  # "sorry, it was off until ten past", "actually it was off twenty minutes"
    if len(acts) == 1 and acts[0].what == "on" and ON_AGAIN.search(told.lower):
        return "log_resume"  # "it was back on at ten past, not one": never the feed's start
    if len(acts) == 1 and by_noun != "log_resume":
        return INTENT[ACTS.get(acts[0].what, "paused" if acts[0].what == "off" else "feed_started")]
    return by_noun


ON_AGAIN = re.compile(r"\b(?:back on|(?:on|going|running) again|back (?:up|going|running))\b")
ORDINAL = {"first": 0, "second": 1, "third": 2, "last": -1, "latest": -1}


def entry_meant(night: Night, kind: str, told: Said) -> Event | None:
    """The entry that a correction means: the one that holds what it takes back ("not 50"), else the one of that place
    in the log ("the second one"), else the last of its kind. A stop that was logged as a pause is one too.
    """
    mine = [e for e in night.events if e.kind == kind] or [e for e in night.events if e.kind == AKIN.get(kind)]
    mine = [e for e in mine if e.feed and re.search(rf"\b{re.escape(e.feed)}\b", told.lower)] or mine  # "lunch was 160"
    taken_back = [s for s in told.spoken if s.roles.get("noise", 0.0) > MEANT]
    for event in reversed(mine):
        if any(_holds(event, reading) for s in taken_back for reading in s.amount.readings):
            return event
    place = next((at for word, at in ORDINAL.items() if re.search(rf"\b{word}\b", told.lower)), -1)
    return mine[place] if mine and place < len(mine) else None


def _holds(event: Event, reading: Any) -> bool:
    if reading.kind == "clock":
        return bool((event.at.hour * 60 + event.at.minute - int(reading.value)) % 720 == 0)
    return is_amount(event.volume) and event.volume is not None and event.volume.magnitude == reading.value
