"""One call at the nurse line's desk: the caller's words, what they call for by the cards and the rules, and the note.

Nothing here decides: a level is the card's, for this plan and these answers, and the note leaves the decision open.
The same words, answers, plan, log and `now` give the same call; nothing is written down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant import cards, word
from assistant.cards import LEVELS
from assistant.hear.plain import plain, readable
from assistant.night import Night
from assistant.paper.handover import Line, nurse_line
from assistant.session import Session
from assistant.triage import triage
from knowledge.library import sources, table

ANSWERS = ("yes", "no")
SECTIONS = ("situation", "background", "assessment", "request")


@dataclass(frozen=True)
class Asked:
    """A question that the card asks next: the level after each answer, and the answer given ("" for none yet)."""

    key: str
    ask: str
    yes: str  # a level; the card's own where the answer leaves it
    no: str
    yes_stays: bool
    no_stays: bool
    answer: str = ""


@dataclass(frozen=True)
class Seen:
    """A card that the words call for, as it stands for this person."""

    name: str
    title: str
    level: str  # by the words, the card and the plan
    level_now: str  # with the answers given
    says: str
    do: tuple[str, ...]
    do_not: tuple[str, ...]
    tell: tuple[str, ...]
    asked: tuple[Asked, ...]
    source: Mapping[str, Any]  # title, publisher, year, place, confirmed, applies_to, checked, review
    certain: bool  # named by a rule; else only suspected, or what the words ask about


@dataclass(frozen=True)
class Worked:
    """An answer worked out by rule: its text, what it rests on with each value's origin, and its sources."""

    text: str
    level: str
    used: tuple[tuple[str, str, str], ...]  # name, value, origin
    sources: tuple[Mapping[str, Any], ...]
    defers: bool
    asked_back: bool


@dataclass(frozen=True)
class Call:
    words: str
    level: str
    cards: tuple[Seen, ...] = ()
    worked: tuple[Worked, ...] = ()


def nurse_call(words: str, night: Night, answers: Mapping[str, str]) -> Call:
    """What the words call for. `answers`: "card.number" of a question -> "yes" or "no"; any other is not asked yet."""
    said = readable(words).strip()
    if not said:
        return Call("", "none")
    record = Session(night.plan, night.events, now=night.now).say(said, night.now)
    records = [record, *record.get("also", ())]
    found = {alarm.card: (alarm.level, alarm.certain) for alarm in triage(plain(said), night)}
    for one in records:
        if one["card"]:
            found.setdefault(one["card"], (one["level"], False))
    seen = tuple(_seen(name, level, certain, night, answers) for name, (level, certain) in found.items())
    worked = tuple(_worked(one) for one in records if not one["card"])
    levels = [one.level_now for one in seen] + [one.level for one in worked]
    if not seen:
        levels.append(record["level"])
    return Call(said, max(levels, key=LEVELS.index), seen, worked)


def level_after(level: str, asked: tuple[Asked, ...]) -> str:
    """The card's level with these answers. One answer raises it by itself; it is lower only where every question was
    asked and none of the answers leaves it as it was."""
    given = [(q.yes if q.answer == "yes" else q.no) if q.answer else level for q in asked]
    return max(given, key=LEVELS.index) if given else level


def _seen(name: str, level: str, certain: bool, night: Night, answers: Mapping[str, str]) -> Seen:
    found = cards.card_for(name, night)
    asked = tuple(_asked(f"{name}.{n}", one, level, answers) for n, one in enumerate(found.get("ask_next", ())))
    extra = [line for part in found.get("plan_text", ()) if all(cards.holds(c, night) for c in part["when"])
             for line in part["do"]]
    entry = sources().get(found["source"], {})
    return Seen(
        name, str(found["name_for_people"]), level, level_after(level, asked), cards.fill([found["says"]], night)[0],
        tuple(cards.fill((*found["do"], *extra), night)), tuple(cards.fill(found.get("do_not", ()), night)),
        tuple(cards.fill(found.get("tell", ()), night)), asked,
        {"title": entry.get("title", found["source"]), "publisher": entry.get("publisher", ""),
         "year": entry.get("year", ""), "place": found["place"], "confirmed": found["confirmed"],
         "applies_to": found["applies_to"], "checked": found["checked"], "review": found["clinician_review"]},
        certain,
    )


def _asked(key: str, one: Mapping[str, str], level: str, answers: Mapping[str, str]) -> Asked:
    after = {answer: level if one[answer] == "stays" else one[answer] for answer in ANSWERS}
    given = answers.get(key, "")
    return Asked(key, one["ask"], after["yes"], after["no"], after["yes"] == level, after["no"] == level,
                 given if given in ANSWERS else "")


def _worked(record: Mapping[str, Any]) -> Worked:
    used = tuple((name.replace("_", " "), f"{u['value']} {u['unit']}".strip(), u["from"])
                 for name, u in record["used"].items())
    return Worked(record["text"], record["level"], used, tuple(record["sources"]), record["defers"],
                  record["outcome"] == "asked_back")


def note(call: Call, night: Night, home: str, by: str) -> str:
    """The note in the order situation, background, assessment, request; each line with its origin. For editing."""
    titles = table("handover_en")["titles"]
    lines = [*_told(call), *nurse_line(night), Line("request", "decided", {}, "nurse")]
    made = [word.Facts(night, {"now": night.now, "home": home, "by": by}).text(titles["desk"])]
    for section in SECTIONS:
        made += ["", f"{titles[section]}:"]
        made += ["- " + titles["origin"].format(text=line.text(night), origin=line.origin)
                 for line in lines if line.section == section and line.name != "request_decide"]
    return "\n".join(made)


def _told(call: Call) -> list[Line]:
    """The words, the cards, what was asked and what was worked out, as lines of the note."""
    levels = table("page_en")["answer"]
    made = [Line("situation", "words", {"words": " ".join(call.words.split())}, "caller")] if call.words else []
    for one in call.cards:
        facts = {"card": one.title, "level": levels[one.level], "now": levels[one.level_now]}
        review = table("handover_en")["titles"]["card_origin"].format(card=one.name, review=one.source["review"])
        made.append(Line("situation", "card" if one.level == one.level_now else "card_answers", facts, review))
        for question in one.asked:
            name = f"asked_{question.answer}" if question.answer else "not_asked"
            made.append(Line("situation", name, {"ask": question.ask}, "caller" if question.answer else "desk"))
    if call.words and not call.cards:
        made.append(Line("situation", "no_card", {}, "desk"))
    for answer in call.worked:
        if answer.asked_back or not answer.used:  # a question back, or no sum
            continue
        text = " ".join(answer.text.split())
        made.append(Line("assessment", "worked", {"text": text}, "worked out by rule"))
    return made

