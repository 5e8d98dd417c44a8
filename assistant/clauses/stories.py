"""A story told beside a question that stands by itself: it plays no part in the sum, whatever small numbers it holds.

"Choked in the last round, he had me mate in three. What is 500 in ounces?", "the scar from when he split his chin at
four has faded". Any word of the feed keeps a sentence, and so does a number of the feed's kinds; and the question must
be one that needs nothing from it.
"""

from __future__ import annotations

from assistant.asked.plan_asked import asked
from assistant.danger.here_and_now import pattern, told
from assistant.danger.settled import settled
from assistant.gather import names
from assistant.hear import hear
from assistant.language.features import take_apart
from assistant.language.spelling import familiar
from assistant.numbers.other_events import OF_A_BODY
from assistant.understand import ELSEWHERE, rank
from knowledge.library import table

CERTAIN = 0.9  # what the question asks, by itself
SURELY = 0.97  # a sentence tells of other things, or is a remark
STRANGE = 2  # words or things in it that are strange to talk of feeding, where it holds a number
LEAST = 4  # words of a story
LETTERS = 3
OUTSIDE = ("out_of_scope", "remark")
LOOKED_UP = ("plan_lookup", "log_lookup", "contact")
SMALL = frozenset({"number", "count", "other", "age", "day", "date"})
NO_AMOUNT = frozenset({"temperature", "time", "day", "date", "age"})
OF_THEN = SMALL | {"clock"}  # "at four": how old somebody was


def stands_by_itself(question: str, feeds: tuple[str, ...]) -> bool:
    """Does a sentence ask one of our questions for certain, or by all of its words a value of the plan?"""
    if asked(question, feeds):
        return True
    ours = [c.p for c in rank(question) if (c.intent in names() or c.intent in LOOKED_UP) and c.card is None]
    return sum(ours) >= CERTAIN


def a_story(sentence: str) -> bool:
    """Does a sentence that asks nothing tell of other things alone?"""
    heard = hear(sentence)
    bare = pattern("no_feed_words").sub(" ", sentence)
    words = {w.removesuffix("'s") for w in hear(bare).tokens}
    if heard.unread or words & _of_the_feed() or len(sentence.split()) < LEAST:
        return False
    kinds = {a.readings[0].kind for a in heard.amounts}
    if told("scar_told", sentence):
        return kinds <= OF_THEN
    if told("feed_beside", bare):
        return False
    outside = sum(c.p for c in rank(sentence) if c.intent in OUTSIDE)
    return outside >= SURELY and kinds <= SMALL and _strange(bare) + (bare != sentence) >= STRANGE


def of_an_old_fever(sentence: str) -> bool:
    """Does a sentence that asks nothing tell of a fever long over, with its readings and no other number?"""
    if not settled(sentence) or {*hear(pattern("no_feed_words").sub(" ", sentence)).tokens} & _of_the_feed():
        return False
    first = [a.readings[0] for a in hear(sentence).amounts]
    return all(r.kind in NO_AMOUNT or any(low <= r.value < high for low, high in OF_A_BODY) for r in first)


def _of_the_feed() -> frozenset[str]:
    return frozenset(table("beside_en")["events"]["unless"])


def _strange(sentence: str) -> int:
    """How many words or things are strange to talk of feeding."""
    parts = take_apart(sentence)
    words = sum(len(w) >= LETTERS and w[0].isalpha() and w not in familiar() for w in parts.mended)
    return words + sum(name.startswith(ELSEWHERE) for name, _, _ in parts.hits)
