"""How much of a suspicion it takes: more in words that say nothing of a person, a body or the feed.

The fitted weights were never shown every everyday word. Where what is said is strange to them, or holds nothing but
sums, clocks and the log, their guess at a danger has to be nearly certain; rules over signs are not touched by this.
"""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.danger.here_and_now import told
from assistant.danger.signs import vocabularies
from assistant.danger.words import fold
from assistant.follow.turns import pattern
from assistant.language.features import take_apart
from assistant.language.spelling import familiar
from assistant.night import Night, feed_rate, feed_volume
from knowledge.library import table

SUSPECTED = 0.34  # summed share of the danger cards from which the second ear raises an alarm (by-writer hold-out)
IN_ONE_SENTENCE = 0.92  # ... in one sentence of several, which a sum beside it would drown
SURE = 0.9  # ... even where the words say that the sign is absent or over
NAMES_NO_SIGN = frozenset({"panic"})  # a worry without a sign is asked about; a cry for help is heard by rule
NEVER = 2.0  # no share reaches it
IN_SUMS = 0.7  # ... in words that speak of nothing but sums and clocks
TOO_FAST = Decimal("1.5")  # times the fastest rate of the plan: above it a bare number may be an overfeed
LETTERS = 3  # shorter words are at home everywhere

_INSTEAD = re.compile(r"\b(?P<had>\d+(?:\.\d+)?) ?(?:mls? )?(?:instead of|rather than|not|out of) "
                      r"(?:the |his |her |usual |full )*(?P<meant>\d+(?:\.\d+)?)\b", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_]+(?:'[a-z]+)*")


def needed(piece: str, card: str, text: str, night: Night) -> float:
    """The share from which a piece of `text` is suspected of a card."""
    dry = told("dry", piece)
    if card == "overfeed" and _less_than_meant(piece):
        return NEVER  # "lunch was 300 instead of 330"
    if card == "overfeed" and (too_much(piece, night) or (dry and _too_fast(piece, night))):
        return SUSPECTED
    if dry and card == "overfeed" and _slow(piece, night):
        return NEVER  # "ran at 60 by mistake" of 72
    leaning = pattern("and_of_it").match(piece)  # "and in her feed?": what it is said of stands before it
    if _of_other_things(piece) or dry or card in NAMES_NO_SIGN or leaning or told("off_a_line", piece):
        return SURE
    return _least(text) if piece == text else IN_ONE_SENTENCE


def _too_fast(text: str, night: Night) -> bool:
    """Is a number said, of no other unit, far above every ordered rate? Any is where no rate is ordered."""
    said, most = fold(text), TOO_FAST * max(night.ordered_rates, default=Decimal(0))
    units = vocabularies()["amount_unit"]["say"]
    after = (*said.raw[1:], "")
    return any(n is not None and n > most and unit not in units for n, unit in zip(said.number, after, strict=True))


def too_much(text: str, night: Night) -> bool:
    """ "All 600 of lunch in": a number far above what the one feed named is ordered at."""
    named = night.feeds_named(text)
    volume = feed_volume(named[0]) if len(named) == 1 else None
    told = [n for n in fold(text).number if n is not None]
    return volume is not None and bool(told) and max(told) > TOO_FAST * Decimal(volume.m_as("mL"))


def _less_than_meant(text: str) -> bool:
    """Is each amount told to have been had smaller than the one it was had instead of?"""
    told_so = [(float(met["had"]), float(met["meant"])) for met in _INSTEAD.finditer(text)]
    slow = "min" not in text.lower()  # however little it was, it may have gone in too fast
    return slow and bool(told_so) and all(had < meant for had, meant in told_so)


def _slow(text: str, night: Night) -> bool:
    """Is every number said at most the slowest of the ordered rates?"""
    ordered = [rate.m_as("mL/h") for f in night.feeds if f.method == "pump" and (rate := feed_rate(f)) is not None]
    said = [n for n in fold(text).number if n is not None]
    return bool(ordered and said) and all(n <= min(ordered) for n in said)


def _of_other_things(text: str) -> bool:
    """Words that are strangers to talk of feeding, and no body, sign, kit or feed spoken of."""
    parts = take_apart(text)
    strangers = any(len(w) >= LETTERS and w[0].isalpha() and w not in familiar() for w in parts.mended)
    return strangers and all(name in _concepts("general") for name, _, _ in parts.hits)


def _least(text: str) -> float:
    """The share from which a whole message is suspected: more where it speaks of nothing but numbers and clocks."""
    counted = (_number_words() | _put_right()) & set(_WORD.findall(text.lower()))
    if not (counted or pattern("asks_first").search(text) or "?" in text or any(mark.isdigit() for mark in text)):
        return SUSPECTED
    dry = _concepts("general") | _concepts("of_sums")
    return IN_SUMS if all(name in dry for name, _, _ in take_apart(text).hits) else SUSPECTED


def _concepts(name: str) -> frozenset[str]:
    return frozenset(table("told_en")["concepts"][name].split())


def says_something(text: str) -> bool:
    """Is there a word beside numbers and small words? ("and twelve" says nothing that could be a danger.)"""
    words = _WORD.findall(text.lower())
    small = _small_words()
    if any(mark.isdigit() for mark in text) or _number_words() & set(words):
        small = small | _put_right()
    key_held = (len(word) >= LETTERS and len(set(word)) == 1 for word in words)  # "aaaaaaaa"
    return any(word not in small and not held for word, held in zip(words, key_held, strict=True))


def _number_words() -> frozenset[str]:
    return frozenset(table("turns_en")["words"]["numbers"].split())


def _put_right() -> frozenset[str]:
    return frozenset(table("turns_en")["words"]["put_right"].split())


def _small_words() -> frozenset[str]:
    words = table("turns_en")["words"]
    return frozenset(f"{words['filler']} {words['numbers']} {words['measures']}".split())
