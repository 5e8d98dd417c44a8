"""Teach-back: was a step said before it was shown? And settings with deliberate slips. Pure: a seed, no clock.

What the learner says is compared word by word; it is a help for the trainer, never a verdict on a person.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from assistant.hear import digit_by_digit, hear, misheard
from assistant.hear.plain import plain
from assistant.walk.guides import Step
from assistant.wording.speak import in_words
from knowledge.library import table
from rules.quantity import Quantity, is_amount, number, unit_of

WORDS = "practise_en"
STEM = 5  # letters that two forms of a word share: "close", "closing"
SHARE, MOST = 3, 2  # one in so many of the telling words of a step's first sentence is needed, and no more than two
ALIKE = (13, 14, 15, 16, 17, 18, 19)  # each sounds like ten times its last digit: thirteen, thirty


# -- steps --------------------------------------------------------------------------------------------------------


def heard_step(said: str, step: Step) -> str:
    """What the learner's words hold of a step: "said", "amount" (the act, without its amount), or "not_yet"."""
    wanted, told = _telling(step.text), _telling(said)
    first = _telling(re.split(r"[.?!] ", step.text)[0])
    need = max(1, min(MOST, -(-len(first) // SHARE)))
    if len(wanted & told) < need:
        return "not_yet"
    return "said" if all(a in _numbers(said) for a in needed(step)) else "amount"


def needed(step: Step) -> list[Decimal]:
    """The numbers of a step that the learner has to say, as the step shows them."""
    shown = {Decimal(n) for n in re.findall(r"\d+(?:\.\d+)?", step.text)}
    names: Iterable[str] = table(WORDS)["match"]["amounts"]
    values = [step.figures[n].value for n in names if n in step.figures]
    found = [number(v, unit_of(v)) for v in values if is_amount(v)]
    volume = step.used["volume"].value if "volume" in step.used and not step.figures else None
    return [v for v in (*found, *([number(volume, "mL")] if is_amount(volume) else [])) if v in shown]


def _numbers(said: str) -> set[Decimal]:
    """Every number in the learner's words, in figures or in words, digit by digit too ("six four eight")."""
    heard = hear(plain(said))
    found = {Decimal(r.value) for a in heard.amounts for r in a.readings if isinstance(r.value, (int, Decimal))}
    return found | {Decimal(n) for n in re.findall(r"\d+(?:\.\d+)?", said)}


@cache
def _same() -> dict[str, str]:
    return {_stem(word): group[0] for group in table(WORDS)["match"]["same"] for word in group}


def _stem(word: str) -> str:
    return re.sub(r"(?:ing|ed|es|s)$", "", word)[:STEM] if len(word) > STEM - 1 else word


def _telling(text: str) -> set[str]:
    """The words of a text that tell what is done, in one form; words for the same thing are one."""
    empty = set(table(WORDS)["match"]["empty"].split())
    stems = {_stem(w) for w in re.findall(r"[a-z]+", plain(text).lower()) if w not in empty and len(w) > 2}
    return {_same().get(stem, stem) for stem in stems}


# -- settings -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Drill:
    """What the pump shows, or what is heard and shown. `code` is what is wrong with it (practise_en.toml, [slips])."""

    code: str
    facts: Mapping[str, Any]

    @property
    def right(self) -> bool:
        return self.code.endswith("right")


def drills(rate: Quantity, volume: Quantity, seed: int) -> tuple[Drill, ...]:
    """Settings of a pump for a feed of this rate (mL/h) and volume limit (mL): some as planned, most with one slip.

    The same seed gives the same drills. A slip that would leave the plan's own numbers standing is left out.
    """
    chance = random.Random(seed)
    r, v = number(rate, "mL/h"), number(volume, "mL")
    many, part = chance.choice(((Decimal(10), 0), (Decimal("0.1"), 1))), chance.choice((Decimal(10), Decimal("0.1")))
    shown = [
        ("right", r, v, None),
        ("right", r, v, None),
        ("point", r * many[0], v, many[0]),
        ("volume_point", r, v * part, part),
        ("swapped", v, r, None),
        ("digits", _digits_swapped(r), v, None),
    ]
    plan = {"plan_rate": r, "plan_volume": v}
    found = [
        Drill(code, {**plan, "rate": a, "volume": b, "factor": factor})
        for code, a, b, factor in shown
        if code == "right" or (a, b) != (r, v)
    ]
    teen = Decimal(chance.choice(ALIKE))
    found += [_alike(teen, misheard(teen)), _alike(teen, teen)]
    chance.shuffle(found)
    return tuple(found)


def _alike(said: Decimal, shown: Decimal | None) -> Drill:
    assert shown is not None
    facts = {"heard": in_words(said), "digits": digit_by_digit(said), "shown": shown}
    return Drill("alike_right" if said == shown else "alike", facts)


def _digits_swapped(rate: Decimal) -> Decimal:
    """The first two digits that differ change places: 72 -> 27. Where none differ, the rate itself."""
    text = f"{rate.normalize():f}"
    for i in range(len(text) - 1):
        if text[i] != text[i + 1] and "." not in text[i : i + 2] and not (i == 0 and text[1] == "0"):
            return Decimal(text[:i] + text[i + 1] + text[i] + text[i + 2 :])
    return rate
