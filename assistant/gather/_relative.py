"""A rate told by how much it is changed: "10 faster", "drop it by five", "and twenty less?"."""

from __future__ import annotations

import re

from assistant.gather._shared import ordered_rate
from assistant.numbers.number_pairs import beside
from assistant.numbers.wants import Ask, Used, measure
from assistant.slots import Slots

BY = re.compile(
    r"(?<!made )(?<!make )(?<!caught )(?<!catch )(?<!be )(?<!been )(?<!wake )(?<!hooked )(?<!used )"  # "caught up by 7"
    r"\b(up|rais\w*|increas\w*|bump\w*|turn\w* up|drop\w*|down|lower\w*|reduc\w*|cut|slow\w*)\b"
    r"(?: (?!(?:and|so|be|done|finish\w*|off|over|through|ready|ends?|ended|out)\b)[\w']+)* by(?: about)?$"  # an hour
)
UP = ("up", "rais", "increas", "bump", "turn")
OF_SPEED = re.compile(
    r"(?:mls? |mils? )?(?:an hour |per hour )?(?:slower|faster|quicker|lower|higher)\b|an hour (?:less|more)"
)


def by_so_much(slots: Slots, *, of_the_rate: bool = False) -> None:
    """The rate that a change makes of the rate talked about, else of the ordered one.

    "Less" and "more" alone are about the rate where that is asked about (`of_the_rate`), or one was talked about.
    """
    for spoken in slots.said.spoken:
        reading, by = spoken.reading("rate", "number"), BY.search(spoken.before)
        more = beside("made_more").search(spoken.after) is not None
        if reading is None or not (by or more or beside("made_less").search(spoken.after)):
            continue
        if spoken.reading("time", "clock") is not None and not by:
            continue
        before = slots.carried.get("rate")
        if before is None and not (of_the_rate or by or reading.kind == "rate" or OF_SPEED.match(spoken.after)):
            continue  # "40 more": of what? asked about
        base = before.value if before is not None else ordered_rate(slots)
        if base is None:
            raise Ask("rate")
        more = by.group(1).startswith(UP) if by else more
        change = measure("rate", reading, slots.night)
        if not more and change >= base:
            raise Ask("rate")
        for name in [n for n, s in slots.spoken.items() if s is spoken]:
            slots.used.pop(name, None)
            slots.spoken.pop(name)
        slots.spoken["rate"] = spoken
        slots.used["rate"] = Used((base + change if more else base - change).to("mL/h"), "question", spoken.amount.text)
        slots.counted.add("rate")
        if before is None:
            slots.fill("ordered_rate", base, "care plan")
        return
