"""What in the words of a message places a thing elsewhere than with the person now, by the concepts they name.

Where the weights hold the message for harmless as well, a plain rule only counts in a clause without such words.
"""

from __future__ import annotations

import re

from assistant.danger.here_and_now import pattern
from assistant.language.features import take_apart

FRAMES = frozenset({
    "long_ago", "over_now", "all_well", "asked_in_general", "told_of_others", "creature", "things_alike",
    "asked_by_others", "planned_ahead", "things_about", "elsewhere_money", "elsewhere_home", "elsewhere_knowledge",
})
TOLD_NOW = frozenset({"normally", "say", "says", "said"})  # "mum says his lips are blue": no story
OF_A_BODY = {  # words that place a thing elsewhere, but not beside these
    "clear": frozenset({"something", "leaks", "leaking", "leak", "fluid", "liquid", "drips", "dripping", "runs"}),
    "ear": frozenset({"his", "her", "my", "their"}),
}
VITAL = frozenset({  # "she has stopped breathing", "he no longer wakes": what is over there is no danger gone by
    "breathing", "breathes", "breathe", "breath", "breaths", "heart", "heartbeat", "pulse", "moving", "moves",
    "responding", "responds", "respond", "reacting", "reacts", "answering", "answers", "waking", "wakes", "rousing",
    "blinking", "swallowing", "stirring", "conscious", "awake",
})
COMPARED = frozenset({"than", "not", "isn't", "isnt"})  # "sleepier than normal", "not normal"
# furniture and rooms that are only where somebody is
PLACES = frozenset(
    {"sofa", "carpet", "car", "van", "garden", "bus", "train", "trolley", "pram", "buggy", "lift", "taxi"}
)
PLACED = frozenset({"on", "in", "by", "off"})
# "like beetroot" tells a sign
SIMILE = frozenset({"like", "as", "than", "colour", "color", "coloured", "colored", "shade"})
LIKENED = (["look", "like"], ["looks", "like"])  # asked only after a "what"


WORN = frozenset({"finger", "fingers", "fingertip", "toe", "toes", "ear", "earlobe", "sats", "sat", "oximeter"})


def frames(text: str) -> set[str]:
    """What in the words places a thing elsewhere."""
    parts = take_apart(pattern("no_comfort").sub(" ", text))
    said = parts.said
    return {
        name
        for name, start, end in parts.hits
        if name in FRAMES and said[start] not in TOLD_NOW and not (start and said[start - 1] in COMPARED)
        and not _of_the_body(said, start, end)
        and not (name == "over_now" and VITAL & set(said[max(0, start - 2) : end + 2]))
        and not (said[start] == "clip" and WORN & set(said))  # on a finger, not on a screen
        and not (name == "things_about" and (SIMILE & set(said[max(0, start - 4) : start]) or _of_a_person(text)))
        and (said[start:end] not in LIKENED or "what" in said[:start])
        and not (said[end - 1] in PLACES and PLACED & set(said[max(0, start - 2) : start]))
    }


_PERSON = re.compile(
    r"\b(?:his|her|my|our|their|baby's|mum's|mam's|mom's|dad's|hers|wee one's)(?: \w+)? (?:lips?|mouth|tongue|gums?"
    r"|face|cheeks?|skin|hands?|fingers?|fingertips|toes?|feet|foot|nails?|legs?|arms?|chest|belly|tummy|stomach|neck"
    r"|throat|head|eyes?"
    r"|ears?|nose|breath\w*|body|back|hole|site|stoma|tube|peg|button|nappy|diaper|poo|wee|stools?|sick|vomit|spit)\b"
    r"|\b(?:he|she|i|they|baby)(?:'s|'m|'re| is| am| was| are| has| had| went| goes| keeps| won't| can't| isn't)",
    re.IGNORECASE,
)


def _of_a_person(text: str) -> bool:
    """Is a body spoken of, or what somebody is or does? Then no blanket or kettle beside it takes the sign away."""
    return _PERSON.search(text) is not None


def _of_the_body(said: list[str], start: int, end: int) -> bool:
    """ "Something clear leaks out of her ear": no "all clear", and no ear of corn."""
    beside = OF_A_BODY.get(said[start], frozenset()) if end - start == 1 else frozenset()
    return bool(beside & set(said[max(0, start - 1) : end + 1]))
