"""Reminders in talk: is one moved, listed or taken back, and which of those set is meant? (turns_en.toml)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import cache

from assistant.clauses.own_words import own_words
from assistant.dialogue import Talk
from assistant.follow.turns import SHORT, Question, pattern
from assistant.hear.clock import resolve
from assistant.message import Heard, Reading
from assistant.night import Night
from assistant.numbers.said import Said
from assistant.numbers.wants import measure
from knowledge.library import table
from rules.clock import earlier, later

Reminder = dict[str, str]
OURS = ("remind", "cancel_reminder")
LIST = "reminders"  # what a look-up of the log favours, where the reminders are meant
WHICH = "which_reminder"
MOVE = "moved_to"  # what a remind order favours, where one that is set is to be put at another time
LAST_HOUR = 12
REACH = {"12h": timedelta(hours=6), "24h": timedelta(hours=12), "hand": timedelta(minutes=30)}  # half a round of each


def about_reminders(text: str, heard: Heard, talk: Talk) -> Question | None:
    """A turn about a reminder: the last turn was about one, or the word itself stands in the message."""
    asks = bool(pattern("asks_anew").search(text))
    if talk.asks == WHICH and not asks:
        return Question(str(talk.question), carried=talk.slots, favours=WHICH, follows=True)
    if pattern("sets_one").search(text) and not pattern("call_off").search(text):
        moves = _just_spoken_of(talk) and "instead" in heard.tokens
        return Question("remind", favours=MOVE if moves else None)
    if pattern("leaves_off").match(text):
        return Question("cancel_reminder")
    named = bool(pattern("reminder_named").search(text))
    kinds = {a.readings[0].kind for a in heard.amounts}
    if kinds & {"clock", "time"} and pattern("sets_a_timer").match(text) and not pattern("call_off").search(text):
        return Question("remind")
    ours = named or _just_spoken_of(talk) or pattern("rings_me").search(text)
    just_set = (talk.last or {}).get("intent") == "remind" and talk.asks is None and pattern("rings_then").match(text)
    if not heard.amounts and (just_set or (ours and pattern("rings_when").search(text))):
        return Question("log_lookup", favours=LIST)
    if not named and (not _just_spoken_of(talk) or _of_other_numbers(heard)):
        return None
    if not asks and kinds & {"clock", "time", "number"} and pattern("reminder_moved").search(text):
        return Question("remind", favours=MOVE)
    an_event = pattern("reminds_end").search(text) and len(heard.tokens) <= SHORT
    timed = bool(kinds & {"clock", "time"}) or any(_hour(a.readings[0]) for a in heard.amounts)  # "n another 7"
    if not named and not asks and (timed or an_event) and pattern("another").match(text):
        return Question("remind")
    if not asks and pattern("call_off").search(text) and (named or not pattern("of_the_kit").search(text)):
        return Question("cancel_reminder")
    if not asks and kinds & {"clock", "time", "number"} and _only_of_a_time(text, heard):
        return Question("remind", favours=MOVE)
    lists = pattern("reminders_listed" if named else "what_is_set").search(text) or (
        (talk.last or {}).get("intent") != "remind" and pattern("what_is_left").search(text)
    )
    return Question("log_lookup", favours=LIST) if lists and kinds <= {"day", "date"} else None


def _just_spoken_of(talk: Talk) -> bool:
    """Was the last turn about a reminder? Only then may a bare "it" or "which ones" mean one."""
    last = talk.last or {}
    between = last.get("intent") in ("log_lookup", "unclear", "out_of_scope", "thanks", "greet")  # no other matter
    return last.get("intent") in OURS or (between and talk.question in OURS)


def _of_other_numbers(heard: Heard) -> bool:
    """ "Drop it to 60": a number that is no time speaks of something else than a reminder."""
    first = [a.readings[0] for a in heard.amounts]
    return any(
        r.kind not in ("clock", "time", "day", "date", "number") or (r.kind == "number" and r.value > LAST_HOUR)
        for r in first
    )


RATHER = re.compile(r"\b(?:rather|i mean|i meant|make it|better)\W*$", re.IGNORECASE)


def _only_of_a_time(text: str, heard: Heard) -> bool:
    """A step ("ten minutes earlier") or a time put right ("no, half past"), and no other words."""
    if set(own_words(heard)) - _words("of_a_time") - {"rather", "better"}:
        return False
    return bool(pattern("step_earlier").search(text) or pattern("step_later").search(text)
                or pattern("correction").match(text) or RATHER.search(text))


@cache
def _words(*names: str) -> frozenset[str]:
    return frozenset(word for name in names for word in table("turns_en")["words"][name].split())


def moved_to(old: datetime, said: Said, night: Night) -> datetime | None:
    """The new time of a reminder; None where it is not told, or may lie in either direction ("move it ten minutes")."""
    length = next((r for s in said.spoken if (r := s.reading("time")) is not None), None)
    if length is not None:
        step = measure("time", length, night)
        if pattern("step_earlier").search(said.lower):
            return earlier(old, step)
        return later(old, step) if pattern("step_later").search(said.lower) else None
    times = [(s, s.reading("clock") or _hour(s.reading("number"))) for s in said.spoken]
    told = [(s, r) for s, r in times if r is not None]
    new = next((r for s, r in reversed(told) if s.before.endswith("to")), told[-1][1] if told else None)
    if new is None:
        return None
    days = {str(s.amount.readings[0].value) for s in said.spoken if s.amount.readings[0].kind in ("day", "date")}
    since = max(night.now, old - REACH[new.unit])
    return resolve(new, night.now if days else since, "future", days.pop() if len(days) == 1 else None)[0]


def _hour(bare: Reading | None) -> Reading | None:
    if bare is None or bare.kind != "number" or not 1 <= bare.value <= LAST_HOUR or bare.value != int(bare.value):
        return None
    return Reading("clock", int(bare.value) * 60, "12h")


def meant(night: Night, said: Said, talk: Talk, *, moving: bool = False) -> Sequence[Reminder]:
    """The reminders that the words mean: one, or all where they say all. Several otherwise: it is to be asked which."""
    every = sorted(night.reminders, key=lambda r: r["due"])
    text = said.lower
    if not moving and pattern("all_of_them").search(text):
        return every
    if (place := _by_place(text, every, talk)) is not None:
        return place
    timed = [r for r in every if _at_its_time(r, said)]
    old_time_told = not moving or sum(s.reading("clock") is not None for s in said.spoken) > 1
    if len(timed) == 1 and old_time_told:
        return timed
    words = set(text.replace("'", " ").split()) - _small()
    named = [r for r in every if words & (set(r["what"].lower().split()) - _small())]
    if len(named) == 1:
        return named
    strange = _names_another(text) and not named
    if len(every) == 1:
        other_time = not moving and any(s.reading("clock") is not None for s in said.spoken) and not timed
        return () if strange or other_time else every
    just = None if pattern("any_of_them").search(text) else _just_set(every, talk)
    return [just] if just is not None and not named and not strange else named or every


def _by_place(text: str, every: Sequence[Reminder], talk: Talk) -> Sequence[Reminder] | None:
    """ "The first one", "the later one": by the time at which they ring."""
    if len(every) < 2:
        return None
    if pattern("the_first").search(text):
        return every[:1]
    if pattern("the_second").search(text):
        return every[1:2]
    just = _just_set(every, talk)
    if pattern("the_last").search(text):
        unsure = just is not None and just is not every[-1] and "last" in text  # set last, or ringing last?
        return every if unsure else every[-1:]
    return None


def _at_its_time(reminder: Reminder, said: Said) -> bool:
    due = datetime.fromisoformat(reminder["due"])
    for spoken in said.spoken:
        reading = spoken.reading("clock") or _hour(spoken.reading("number"))
        if reading is not None and reading.unit != "hand":
            apart = int(reading.value) - due.hour * 60 - due.minute
            if apart % (1440 if reading.unit == "24h" else 720) == 0:
                return True
    return False


def _names_another(text: str) -> bool:
    """Is one named by what it is for ("the bath one")?"""
    found = pattern("reminder_for").search(text)
    return found is not None and bool({g for g in found.groups() if g} - _small())


def _small() -> frozenset[str]:
    return _words("filler", "of_a_time", "of_a_reminder")


def _just_set(every: Sequence[Reminder], talk: Talk) -> Reminder | None:
    """The reminder that the last turn set or moved."""
    if (talk.last or {}).get("intent") != "remind" or "set" not in talk.slots:
        return None
    at = talk.slots["set"].value
    return next((r for r in every if datetime.fromisoformat(r["due"]) == at), None)
