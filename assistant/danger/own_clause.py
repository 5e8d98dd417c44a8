"""What a clause says of a person stands by itself, whatever things, animals or doings the clause beside it names.

"I was washing the syringes, he had a seizure", "the dog was barking and she is not breathing".
"""

from __future__ import annotations

import re

from assistant.danger.enough import SURE
from assistant.danger.frames import frames
from assistant.danger.hearing import hear
from assistant.danger.here_and_now import pattern, told
from assistant.danger.signs import find
from assistant.danger.words import fold
from assistant.understand import danger

LEAST = 0.05  # what the weights give to the clause alone
NOT_BY_ONE = {"panic", "carer_crisis", "overfeed", "wrong_formula", "infant_mixing"}  # told over several clauses
_ENDS = re.compile(r"[.?!\n]+(?!\d)")
OVER = frozenset({"long_ago", "over_now", "all_well", "asked_by_others"})  # said of what came before, too
CLAUSES = re.compile(
    r"[;?!\n]+|[,.:](?!\d)|\s(?:and|but|while|because|though)\s"
    r"|\s(?=(?:how (?:do|long|much|many)|what (?:time|rate)|when (?:do|does|will|is))\b)",
    re.IGNORECASE,
)


def of_a_person(text: str) -> set[str]:
    """The cards that a clause about a person names plainly, unless the rest of its sentence takes it out of the now.

    A film or a question in general does, and a cause, and a time long past where the clause is not of the present; an
    animal does where something is wrong with it.
    """
    sentences = [[c.strip() for c in pattern("clause_joins").split(s) if c.strip()] for s in _ENDS.split(text)]
    here = pattern("in_the_background").sub(" ", text)  # "with the quiz show on": it runs, and tells nothing
    if all(len(clauses) < 2 for clauses in sentences):
        return set()
    hits = find(fold(here)).keys()
    if "asking" in hits:
        return set()
    caused = hear(text).well if "animal" not in hits else frozenset()
    mine = "story" in hits  # "on telly a woman collapsed and my son went blue": of one's own, and no other
    return {card for clauses in sentences if len(clauses) > 1 for card in _named(clauses, mine)} - caused - NOT_BY_ONE


def _named(clauses: list[str], mine: bool) -> set[str]:
    named: set[str] = set()
    for at, clause in enumerate(clauses):
        if mine and (at == 0 or not told("mine_first", clause)):
            continue
        if not pattern("person_first").match(clause) or frames(clause) or (share := danger(clause)) < LEAST:
            continue
        found = {f.card for f in hear(clause).found if share >= SURE or not f.hint}
        if found and not any(_takes_away(clause, other, after=i > at) for i, other in enumerate(clauses) if i != at):
            named |= found
    return named


def _takes_away(clause: str, other: str, *, after: bool) -> bool:
    hits = find(fold(other))
    if after and any(not hit.denied for hit in hits.get("resolved", ())):
        return True
    past = any(not hit.denied for hit in hits.get("past", ())) and not pattern("helpers_first").match(other)
    if past and not told("present", clause):
        return True
    return "animal" in hits and told("animal_harmed", other)


def standing(text: str) -> set[str]:
    """The cards that a clause names where nothing in it, or after it, places them elsewhere.

    "The neighbour is here and he is not breathing": the neighbour stands in another clause, and takes nothing away.
    "He had bleeding after it was placed, years ago": what is over may be said last.
    """
    standing: set[str] = set()
    here, clauses = "", [clause for clause in CLAUSES.split(text) if clause.strip()]
    for at, clause in enumerate(clauses):
        away = frames(clause) or any(frames(later) & OVER for later in clauses[at + 1 :])
        here = "" if away else f"{here} and {clause}" if here else clause  # a sign may go over two clauses
        for part in {here, clause} if here else ():
            standing |= {found.card for found in hear(part).found if not found.hint}
    return standing
