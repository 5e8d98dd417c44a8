"""Do the words bear out what is likeliest, where acting on it would do harm if they do not?"""

from __future__ import annotations

import re

from assistant.clauses.own_words import own_words
from assistant.follow.turns import LOG_TALK, pattern
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.told.acts import act_named, on_a_thing

ASKED = re.compile(r"(?:and |so |but |then )*(?:is|was|are|were|has|does|did)\b", re.IGNORECASE)


def bears_out(intent: str, text: str, heard: Heard) -> bool:
    """Do the words bear out what is likeliest (an intent, or a card), where acting on it would do harm if not?"""
    if intent == "missed_flush":
        return bool(pattern("of_missing").search(text))  # "paracetamol 0100, water after, 20" tells what was given
    if intent == "stop":
        return not ASKED.match(text)  # "was that enough?" breaks nothing off
    kinds = {a.readings[0].kind for a in heard.amounts}
    if intent == "rate_needed" and "other" in kinds and not kinds & {"volume", "number", "share"}:
        return False  # a speed of something else: "180 miles in 4 hours"
    if intent == "convert" and not own_words(heard):
        return False  # "300 mL", and no more
    if intent == "syringe":
        return bool(pattern("by_syringe").search(text)) or bool(kinds & {"volume", "count"})  # no fills of a bag
    if intent == "cancel_reminder":
        return bool(pattern("calls_off").search(text))
    return intent not in LOG_TALK or _tells(intent, text, heard)


def _tells(entry: str, text: str, heard: Heard) -> bool:
    """Does the message tell what was done? A question, a bare number, a pour without a word for it write nothing."""
    asked = any(pattern(name).search(text) for name in ("asks_first", "asks_what", "asks_of_a_sum"))
    plainly_on = entry == "log_start" and pattern("tells_on").search(text)
    if entry == "log_start" and on_a_thing(text) and act_named(said(heard)) is None:
        return False  # "he's on the sofa now"
    if not heard.amounts and pattern("since_then").search(text):
        return False  # "quiet since the feed started" tells how somebody is, not a start
    if asked or (heard.amounts and not own_words(heard) and not plainly_on):
        return False
    words = {"log_poured": "poured", "log_stop": "tells_log_stop", "log_flush": "tells_log_flush"}.get(entry)
    return words is None or bool(pattern(words).search(text))
