"""What in the words of a message places a thing elsewhere than with the person now, by the concepts they name.

Where the weights hold the message for harmless as well, a plain rule only counts in a clause without such words.
"""

from __future__ import annotations

from assistant.language.features import take_apart

FRAMES = frozenset({
    "long_ago", "over_now", "all_well", "asked_in_general", "told_of_others", "creature", "things_alike",
    "asked_by_others", "planned_ahead", "elsewhere_money", "elsewhere_home", "elsewhere_knowledge",
})
TOLD_NOW = frozenset({"normally", "say", "says", "said"})  # "mum says his lips are blue": no story
OF_A_BODY = {  # words that place a thing elsewhere, but not beside these
    "clear": frozenset({"something", "leaks", "leaking", "leak", "fluid", "liquid", "drips", "dripping", "runs"}),
    "ear": frozenset({"his", "her", "my", "their"}),
}
COMPARED = frozenset({"than", "not", "isn't", "isnt"})  # "sleepier than normal", "not normal"
# furniture and rooms that are only where somebody is
PLACES, PLACED = frozenset({"sofa", "carpet", "car", "van", "garden"}), frozenset({"on", "in", "by", "off"})
LIKENED = (["look", "like"], ["looks", "like"])  # asked only after a "what"


def frames(text: str) -> set[str]:
    """What in the words places a thing elsewhere."""
    parts = take_apart(text)
    said = parts.said
    return {
        name
        for name, start, end in parts.hits
        if name in FRAMES and said[start] not in TOLD_NOW and not (start and said[start - 1] in COMPARED)
        and not _of_the_body(said, start, end)
        and (said[start:end] not in LIKENED or "what" in said[:start])
        and not (said[end - 1] in PLACES and PLACED & set(said[max(0, start - 2) : start]))
    }


def _of_the_body(said: list[str], start: int, end: int) -> bool:
    """ "Something clear leaks out of her ear": no "all clear", and no ear of corn."""
    beside = OF_A_BODY.get(said[start], frozenset()) if end - start == 1 else frozenset()
    return bool(beside & set(said[max(0, start - 1) : end + 1]))
