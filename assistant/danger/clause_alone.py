"""The clauses of a message that stand by themselves: what is told beside them says nothing of them.

"Her lips are blue. Last week she was grand", "he is fitting we changed the button in March". A clause does not stand
alone beside what asks, supposes, tells a story, or says that the thing itself is over or long past.
"""

from __future__ import annotations

from assistant.danger.frames import frames
from assistant.danger.here_and_now import pattern, told
from assistant.danger.signs import find
from assistant.danger.words import fold

ELSEWHERE = frozenset({"told_of_others", "asked_in_general", "asked_by_others"})
LONG_AGO = frozenset({"long_ago"})
OVER = frozenset({"over_now", "all_well"})
LEAST, MOST = 2, 6  # clauses


def clauses_alone(text: str) -> tuple[str, ...]:
    """The clauses of `text` that nothing beside them takes out of the here and now; none where it has only one."""
    clauses = _with_their_days([c for c in (p.strip(" ,.;!?") for p in pattern("clauses_apart").split(text) if p) if c])
    if not LEAST <= len(clauses) <= MOST:
        return ()
    apart = [(c, clauses[:i], clauses[i + 1 :]) for i, c in enumerate(clauses) if pattern("person_first").match(c)]
    return tuple(c for c, before, after in apart if not frames(c) and not _taken_away(c, before, after))


def _with_their_days(clauses: list[str]) -> list[str]:
    """ "Last week", which was split from "he was grand", goes with it."""
    joined: list[str] = []
    for clause in clauses:
        if joined and pattern("day_alone").fullmatch(joined[-1]):
            joined[-1] += f" {clause}"
        else:
            joined.append(clause)
    return joined


def _places_elsewhere(clause: str) -> bool:
    """Does a clause tell a tale, ask in general or go through a list? An ask for a sum, or "no sign of", does not."""
    if told("none_of_it", clause):
        return False
    return bool(frames(clause) & ELSEWHERE or {"asking", "story"} & find(fold(clause)).keys())


def _taken_away(clause: str, before: list[str], after: list[str]) -> bool:
    others = before + after
    if any(map(_places_elsewhere, others)):
        return True
    if any(pattern("leans_on").search(o) for o in after) or any(pattern("leads_to").search(o) for o in before[-1:]):
        return True
    if any("animal" in find(fold(o)) and told("animal_harmed", o) for o in others):
        return True
    past = [o for o in others if frames(o) & LONG_AGO or "past" in find(fold(o))]
    if past and not told("present", clause) and not all(_of_its_own(o) for o in past):
        return True
    return any(_says_it_is_over(o) for o in after)


def _of_its_own(clause: str) -> bool:
    """ "He ate a biscuit last Christmas", "the fridge broke last week": another thing, and no date of this one."""
    return len(clause.split()) > 3 and pattern("own_event").match(clause) is not None


def _says_it_is_over(clause: str) -> bool:
    """Is it told to be over or well now? What was well before, or is said of the pump, says nothing of it."""
    if pattern("well_before").search(clause):
        return False
    resolved = any(not hit.denied for hit in find(fold(clause)).get("resolved", ()))
    return resolved or bool(frames(clause) & OVER)
