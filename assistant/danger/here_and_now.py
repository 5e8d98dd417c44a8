"""A message without what its own words place elsewhere: long ago, on a screen, in a joke, a turn of phrase, not done.

Both ears of the danger station listen to what is left. A clause is left out only where it would raise an alarm by
itself, so that what it tells beside ("placed two months ago") stays known; the patterns are in knowledge/told_en.toml.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, lru_cache
from itertools import pairwise

from assistant.language.features import take_apart
from knowledge.library import table

#: patterns that meet the whole of a text
WHOLE = frozenset({"dry", "calm", "is_it_normal", "status", "thing_meant", "only_who"})

HIM = frozenset({"he", "she", "he's", "she's", "hes", "shes", "baby", "baby's", "i", "i'm", "im"})
EARLY = 3  # words into a sentence: its subject; later an animal may only be likened to, or stand by
KEPT = 32  # texts whose result is kept: both ears and the doubts look at the same message
_LETTERS = re.compile(r"[a-z]+")
_IN_TWO_WORDS = re.compile(r"\b(can|could) not\b(?! only)", re.IGNORECASE)  # "I can not wake her"
_LISTED = re.compile(r"(\s*(?:,|/|\bor\b|\band\b|\bnor\b)\s*)")
_ENDS = re.compile(r"[.!?;\n]")
_CLAUSE = re.compile(r"((?:[.!?;\n]|,(?!\d)|\s(?:and|but|now|so)(?=\s))+\s*)", re.IGNORECASE)


@cache
def pattern(name: str) -> re.Pattern[str]:
    """A pattern of knowledge/told_en.toml or told_calm_en.toml."""
    patterns = {**table("told_en")["patterns"], **table("told_calm_en")["patterns"]}
    return re.compile(patterns[name].replace("\n", ""), re.IGNORECASE)


def told(name: str, text: str) -> bool:
    """Does the pattern of that name meet `text` (WHOLE: all of it)?"""
    met = pattern(name)
    return bool(met.fullmatch(text.strip()) if name in WHOLE else met.search(text))


def found(name: str, text: str) -> re.Match[str] | None:
    """Where the pattern of that name meets `text` first."""
    return pattern(name).search(text)


@cache
def _names(nickname: str) -> re.Pattern[str]:
    words = table("told_en")["concepts"]
    names = "|".join(map(re.escape, sorted({*words["names_too"].split(), nickname.lower()} - {""})))
    thing = "|".join(words["of_a_person"].split())
    return re.compile(
        rf"(?P<before>[\w'-]+ +)?(?<![\w'-])(?:{names})(?:(?P<whose>'?s(?= (?:{thing})\b))|(?P<is>'s(?= ))"
        rf"|(?= (?:{'|'.join(words['a_person_does'].split())})\b))", re.IGNORECASE,
    )


@lru_cache(maxsize=KEPT)
def as_somebody(text: str, nickname: str | None) -> str:
    """`text` with "she" for a name that is a word of its own ("Bill's tube is out"), and for the plan's own person.

    "The bill is ..." stays: a word such as "the" before it makes it a thing.
    """
    things = frozenset(table("told_en")["concepts"]["before_a_thing"].split())
    toys = _toys(text, things) - {(nickname or "").lower()}

    def person(met: re.Match[str]) -> str:
        before = met["before"] or ""
        if before.strip().lower() in things or toys & set(_LETTERS.findall(met[0].lower())):
            return met[0]
        return before + ("her" if met["whose"] else "she's" if met["is"] else "she")

    return _names(nickname or "").sub(person, text)


def whoever(text: str) -> str:
    """`text` with "she" for "our Tom", "my mum", "the baby", of whom something is told: a danger is one in anybody."""
    return pattern("own_person").sub("she", text)


def _toys(text: str, things: frozenset[str]) -> set[str]:
    """The names of the toys in `text`: once it was "her teddy", teddy is nobody."""
    words = _LETTERS.findall(text.lower())
    toys = table("told_en")["concepts"]["toys"].split()
    return {word for before, word in pairwise(words) if word in toys and before in things}


@lru_cache(maxsize=KEPT)
def plainly(text: str) -> str:
    """`text` without its hedges ("might just be the light", "my wife says I am fussing"), if anything is left."""
    text = _IN_TWO_WORDS.sub(lambda met: {"can": "cannot", "could": "couldn't"}[met[1].lower()], text)
    text = pattern("normal_obs").sub("", pattern("help_called").sub("", text)).strip(" ,;.") or text
    text = pattern("denies").sub(_each_denied, pattern("answered_no").sub("", text))
    kept = pattern("hedge").sub(" ", pattern("tired_excuse").sub(" ", text))
    kept = pattern("no_longer").sub(r"\g<who> is not ", kept)
    kept = _without_others_cheer(kept).strip(" ,.;")
    return kept if len(kept.split()) > 1 else text


def without_denied(text: str) -> str:
    """`text` without the symptoms it denies one by one ("nil vomiting, no SOB, fed well") and who it is of ("8 months
    old, NGT"), if words are left.

    For the weights alone, to which the words of a denied sign still sound like it.
    """
    kept, denied = pattern("lists_none").subn("", text)
    kept = text if denied == 1 else kept  # "the bone's lodged, no cough" lists nothing
    items = [item.strip() for item in re.split(r"[,;]", kept)]
    told_of = [i for i in items if i and not pattern("only_who").fullmatch(i)]
    kept = ", ".join(told_of) if items[1:] and (denied > 1 or len(told_of) < len([i for i in items if i])) else kept
    return kept if kept != text and len(kept.split()) > 1 else text


def _each_denied(listed: re.Match[str]) -> str:
    """ "Denies SOB, chest pain, fever": no SOB, no chest pain, no fever. It ends at the first that is no symptom."""
    said = _LISTED.split(listed["of"])
    items = said[::2]
    last = next((i for i, item in enumerate(items) if not pattern("denied_one").fullmatch(item.strip())), len(items))
    denied = ", ".join(f"no {item.strip()}" for item in items[:last])
    return ", ".join(part for part in (denied, "".join(said[2 * last :]).strip()) if part) or listed[0]


def _without_others_cheer(text: str) -> str:
    """ "He's choking and gran is laughing": that somebody else is well says nothing of him."""
    other = pattern("others_cheer").search(text)
    before = text[: other.start()].lower().split() if other is not None else []
    if other is None or not HIM & set(before) or other["who"].lower() in before:
        return text
    return text[: other.start()] + text[other.end() :]


def here_and_now(text: str, alarming: Callable[[str], bool]) -> str:
    """`text` without what is placed elsewhere; `alarming` tells whether a clause would raise an alarm by itself."""
    kept = _without_turns_of_phrase(text)
    parts = _CLAUSE.split(kept)
    away, beside = _away(tuple(parts), kept)
    away |= _of_others(text, parts[::2]) | _of_animals(parts)
    left_out = {part for part in away if alarming(part)}
    left_out |= beside if left_out else set()
    clauses = ["" if part in left_out else part for part in parts]
    return kept if clauses == parts else "".join(clauses).strip(" ,.;")


@lru_cache(maxsize=KEPT)
def _without_turns_of_phrase(text: str) -> str:
    kept = _without_toys(pattern("figure").sub(" ", pattern("exit_place").sub(" at the site ", text)))
    kept = pattern("cleared").sub(r"\g<kept> ", pattern("thought").sub(" ", kept))
    kept = pattern("nothing_of_now").sub(lambda met: met[0] if told("of_now_after_all", met[0]) else " ", kept)
    joke = pattern("joke").search(kept)
    return kept[joke.end() :] if joke else kept  # with its point, the joke is over


def _of_others(text: str, clauses: list[str]) -> set[str]:
    """ "A woman in my group's son had that. Not us, ours turns lovely": what another family had, where ours is well."""
    if not told("not_ours", text) or told("same_here", text):
        return set()
    return {clause for clause in clauses if told("others_had", clause)}


def _of_animals(parts: list[str]) -> set[str]:
    """The clauses of a sentence that tells of an animal and of nobody else ("lost a calf, belly like a barrel")."""
    found: set[str] = set()
    sentence: list[str] = []
    for clause, after in zip(parts[::2], [*parts[1::2], "."], strict=True):
        sentence.append(clause)
        if _ENDS.search(after):
            begins = any(name == "creature" and at <= EARLY for name, at, _ in take_apart(sentence[0]).hits)
            if begins and not told("of_some_person", " ".join(sentence)):
                found |= set(sentence)
            sentence = []
    return found


def _without_toys(text: str) -> str:
    """`text` without what is wrong with a toy; in a game, also what is joined to it ("and his tube is out")."""
    kept, last = [], 0
    for met in pattern("toy_told").finditer(text):
        joined = pattern("toy_too").match(text[met.end() :]) if told("played", text) else None
        kept.append(text[last : met.start()])
        last = met.end() + (joined.end() if joined else 0)
    return " ".join((*kept, text[last:])) if kept else text


@lru_cache(maxsize=KEPT)
def _away(parts: tuple[str, ...], whole: str) -> tuple[frozenset[str], frozenset[str]]:
    """The clauses that are placed elsewhere, by their own words or by the clause before them; the latter of the past.

    What stands beside a time long past is past as well, where it never came again ("cord round her neck and all ...
    look at her now"); what happens to somebody after "crime drama on" happens in it.
    """
    back = bool(pattern("back_again").search(pattern("not_since").sub(" ", whole)))
    explained = not back and told("that_is_why", whole)  # "three weeks ago she choked, that's why she is ..."
    over = not back and any(told(since, whole) for since in ("fine_since", "not_since"))
    over = over or (not back and told("grown_since", whole) and not told("just_happened", whole))
    away: set[str] = set()
    beside: set[str] = set()
    past = show = shown = joined = somebody = False
    last = ""
    sentence: list[str] = []  # the clauses of the sentence before, which "That was June" tells the time of
    for clause, after in zip(parts[::2], [*parts[1::2], ""], strict=True):
        if told("that_was", clause) and not back:
            away |= {one for one in sentence if not told("present", one)}
        long_past = bool(pattern("far_past").search(clause)) or (over and told("early_on", clause))
        if explained and told("weeks_past", clause):
            away.add(clause)
        if over and past and clause.strip() and not told("present", clause):
            beside.add(clause)
        if over and long_past and told("of_then", last) and not told("present", last):
            away.add(last)  # "... sepsis after the operation, two years back, ..."
        past = over and not told("present", clause) and (past or long_past)
        if past or (show and told("in_the_show", clause)) or _elsewhere(clause, back):
            away.add(clause)
        of_them = somebody and told("third_first", clause)  # "on the drama a lad's tube was pulled, and he went blue"
        if (joined and shown and not pattern("person_first").match(clause)) or of_them:
            away.add(clause)  # "in the film he went blue and stopped breathing"
        shown = told("on_screen", clause) and not told("watching", clause)
        somebody = (shown and told("somebody_shown", clause)) or (of_them and not _ENDS.search(after))
        joined = after.strip() == "and"
        show = told("show_on", clause)
        past = past and not _ENDS.search(after)
        sentence = [clause] if not last else [*sentence, clause]
        last = "" if _ENDS.search(after) else clause
    return frozenset(away), frozenset(beside)


def _elsewhere(clause: str, back: bool) -> bool:
    """`back`: something of the past is back ("he is having one now"), so what it was has to be known."""
    if then := pattern("far_past").search(clause):
        alone = len(clause.split()) <= len(then[0].split()) + 1  # "..., years ago" belongs to the clause before it
        return not back and not alone and not pattern("present").search(clause)
    if pattern("in_the_log").search(clause):
        return not pattern("present").search(clause)
    if pattern("on_screen").search(clause):
        return not pattern("watching").search(clause)
    return bool(pattern("almost").search(clause) or pattern("one_day").search(clause))
