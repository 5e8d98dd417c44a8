"""Walk-throughs: which guide the words ask for, its steps with this person's numbers, and how people move about in one.

Guides are data (knowledge/guides/), and so are the words for them (knowledge/guide_words_en.toml).
"""

from __future__ import annotations

import re
import string
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Any

from assistant import word
from assistant.dialogue import Talk
from assistant.household.care_plan import Feed
from assistant.night import Night
from assistant.slots import Used
from assistant.walk.guide_amounts import amounts
from knowledge.library import load, table
from rules.outcome import Figure

WORDS = "guide_words_en"
NO_STOMACH_PORT = frozenset({"jejunostomy", "nasojejunal"})
THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}\b)")  # "1,344" could be read as a decimal: a step writes 1344
HOLE = frozenset({"gastrostomy", "gastrojejunal", "jejunostomy"})
MOVES = (
    "stop",
    "over",
    "skip",
    "wait",
    "here",
    "repeat",
    "slower",
    "rate",
    "amounts",
    "why",
    "back",
    "next",
)  # tried in this order
SHORT = 6  # words of a message that picks one of the guides offered
ASKED = ("skip", "over", "danger", "running", "again", "log")  # questions of the guide that want a yes or no
INTENTS = ("guide", "next_step", "previous_step")
OWN_INTENT = {"next": "next_step", "back": "previous_step", "slower": "slower", "repeat": "repeat"}


@dataclass(frozen=True)
class Step:
    """One act, worded to be seen and to be heard, with what its numbers are and rest on."""

    name: str
    must: bool
    text: str
    speech: str
    why: str = ""
    source: str = "common-practice"
    place: str = ""
    log: str = ""  # what may be written down once it is done: a kind of the feed log
    figures: Mapping[str, Figure] = field(default_factory=dict)
    used: Mapping[str, Used] = field(default_factory=dict)


def names() -> tuple[str, ...]:
    return tuple(n for n in load("guides") if not n.startswith("_"))


def guide(name: str) -> Mapping[str, Any]:
    return load("guides")[name]


def lines() -> Mapping[str, Any]:
    return table(WORDS)["lines"]


# -- what the plan is like ----------------------------------------------------------------------------------------


def codes_of(night: Night, feed: Feed | None = None) -> set[str]:
    """The conditions that steps may ask for (guide_words_en.toml, [names])."""
    plan = night.plan
    if plan is None:
        return {"no_plan"}
    age, kind, when = plan.person.age_group_on(night.today), (plan.tube.kind or "").lower(), plan.flushes.when
    found = {
        "has_pump": any(f.method == "pump" for f in plan.feeds),
        "jejunal": night.jejunal,
        "nasal": plan.route.startswith("naso"),
        "gastrojejunal": plan.route == "gastrojejunal",
        "no_stomach_port": plan.route in NO_STOMACH_PORT,
        "gastric_hole": plan.route in HOLE,
        "balloon": plan.tube.balloon_water is not None or "balloon" in kind,
        "button": "button" in kind or "low-profile" in kind,
        "flush_before": "before_feed" in when,
        "flush_after": "after_feed" in when,
        "flush_medicine": "after_medicine" in when,
        "flush_every": plan.flushes.every is not None,
    }
    made = {code for code, holds in found.items() if holds} | set(plan.person.notes)
    return made | {c for c in (age, plan.formula.form, feed.method if feed else None) if c}


def holds(entry: Mapping[str, Any], codes: set[str], needs: str = "needs") -> bool:
    return codes.issuperset(entry.get(needs, ())) and not codes.intersection(entry.get("unless", ()))


def refusal_of(name: str, night: Night) -> Mapping[str, Any] | None:
    """Why a guide does not fit this plan, or None."""
    codes = codes_of(night)
    return next((r for r in guide(name).get("refuse", ()) if holds(r, codes, "when")), None)


# -- steps --------------------------------------------------------------------------------------------------------


def steps_for(name: str, night: Night, feed: Feed | None = None, started: datetime | None = None) -> tuple[Step, ...]:
    """The guide's steps that fit the plan, with its numbers filled in; in order, all of one wording each."""
    made = amounts(night, feed, started or night.now)
    codes = codes_of(night, feed) | made.codes
    facts = word.Facts(night, made.facts)
    found = []
    for given in guide(name)["step"]:
        entry = {**guide("_shared")[given["use"]], **given} if "use" in given else given
        if not holds(entry, codes):
            continue
        says = word.pick(entry.get("says", ({"text": entry.get("say")},)), facts, codes)
        assert says is not None, f"{name}: no wording of {entry} fits"
        about = says if "source" in says else entry
        source = about.get("source", "common practice")
        spoken = says.get("speech", entry.get("speech", says["text"]))
        fields = [f for t in (says["text"], spoken) for _, f, _, _ in string.Formatter().parse(t) if f]
        found.append(
            Step(
                name=entry.get("name", given.get("use")),
                must=bool(entry.get("must")),
                text=THOUSANDS.sub("", facts.text(says["text"])),
                speech=facts.speech(spoken),
                why=entry.get("why", ""),
                source="common-practice" if source == "common practice" else source,
                place=about.get("place", ""),
                log=entry.get("log", ""),
                figures=dict(made.figures[f] for f in fields if f in made.figures),
                used={n: u for f in fields for n, u in made.used.get(f, {}).items()},
            )
        )
    return tuple(found)


# -- moving about -------------------------------------------------------------------------------------------------


@cache
def pattern(words: str, whole: bool = False) -> re.Pattern[str]:
    """Words of a knowledge file as a pattern: somewhere in a message, or the `whole` of one."""
    return re.compile(rf"(?:{words})" if whole else rf"(?<![\w'])(?:{words})(?![\w'])", re.IGNORECASE)


def asking(talk: Talk) -> str | None:
    """The guide's own question, while it is the last thing that was said."""
    fresh = talk.asks is not None and talk.last is not None and talk.last["intent"] in INTENTS
    return (talk.guide or {}).get("asked") if fresh else None


def move(text: str, talk: Talk) -> str | None:
    """What a message does in the guide that is open: one of MOVES, yes, no; None where it is something else.

    A bare "ok" or "yes" is "next" only where the last thing said was a step: after anything else it may be about
    that, so the step is said again; and where something was asked, it is the answer to that.
    """
    words = table(WORDS)["turns"]
    said = re.sub(r"[^\w' -]+", " ", text.lower())
    said = re.sub(r"\s+", " ", pattern(words["swearing"]).sub(" ", said)).strip(" -")
    edge = words["polite"]
    bare = re.sub(rf"^(?:{edge} +)+|(?: +{edge})+$", "", said).strip()
    moves = (*(("yes", "no") if asking(talk) in ASKED else ()), *MOVES, "assent")
    for form in dict.fromkeys((said, bare)):
        for kind in moves:
            again = rf"(?:{words[kind]})(?: (?:{words[kind]}))*"
            if form and pattern(again, True).fullmatch(form):
                return _assent(talk) if kind in ("next", "assent") and only_assents(form) else kind
    return None


def choice_at(text: str, choices: Sequence[Mapping[str, Any]]) -> int | None:
    """Which of the guides offered a message picks: by number, by its label, or by words that only one label has."""
    said = text.lower().strip(" .!?")
    if only_assents(said):
        return None  # "yes" to three guides picks none
    at = next((int(n) - 1 for n, words in table("turns_en")["choices"].items() if said in words), None)
    if at is not None:
        return at if at < len(choices) else None
    vague = set(table(WORDS)["turns"]["vague"].split("|"))
    own = [set(re.findall(r"\w{4,}", c["label"].lower())) - vague for c in choices]
    spoken = set(re.findall(r"\w{4,}", said))
    fits = [i for i, mine in enumerate(own) if spoken & mine - set().union(*(o for o in own if o is not mine))]
    return fits[0] if len(fits) == 1 and len(said.split()) <= SHORT else None


def only_assents(text: str) -> bool:
    return pattern(table(WORDS)["turns"]["assent"], True).fullmatch(text.lower().strip(" .!?")) is not None


def _assent(talk: Talk) -> str | None:
    if asking(talk) in ASKED:
        return "here"  # "ok" to "is it over?" may be no more than "I heard you": it is asked again
    if talk.asks is not None:
        return None
    shown = talk.guide is not None and talk.guide.get("shown") and talk.last is not None
    return "next" if shown and talk.last is not None and talk.last["intent"] in INTENTS else "here"


def guide_turn(text: str, talk: Talk) -> str | None:
    """The intent of a message that moves about in the open guide; None where it asks something else.

    next_step, previous_step, slower, or guide (where was I, why, how much again, skip, wait, stop, start over, yes
    and no to what the guide asked). The guide stays open whatever else is asked.
    """
    if talk.asks == "which_question" and talk.choices and "guide" in talk.choices[0]:
        picks = choice_at(text, talk.choices) is not None
        return "guide" if picks or only_assents(text) else None
    kind = move(text, talk) if talk.guide is not None else None
    if kind == "rate" and talk.guide is not None:
        kind = kind if any(s.get("use") == "rate" for s in guide(talk.guide["guide"])["step"]) else None
    return None if kind is None else OWN_INTENT.get(kind, "guide")
