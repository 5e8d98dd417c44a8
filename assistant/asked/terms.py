"""What a word of tube feeding means, and why a thing is done: "what is venting", "why do we flush".

The words, and what is told of them, are data: knowledge/terms_en.toml. It is for messages that ask nothing else: no
sum, no value of the plan, no fault of the kit.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from assistant import word
from assistant.message import Heard
from assistant.night import Night
from assistant.understand import elsewhere
from knowledge.library import table

TERM = "the word "  # before the name, where a question hands it on
MOST_WORDS = 24
BESIDE, OF_A_SUM = {"count", "time"}, {"volume", "rate", "energy", "clock"}
SENTENCES = re.compile(r"(?<=[.?!])\s+")


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(table("terms_en")[name], re.IGNORECASE)


@cache
def _asked() -> dict[str, re.Pattern[str]]:
    """For each word, how its meaning is asked."""
    words = table("terms_en")
    made = {}
    for name, term in words["terms"].items():
        called = "(?:[\"']?(?:" + "|".join(term["names"]) + ")[\"']?)"
        ways = "|".join(way.replace("{term}", called) for way in words["asks"])
        made[f"terms.{name}"] = re.compile(rf"(?<![\w'])(?:{ways})(?![\w'-])", re.IGNORECASE)
    return made


@cache
def _named() -> dict[str, re.Pattern[str]]:
    """For each word and each reason, its own names."""
    words = table("terms_en")
    terms = {f"terms.{name}": term["names"] for name, term in words["terms"].items()}
    why = {f"why.{name}": one["words"] for name, one in words["why"].items()}
    return {
        name: re.compile(rf"(?<![\w'])(?:{'|'.join(names)})(?![\w'])", re.IGNORECASE)
        for name, names in {**terms, **why}.items()
    }


def term_asked(text: str, heard: Heard) -> str | None:
    """The word, or the reason, that is asked about; None where a message asks or tells anything else."""
    kinds = {a.readings[0].kind for a in heard.amounts}
    if len(heard.tokens) > MOST_WORDS or kinds & OF_A_SUM:
        return None
    if _pattern("asks_why").search(text):
        found = None if _pattern("not_why").search(text) else _longest(text, "why.")
    elif not kinds <= BESIDE or _pattern("not_the_word").search(text):
        return None
    else:
        found = _asked_outright(text) or _asked_next(text)
    return None if found is None else TERM + found


def _asked_outright(text: str) -> str | None:
    """ "What is a stoma", with nothing beside it that is at home elsewhere ("in leaves")."""
    for name, asked in _asked().items():
        met = asked.search(text)
        if met is not None:
            beside = f"{text[: met.start()]} {text[met.end() :]}"
            return None if elsewhere(beside) and not _pattern("of_the_word").search(beside) else name
    return None


def _asked_next(text: str) -> str | None:
    """ "The letter talks of a residual. What does that mean?" """
    sentences = SENTENCES.split(text.strip())
    if len(sentences) < 2 or not _pattern("asked_after").search(sentences[-1]):
        return None
    return _longest(" ".join(sentences[:-1]), "terms.")


def _longest(text: str, kind: str) -> str | None:
    """Of the words named, the one that is named by most letters: "gastrojejunal" before "jejunal"."""
    words = ((name, named.search(text)) for name, named in _named().items() if name.startswith(kind))
    found = [(len(met[0]), name) for name, met in words if met is not None]
    return max(found)[1] if found else None


def explained(name: str, night: Night) -> dict[str, Any]:
    """The answer: the word in general, and that the care team's own instructions come first."""
    words = table("terms_en")
    kind, which = name.removeprefix(TERM).split(".")
    entry = words[kind][which]
    wording = {"text": f"{entry['text']}\n{words['note']}", "speech": entry["speech"]}
    return word.told("explain", "answered", wording, night, sources=("bagside",))
