"""Station 3: danger is heard first, on plain words, before numbers are read and whatever else was asked.

Two ears. Rules over signs (assistant/danger, knowledge/signs) name a card where the danger is said plainly. The fitted
weights raise a suspicion where it is only hinted, and choose between cards; alone they never silence a rule. Where the
words also place the sign elsewhere ("in the film", "a hypo, what is that", "the toothpaste tube") and the weights hold
them for harmless, the answer only adds whom to call. Signs said so loosely that no rule could stand on them alone
(`hint`) count only where the weights hear a trace of danger too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.asked.asked_for import outright
from assistant.asked.terms import term_asked
from assistant.cards import GRAVE, LEVELS, card, level_of
from assistant.danger import ran_wrong
from assistant.danger.clause_alone import clauses_alone
from assistant.danger.enough import SUSPECTED, needed, says_something
from assistant.danger.frames import frames
from assistant.danger.hearing import Heard, hear
from assistant.danger.here_and_now import as_somebody, here_and_now, plainly, told, whoever, without_denied
from assistant.danger.only_asked import as_meant
from assistant.danger.own_clause import CLAUSES, NOT_BY_ONE, of_a_person, standing
from assistant.danger.panic_asked import panic_asked
from assistant.danger.pieces import pieces_of
from assistant.danger.settled import settled
from assistant.danger.tales import without_tales
from assistant.danger.told_calmly import mark_in_place, mark_moved, nothing_else, with_its_unit
from assistant.danger.tube_out import TUBE_OUT, fitting
from assistant.follow.turns import number_put_right, only_a_value
from assistant.hear import hear as amounts
from assistant.night import Night
from assistant.understand import danger, rank

FRAMED = 0.5  # ... in words told as past, over, asked in general, or a story
HARMLESS = 0.10  # summed share below which a mere hint is a turn of phrase
DOUBTFUL = 0.20  # ... and a plain rule too, but only in words that also place it elsewhere: FRAMES
CLEAR_TOP = 0.2  # ... and one card of at least this much among them,
SPREAD = 0.6  # unless all of them together make this much
WORRYING = 0.15  # from here up, and where a rule was doubted, the answer also says whom to call
ASKED_ABOUT = {"overfeed": "check_settings"}  # "I set it to 3600. Is that right?" asks about the settings
OF_THE_MARK = frozenset({"tube_mark_moved"})
MEDICINE, MARK = "medicine_error", "tube_mark_moved"  # "26 units, not 6"; "mark 52 in the plan, now 60"
OF_A_MIX = "infant_mixing"  # only asked about, by a home without powder or for others, it names no harm done
FRIGHT = frozenset({"panic"})  # whoever cries out in fear, and names nothing
UNNAMED = frozenset({"unwell"})  # a worry without a sign of its own: a card that names one says more
OF_DESPAIR, TRACE = "carer_crisis", 0.05  # an everyday plan ("when do I end it") needs a trace of despair itself
SURER = 0.95  # how sure the weights must be of what the words say is over
FAINT, MOST = 0.1, 2  # a second card needs as much, in its own words; cards said at once

AND_NOW = re.compile(
    r"\b(?:and|but|so) now (?=(?:he|she|they|i|we|mum|mam|mom|dad|the baby|baby|my \w+)\b)", re.IGNORECASE
)


@dataclass(frozen=True)
class Alarm:
    """A card that the words call for."""

    card: str
    level: str
    certain: bool  # named by a rule; else only suspected by the weights


def triage(text: str, night: Night) -> tuple[Alarm, ...]:
    """The danger cards the words call for, worst first, at most two. Empty for everyday words."""
    somebody = whoever(text)
    heard = _alarms(text, night) or (_alarms(somebody, night) if somebody != text else ())
    return heard or _clause_by_clause(text, night)


def _clause_by_clause(text: str, night: Night) -> tuple[Alarm, ...]:
    """What a clause names that stands alone, where the whole message raised nothing."""
    here = here_and_now(without_tales(_said(text, night)), _alarming)
    signs = hear(here)
    if not (signs.found or signs.over or signs.well or signs.framed):
        return ()
    alone = [c for c in clauses_alone(here) if hear(c).found]
    if not alone or panic_asked(text, rank(text), danger(text)):
        return ()
    heard = tuple(dict.fromkeys(a for clause in alone for a in _alarms(clause, night) if a.certain))
    caused = signs.well if "creature" not in frames(here) else frozenset()  # "blue for a party, face paint"
    kept = [alarm for alarm in heard if alarm.card not in NOT_BY_ONE | caused | settled(text)]
    return tuple(sorted(kept, key=lambda alarm: -LEVELS.index(alarm.level))[:MOST])


def _alarms(text: str, night: Night) -> tuple[Alarm, ...]:
    said = _said(text, night)
    text = here_and_now(without_tales(said), _alarming)
    if not says_something(text):
        return ()
    weighed = without_denied(text)
    pieces = pieces_of(weighed)
    shares = {piece: danger(piece) for piece in pieces}
    loudest = max(shares.values())
    heard = hear(text)
    plain_cards = {f.card for f in heard.found if not f.hint}
    if loudest < DOUBTFUL and frames(text):
        named = plain_cards & (standing(text) | {OF_DESPAIR})
    else:
        hinted = {f.card for f in heard.found if f.hint and loudest >= HARMLESS}
        hinted = as_meant(hinted, said)
        named = plain_cards | {name for name in hinted - _not_done(text, night) if _traced(name, text, pieces)}
    if (now := AND_NOW.search(text)) is not None and not _not_a_person(text[: now.start()]):
        named |= {f.card for f in hear(text[now.end() :]).found if not f.hint}  # "a course, and now he is not ..."
    named |= {MEDICINE} if told("units_wrong", text) else set()
    named |= {MARK} if mark_moved(text, night) else set()
    named |= of_a_person(text) | ({ran_wrong.CARD} if ran_wrong.ran_too_fast(text, night) else set())
    suspected = _suspected(said, text, shares, heard, night, alone=not named)
    suspected -= TUBE_OUT if named & TUBE_OUT else set()  # which of them it is, words and plan say better
    only_asked = panic_asked(text, rank(text), shares[weighed]) | settled(said)
    named, suspected = named - only_asked, suspected - only_asked
    alarms = [Alarm(c, level_of(c, night), True) for c in fitting(named, text, night)]
    alarms += [
        Alarm(c, level_of(c, night), False)
        for c in fitting(suspected, text, night)
        if c not in {a.card for a in alarms}
    ]
    grave = [a for a in alarms if a.level in GRAVE]
    likely = {c.card: c.p for c in rank(text) if c.card}
    grave.sort(key=lambda a: (-LEVELS.index(a.level), not a.certain, -likely.get(a.card, 0.0)))
    if len(grave) > 1 and grave[0].card not in UNNAMED:
        grave = [a for a in grave if a.card not in UNNAMED]
    if any(a.certain and a.card not in {*UNNAMED, *FRIGHT} for a in grave):
        grave = [a for a in grave if a.card not in FRIGHT]  # "oh God, the tube slid out": what it is, is named
    stands_alone = set(fitting(plain_cards, text, night))
    if len(grave) > 1 and grave[1].card not in stands_alone and not _likely(grave[1], text, night):
        grave = grave[:1]
    return tuple(grave[:MOST])


def _said(text: str, night: Night) -> str:
    named = as_somebody(text, night.plan.person.nickname if night.plan else None)
    return plainly(with_its_unit(named, night))


def _not_a_person(before: str) -> bool:
    """ "The dog ate a sock, and now he ...", "in the film he was shot, and now he ..."."""
    return "creature" in frames(before) or told("on_screen", before)


def picked(name: str, night: Night) -> Alarm:
    """The card that somebody picked from the list, where there was nothing to hear."""
    return Alarm(name, level_of(name, night), True)


def _suspected(said: str, text: str, shares: dict[str, float], heard: Heard, night: Night, *, alone: bool) -> set[str]:
    """The cards that the weights suspect in what is left (`text`) of what was said; `alone`: no rule named one.

    What is left must not sound worse than the whole: a turn of phrase taken out may leave odd words.
    """
    if max(map(danger, pieces_of(said))) < SUSPECTED or nothing_else(text, night, _harmless) or outright(text):
        return set()
    if told("only_who", said):
        return set()  # "pt is 8 months old"
    numbers = amounts(said)
    of_age = any(a.readings[0].kind == "age" for a in numbers.amounts)  # "it is only 2 days old", of a stoma
    bare = only_a_value(numbers) and not of_age and " on " not in f" {said} "
    if bare or number_put_right(said, numbers) or term_asked(said, numbers):
        return set()
    found = {
        likeliest
        for piece, share in shares.items()
        if (likeliest := _likeliest(piece)) is not None
        and share >= needed(piece, likeliest, text, night)
        and _stands(likeliest, next(iter(shares.values())), share, heard)
        and (_pointed(piece, likeliest, share) or not alone)
    }
    found = as_meant(found, said) - _not_done(text, night)
    if mark_in_place(text, night):
        found -= OF_THE_MARK
    return found - {c for c, asks in ASKED_ABOUT.items() if any(r.intent == asks for r in rank(text)[:1])}


def _not_done(text: str, night: Night) -> set[str]:
    """The card of a wrong mix, where one is only asked about and cannot be this home's own.

    It may be where the plan is of powder or of a baby, or there is none, and nobody else's child is named.
    """
    plan = night.plan
    own = plan is None or plan.formula.form == "powder"
    own = night.infant or (own and not told("baby_of_other", text))
    return set() if own or told("mix_done", text) or not told("mix_asked", text) else {OF_A_MIX}


def _likely(second: Alarm, text: str, night: Night) -> bool:
    """Do the weights hear the second card too, in the whole or, where a rule named it, in a clause of its own?"""
    parts = [text, *(clause for clause in CLAUSES.split(text) if second.certain and len(clause.split()) > 1)]
    return any(second.card in fitting([c.card], text, night) for part in parts for c in rank(part) if c.p >= FAINT)


def _traced(named: str, text: str, pieces: tuple[str, ...]) -> bool:
    """Do the weights hear a trace of despair itself, where a loose word of it is the hint?"""
    if named == OF_DESPAIR and told("dose_of_other", text) and not told("dose_taken", text):
        return False
    return named != OF_DESPAIR or any(c.card == named and c.p >= TRACE for piece in pieces for c in rank(piece))


def _stands(suspected: str, whole: float, share: float, heard: Heard) -> bool:
    """Is a suspicion more than a sign named as absent ("no fever"), over, or measured as normal?

    A piece sounds worse without what stands beside it: where the sign is said to be absent, the whole has to agree.
    """
    if suspected in heard.over:
        return suspected not in heard.well and share >= SURER and whole >= SUSPECTED
    return suspected not in heard.well and share >= (FRAMED if heard.framed else SUSPECTED)


def _pointed(piece: str, card: str, share: float) -> bool:
    """Does a suspicion point to a card? Thinly spread over many of them it is the mark of words never met."""
    return share >= SPREAD or any(c.card == card and c.p >= CLEAR_TOP for c in rank(piece))


def _alarming(clause: str) -> bool:
    """Would a clause raise an alarm by itself? A carer's despair is never taken for what was nearly done."""
    heard = hear(clause)
    found = {f.card for f in heard.found} | heard.over
    suspected = _likeliest(clause) if danger(clause) >= HARMLESS else None
    return bool(found or suspected) and "carer_crisis" not in found | {suspected}


def _harmless(text: str) -> bool:
    heard = hear(text)
    return danger(text) < HARMLESS and not heard.found and not heard.over


def worrying(text: str, night: Night | None = None) -> bool:
    """Do the words hint at danger, short of an alarm, and tell no more than a feed?"""
    text = plainly(text)
    loud = danger(text) >= WORRYING and (night is None or not nothing_else(text, night, _harmless))
    return says_something(text) and (loud or any(not f.hint for f in hear(text).found))


def _likeliest(text: str) -> str | None:
    return next((c.card for c in rank(text) if c.card and card(c.card)["level"] in GRAVE), None)
