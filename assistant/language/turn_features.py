"""What a turn of a talk is made of, for the ear that hears it in its place: its words, and what was said before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.language.features import take_apart
from assistant.message import Heard
from assistant.understand import Candidate

SHORT, MIDDLE = 4, 9  # words
WORD, LEAST_TOP = 0.5, 0.3  # what a word counts beside the reply before; the likeliest question counts at least this
LIKELY, VERY = 0.5, 0.9
FIRST = 3  # of the questions that the words alone may ask


@dataclass(frozen=True)
class Before:
    """The reply before: its intent and outcome, what it asked back, and the last sum of the talk (each may be "")."""

    intent: str
    outcome: str
    asks: str = ""
    sum: str = ""


def features(text: str, heard: Heard, before: Before, ranked: Sequence[Candidate]) -> dict[str, float]:
    """Each feature of the turn `text` (plain words) and how much it counts, 0 to 1."""
    prev = before.intent
    words = [w if w.isalpha() else "#" for w in heard.tokens]
    length = "s" if len(words) <= SHORT else "m" if len(words) <= MIDDLE else "l"
    kinds = sorted({a.readings[0].kind for a in heard.amounts}) or ["none"]
    whole = [
        f"prev:{prev}", f"out:{before.outcome}", f"po:{prev}|{before.outcome}", f"len:{length}", f"asks:{before.asks}",
        f"sum:{before.sum}", f"first:{words[0] if words else ''}", f"q:{'?' in text}|{prev}",
        f"top:{'hi' if ranked and ranked[0].p > VERY else 'mid' if ranked and ranked[0].p > LIKELY else 'lo'}",
    ]
    for kind in kinds:
        whole += [f"k:{kind}", f"kp:{kind}|{prev}", f"kl:{kind}|{length}|{prev}", f"ka:{kind}|{before.asks}"]
    half = [f"b:{one}_{other}" for one, other in pairwise(words)]
    for word in set(words):
        half += [f"w:{word}", f"wp:{word}|{prev}"]
    for name, _, _ in take_apart(text).hits:
        half += [f"c:{name}", f"cp:{name}|{prev}"]
    found = dict.fromkeys(half, WORD) | dict.fromkeys(whole, 1.0)
    for at, one in enumerate(ranked[:FIRST]):
        name = "caution" if one.card else one.intent
        found[f"r{at}:{name}"] = one.p if at else max(one.p, LEAST_TOP)
        found[f"rp:{name}|{prev}"] = one.p
    return found
