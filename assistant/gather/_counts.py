"""Numbers of things that were said: containers and what they come to, scoops, feeds."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

from assistant.numbers.number_pairs import A_SIZE, beside
from assistant.numbers.said import Spoken
from assistant.numbers.share_out import NOT_MEANT
from assistant.numbers.wants import Ask, Used, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty

A_SIZE_IN_ML = 90  # a higher number before "bags" is hardly so many of them
ONE_OF_THEM = re.compile(r"\b(?:one|an?|the|this|that|another)(?: of (?:the|those|our|his|her|my|them))?(?: \w+){0,2}$")
ONES = re.compile(r"(?:mls? |mils? )?(?:ones?|size|sized)\b")
OF_THE = r"(?:of)?(?: ?(?:the|those|these|his|her|my|our))?"
LEAST_BARE = 25  # a smaller number without a unit is no amount of formula: hours, a strength, a count


def counted(slots: Slots) -> Quantity | None:
    """ "Four cartons of 250", "3 and a half cartons": a number of containers times their size, said or the plan's."""
    for many, sized in zip(slots.said.spoken, slots.said.spoken[1:], strict=False):
        bare, size_said = many.reading("number", "count"), sized.reading("number")
        beside_it = sized.amount.start - many.amount.end <= 2 and re.fullmatch(OF_THE, sized.before)
        called = A_SIZE.fullmatch(sized.amount.text) or ONES.match(sized.after)
        if bare is not None and size_said is not None and called and beside_it:
            slots.spoken["count"], slots.spoken["container"] = many, sized  # "two 500s"
            slots.used["container"] = Used(measure("volume", size_said, slots.night), "question", sized.amount.text)
            return (slots.used["container"].value * Decimal(bare.value)).to("mL")
    for spoken in slots.said.spoken:
        reading = spoken.reading("count")
        if reading is None or reading.unit not in THINGS:
            continue
        if reading.value >= A_SIZE_IN_ML and ONE_OF_THEM.search(spoken.before):
            slots.spoken["count"] = spoken
            return qty(reading.value, "mL")  # "one of the small 500 bags": what it holds
        size = _size_said(slots, spoken)
        plan = slots.night.plan
        if size is None and plan is not None and reading.unit == "bag" and plan.formula.form != "closed_bag":
            raise Ask("container")  # a bag that is filled at home: what was in it is not known
        if size is None and plan is not None:
            size = slots.fill("container", plan.formula.container, "care plan")
        if size is None:
            raise Ask("container")
        slots.spoken["count"] = spoken
        if "container" not in slots.used:
            slots.used["one_of_them"] = Used(size, "question")
        return (size * (Decimal(reading.value) + _of_another(slots, spoken))).to("mL")
    return None


OF_ANOTHER = re.compile(r"(?:of |a )?(?:another|one more|the next|the last|a \w+)\b")


def _of_another(slots: Slots, many: Spoken) -> Decimal:
    """ "Three cartons and half of another": the half."""
    for spoken in slots.said.spoken:
        share = spoken.reading("share")
        follows = 0 < spoken.amount.start - many.amount.end <= 2 and spoken.before.endswith("and")
        if share is not None and follows and (OF_ANOTHER.match(spoken.after) or OF_ANOTHER.search(spoken.amount.text)):
            slots.spoken["of_another"] = spoken
            return Decimal(share.value)
    return Decimal(0)


REACH = 7  # words
JOINED = re.compile(r"\b(?:and|plus|with|\+|&)\b(?! (?:not|minus|less|without))(?: [a-z']+){0,5}$")


def and_the_others(slots: Slots, several: Quantity, name: str) -> Quantity:
    """ "The first two 130s and all of the overnight 240": what stands beside them is had as well. It fills the slot."""
    for spoken in slots.unused():
        reading = spoken.reading("volume", "number")
        if reading is None or reading is not spoken.amount.readings[0] or reading.value < LEAST_BARE:
            continue
        before = " ".join(slots.said.heard.tokens[max(0, spoken.amount.start - REACH) : spoken.amount.start])
        if spoken.roles.get("noise", 0.0) <= NOT_MEANT and JOINED.search(before):
            slots.spoken[f"as_well_{spoken.amount.start}"] = spoken
            several = (several + measure("volume", reading, slots.night)).to("mL")
            slots.used[name] = Used(several, "question")
    if name not in slots.used:
        slots.used[name] = Used(several, "question")
    return several


MOST_OF_THEM = 20
OF_THEM = re.compile(r"(?:of (?:them|those|these))?(?: then| instead)?")


def of_them(slots: Slots) -> Quantity | None:
    """ "And two?", after what is in one can: so many of them."""
    size = slots.carried.get("one_of_them") or slots.carried.get("container")
    bare = [s for s in slots.said.spoken if s.amount.readings[0].kind == "number"]
    if size is None or len(bare) != 1 or len(slots.said.spoken) != 1 or not OF_THEM.fullmatch(bare[0].after):
        return None
    many = bare[0].amount.readings[0].value
    if many > MOST_OF_THEM or not many:
        return None
    slots.spoken["count"] = bare[0]
    slots.used["one_of_them"] = size
    return (size.value * many).to("mL")


def _size_said(slots: Slots, counted_one: Spoken) -> Quantity | None:
    """How much one holds, where that was said beside the number of them: "four cartons of 250"."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("volume", "number")
        if reading is not None and reading.kind == "number" and reading.value < LEAST_BARE:
            continue  # "one carton of the 1.3": its strength
        size_of_one = spoken.roles.get("container", 0.0)
        if spoken is not counted_one and reading and size_of_one > max(0.4, spoken.roles.get("rate", 0.0)):
            size: Quantity = measure("volume", reading, slots.night)
            plan = slots.night.plan
            own = plan.formula.container if plan else None
            if reading.kind == "number" and spoken.after.startswith(("each", "apiece")) and size != own:
                raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)  # 375 each: mL, or kcal?
            slots.spoken["container"] = spoken
            slots.used["container"] = Used(size, "question", spoken.amount.text)
            return size
    return None


THINGS = ("container", "bag", "bottle")
PLAINLY = 2.0  # how plainly a number is said to be what one holds
OF_SO_MUCH = re.compile(r"(?:of|x|at|each)(?: the| those| these| his| her| my)?")


def not_the_size(slots: Slots, name: str) -> None:
    """ "Two bottles of the hundred": what follows the number of them is what one holds, no amount by itself."""
    mine = slots.spoken.get(name)
    if mine is not None and mine.reading("share") and OF_ANOTHER.match(mine.after):
        give_back(slots, name)  # "two cartons and half of another": counted with them
        return
    things = any((c := s.reading("count")) is not None and c.unit in THINGS for s in slots.said.spoken)
    if mine is not None and things and mine.roles.get("container", 0.0) >= PLAINLY:
        del slots.spoken[name], slots.used[name]  # "two and a half cartons. They're the 330 ones"
        return
    if mine is None or not OF_SO_MUCH.fullmatch(mine.before) or mine.roles.get("container", 0.0) <= 0.4:
        return
    for other in slots.said.spoken:
        count = other.reading("count")
        if count is not None and count.unit in THINGS and other.amount.end <= mine.amount.start <= other.amount.end + 2:
            del slots.spoken[name], slots.used[name]
            return


_POURING = (
    r"pour\w*|empt(?:y|ied|ying)|tip\w*|put|fill\w*|hung|hang\w*|into (?:the|a|his|her|my|this|one)|decant\w*|load\w*"
    r"|add\w*|went in|spiked|up|dump\w*|chuck\w*|slosh\w*|bung\w*|st[iu]ck\w*|shov\w*|drain\w*|glug\w*|transfer\w*"
)
POURING = re.compile(rf"\b(?:{_POURING})\b")
POURED = re.compile(rf"\b(?:{_POURING}|in (?:the|a|his|her|my|this)(?: \w+){{0,5}} (?:bag|bottle|pump))\b")


def poured(slots: Slots) -> Quantity | None:
    """ "Emptied three cartons into the bag": how much was hung, as so many containers; None where none were counted."""
    not_the_size(slots, "volume")
    before = {"one_of_them", "container"} & slots.carried.keys()
    if "volume" in slots.spoken or not (POURED.search(slots.said.lower) or before):
        return None
    return told_by_number(slots)


STILL_THERE = re.compile(r"^(?:and a half )?(?:is |are |still )*(?:left|remaining|to go|hanging)\b")
STILL_BEFORE = re.compile(r"\b(?:still|only|left|down to)(?: got| have| about)*$")


def told_by_number(slots: Slots) -> Quantity | None:
    """ "How long do four cans last at 72?": so many of them, to be hung."""
    found = counted(slots)
    if found is not None:
        slots.carried.pop("priming_volume", None)  # how it hangs now is told anew
        slots.used["volume"] = Used(found, "question", slots.spoken["count"].amount.text)
        words = slots.spoken["count"]
        in_it = bool(POURED.search(slots.said.lower)) and not POURING.search(slots.said.lower)
        in_it = in_it or bool(STILL_THERE.search(words.after) or STILL_BEFORE.search(words.before))
        role = "left" if in_it else "hung"  # "3 cartons in the bag", "two left": what is in it
        slots.spoken["volume"] = replace(slots.spoken["count"], roles={role: 2.0})
    return found


def said_count(slots: Slots, *units: str) -> Any:
    """A number of things said, as a plain number; None where none was."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("count")
        daily = spoken.reading("rate")  # "5 a day x 355 kcal" is heard as a rate a day
        if reading is not None and reading.unit in units:
            slots.spoken[f"count_{reading.unit}_{spoken.amount.start}"] = spoken
            return Decimal(reading.value)
        if daily is not None and daily.unit in ("mL/d", "mL/day") and Decimal(daily.value) <= 30:
            slots.spoken[f"count_{spoken.amount.start}"] = spoken
            return Decimal(daily.value)
    for spoken in slots.said.spoken:  # "5 a day x 355 kcal"
        bare = spoken.reading("number")
        if (
            bare is not None
            and Decimal(bare.value) <= 30
            and spoken.after.startswith(("a day", "x", "per day", "times", "daily", "of them", "at"))
        ):
            slots.spoken[f"count_{spoken.amount.start}"] = spoken
            return Decimal(bare.value)
    return None


ADDED = re.compile(r"\b(?:and|then|plus|\+|&|another|as well as)\b(?!.*\b(?:how|what|when|is|does)\b)")
SAME = re.compile(r"\b(?:that|those|this|the|these|same)$")


def with_others(slots: Slots, name: str) -> Quantity | None:
    """ "Two fifty and then a hundred and eighty today": the amounts that were told one after the other, together."""
    give_back(slots, "rate", "over")
    total: Quantity = slots.used[name].value
    first, parts = slots.spoken[name], {}
    for spoken in slots.unused():
        reading = spoken.reading("volume", "number")
        joined = spoken if spoken.amount.start > first.amount.start else first
        if reading is None or reading is not spoken.amount.readings[0] or not ADDED.search(joined.before):
            continue
        if spoken.roles.get("noise", 0.0) > 0.9 or "noise" in (spoken.likely, first.likely):
            continue
        if reading.kind == "number" and reading.value < 20 and not beside("added_on").search(joined.before):
            continue
        if reading.value == first.amount.readings[0].value and SAME.search(spoken.before):
            continue  # "195 left at 65, and how many calories in that 195": said twice
        more = measure("volume", reading, slots.night)
        total = (total + more).to("mL")
        parts[f"{name}_{spoken.amount.start}"] = Used(more, "question", spoken.amount.text)
        slots.spoken[f"{name}_{spoken.amount.start}"] = spoken
    if parts:
        slots.used.update({f"{name}_{first.amount.start}": slots.used[name], **parts})
        slots.used[name] = Used(total, "question")
    return total


def give_back(slots: Slots, *names: str) -> None:
    """Numbers that play no part after all: left over, to be asked about or said."""
    for name in names:
        slots.spoken.pop(name, None)
        slots.used.pop(name, None)
