"""What the stations hand each other. Frozen, without behaviour.

A message travels: Message -> Heard -> Question -> Outcome (see rules/outcome.py) -> Reply.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any


@dataclass(frozen=True)
class Message:
    """Words as they were received, and the instant at which they count (timezone-aware).

    `card`: the danger that was picked from a list by its name, which `text` then is; it needs no hearing.
    """

    text: str
    now: datetime
    card: str | None = None


@dataclass(frozen=True)
class Reading:
    """One fair meaning of a number that was said.

    kind    value                                  unit
    volume  amount                                 mL, L, floz_us, floz_uk, cup, tsp, tbsp, pint
    rate    amount                                 mL/h, mL/min, floz_us/h, L/h, mL/d
    time    length of time                         h, min, s, day, week
    clock   minutes after midnight, 0 to 1439      "24h" when it is plain which half of the day was meant
                                                   (am/pm, 21:15, noon, "in the morning"), else "12h"
    date    "2026-11-29" or "--11-29" (no year)    "date"
    day     "today" "tonight" "tomorrow" "yesterday" "monday" ... "sunday", "14" (the 14th)   "day"
    number  a bare number                          ""
    count   number of things                       container, bag, syringe, feed, flush, scoop, dose, night, meal
    share   fraction of a thing (0.5)              the thing as in count, or "" when unsaid
    percent amount                                 %
    energy  amount                                 kcal, kJ        density: kcal/mL, kcal/floz_us
    mass    amount                                 g, kg, mg, lb, oz, stone
    length  amount                                 cm, mm, in
    french  amount                                 Fr
    temperature  amount                            degC, degF, "deg"
    drop_factor  amount                            drop/mL         drops: drop/min, drop/s, drop
    """

    kind: str
    value: Any
    unit: str = ""


@dataclass(frozen=True)
class Amount:
    """A stretch of words that says a number, with every fair reading of it; one reading when it is clear."""

    text: str
    start: int                      # index of the first token
    end: int                        # index after the last token
    readings: tuple[Reading, ...]
    about: bool = False             # "about", "roughly", "like"
    in_words: bool = False          # said in words: easily misheard numbers are repeated digit by digit
    upper: Decimal | None = None    # "eight or nine": the second number of a range; then ask

    @property
    def clear(self) -> bool:
        return len(self.readings) == 1


@dataclass(frozen=True)
class Heard:
    """Plain words, their tokens, and every number in them: read, or listed as unread."""

    text: str                       # plain words (assistant/hear/plain.py)
    tokens: tuple[str, ...]         # lower case
    amounts: tuple[Amount, ...]
    unread: tuple[str, ...] = ()    # number words or digits that no reading took: ask, never compute


@dataclass(frozen=True)
class Reply:
    """What leaves the program: the answer record as plain data, its text and its spoken form."""

    record: dict[str, Any]
    events: tuple[dict[str, Any], ...] = field(default=())
