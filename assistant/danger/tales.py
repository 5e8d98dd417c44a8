"""A message without what its words tell of a tale (an audiobook, a rhyme, a play) or of money for a meter.

"His audiobook is at the bit where the pirate captain drowns", "sung about humpty falling off the wall". What is told of
somebody in the room stays: a tale that only runs beside it ("the podcast is on and he ...") takes nothing away.
"""

from __future__ import annotations

import re

from assistant.danger.here_and_now import pattern, told
from assistant.understand import danger

HARMLESS = 0.10  # share of danger from which a sentence is taken at its word, whatever it names as its source

_SENTENCE = re.compile(r"[^.!?;\n]+[.!?;\n]*")
_CLAUSE = re.compile(r"(,(?!\d)\s*|\s+(?=and\s))")


def without_tales(text: str) -> str:
    """`text` without its tales, if anything is left."""
    kept = text
    for away in ("tale", "out_of_interest", "match_told"):
        kept = pattern(away).sub(" ", kept)
    if not told("meter_of_blood", kept):
        kept = pattern("meter_fed").sub(" ", kept)
    kept = "".join(map(_untold, _SENTENCE.findall(kept))) if told("medium", kept) else kept
    return kept if kept.strip(" .,;?!") else text


def _untold(sentence: str) -> str:
    """A sentence without what is told of the tale it names; all of it where somebody here is spoken of."""
    if not told("medium", sentence) or told("in_the_room", sentence):
        return sentence
    sentence = pattern("at_the_bit").sub(" ", sentence)
    kept: list[str] = []
    named = of_it = False  # the clause before names a tale, or tells it
    for piece in _CLAUSE.split(sentence):
        clause = piece.strip(" .,;?!")
        if not clause:
            kept.append(piece)
            continue
        joined = of_it and piece.startswith("and ") and not pattern("person_first").match(clause)
        of_it = joined or (named and _in_it(clause, sentence, kept))
        kept.append(" " if of_it else piece)
        named = of_it or (told("medium", clause) and not told("watching", clause))
    return "".join(kept)


def _in_it(clause: str, sentence: str, before: list[str]) -> bool:
    """Is a clause after one that names a tale told of somebody in it?"""
    if not told("in_the_tale", clause):
        return False
    by_kin = re.match(r"\W*(?:and )?(?:wife|husband|cook|maid|gardener|lodger|heiress|landlady)\b", clause)
    return not by_kin or (told("tale_head", "".join(before)) and danger(sentence) < HARMLESS)
