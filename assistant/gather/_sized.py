"""Things called by what one of them holds: "one of them litre bags", "two of his 110s"; and one measure of the feed."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.numbers.number_pairs import A_SIZE
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Used, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty

_DET = r"(?:the|them|his|her|my|our|your|their|those|these|this|that|it)"
_LED = rf"(?: (?:of|{_DET}|full|whole|sealed|single|little|big))*$"
ONE = re.compile(rf"\b(?:one|each|every|any|a single one|a single|single){_LED}")
BOTH = re.compile(rf"\b(?:both|a pair){_LED}")
BETWEEN = re.compile(rf"(?:of|one|full|whole|sealed|{_DET}| )*")
THINGS = ("bag", "bottle", "carton", "can", "tin", "pouch", "box", "pack", "one", "feed", "container", "bolus")
LEAST = 25  # "110 feeds" is no number of feeds
MOST_OF_THEM = 20


def sized(slots: Slots, name: str) -> Quantity | None:
    """So many of what is called by its size; None where nothing is."""
    several = slots.said.spoken
    for at, spoken in enumerate(several):
        size = _size(spoken, slots)
        if size is None:
            continue
        many = several[at - 1] if at else None
        words = " ".join(slots.said.heard.tokens[max(0, spoken.amount.start - 8) : spoken.amount.start]).lower()
        times = _times(many, spoken, slots)
        if times is None and many is not None and many.amount.end > spoken.amount.start - 8:
            words = spoken.before
        if times is None:
            times = Decimal(1) if ONE.search(words) else Decimal(2) if BOTH.search(words) else None
            many = None
        if times is None:
            continue
        for taken in [n for n, s in slots.spoken.items() if s is many or s is spoken]:
            slots.spoken.pop(taken)
            slots.used.pop(taken, None)
        slots.spoken[name] = spoken
        if many is not None:
            slots.spoken["count"] = many
        slots.used[name] = Used((size * times).to("mL"), "question", spoken.amount.text)
        slots.used["one_of_them"] = Used(size, "question")
        slots.counted |= {name, "count"}
        found: Quantity = slots.used[name].value
        return found
    return None


def _size(spoken: Spoken, slots: Slots) -> Quantity | None:
    first = spoken.amount.readings[0]
    bare = spoken.reading("number")
    if A_SIZE.fullmatch(spoken.amount.text) and bare is not None:
        return qty(bare.value, "mL")
    if first.kind == "count" and first.unit in ("feed", "bag", "bottle", "container") and first.value >= LEAST:
        return qty(first.value, "mL")
    things = spoken.after.split()[:1]
    if not things or things[0].removesuffix("s").removesuffix("e") not in {t.removesuffix("e") for t in THINGS}:
        return None
    if first.kind == "volume":
        found: Quantity = measure("volume", first, slots.night)
        return found
    if bare is not None and bare.value >= LEAST and ONE.search(spoken.before):  # "in one 500 bottle"
        return qty(bare.value, "mL")
    return None


def _times(many: Spoken | None, sized_one: Spoken, slots: Slots) -> Decimal | None:
    """The number told right before it: "two of them", "half of one of the"."""
    if many is None:
        return None
    between = " ".join(slots.said.heard.tokens[many.amount.end : sized_one.amount.start]).lower()
    reading = many.reading("number", "count", "share")
    if reading is None or not BETWEEN.fullmatch(between) or not 0 < reading.value <= MOST_OF_THEM:
        return None
    return Decimal(reading.value)


A_MEASURE = re.compile(
    r"\b(?:(?:per|each|every|in a|in one|to the|to a|a|/) ?(?P<unit>ml|mil|millilit(?:re|er)|cc|lit(?:re|er)|l)"
    r"|(?:per|each|every|to the|/) ?(?P<ounce>(?:fl(?:uid)? )?(?:oz|ounce)))\b"
)


def one_measure(slots: Slots, name: str) -> Quantity | None:
    """ "Grams of protein per litre", "calories in each mL": one of it; None where none is named."""
    found = A_MEASURE.search(slots.said.lower)
    told = any(s.reading("concentration", "density") for s in slots.said.spoken)  # "22 g per litre" tells the label's
    counted = found is not None and any(found["unit"] in (s.amount.text.lower().split() if found["unit"] else ())
                                        for s in slots.said.spoken)  # "a litre and a half of fluid": its own amount
    if found is None or told or counted:
        return None
    unit = "floz_us" if found["ounce"] else "L" if found["unit"].startswith("l") else "mL"
    one: Quantity = slots.fill(name, qty(1, unit), "question", found["ounce"] or found["unit"])
    return one
