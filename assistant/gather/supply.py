"""How long the supplies last, when they run out, by when to order."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import day_volume
from assistant.gather._container_size import counted_by_size
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.numbers.number_pairs import A_SIZE
from assistant.numbers.other_events import of_last_time
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want
from assistant.slots import Slots
from rules.quantity import Quantity, qty

ONE_A_DAY = (r"(?:one|a new one|a fresh one|a bag) (?:a|per|each|every) (?:day|night)",)
DELIVERED = re.compile(
    r"\b(?:came|arrived|(?:were|was|been|got) delivered|delivery (?:came|today|was)|dropped off|brought)\b"
)
IN_ALL = ("in all", "altogether", "all told", "in total", "now have", "left", "already", "have now", "got now",
          "counted", "total", "still", "had", "plus", "and we", "on top")
FEEDING_BAGS = (r"feeding bags?", r"bag sets?", r"giving sets?", r"empty bags", r"sets")


def gather(slots: Slots) -> Mapping[str, Any]:
    stock, pieces = counted_by_size(slots) or _counts(slots)
    if stock is None:
        _the_plans_count(slots)
        stock = slots.get("stock")
    stock = _and_more(slots, stock)
    if stock is not None and DELIVERED.search(slots.said.lower) and not slots.said.has(*IN_ALL):
        raise Ask("containers", code="delivered_or_all")  # "24 cartons came today": on top of what was there?
    pieces = slots.get("pieces_a_day") if pieces is None else pieces  # "we use six a day" holds for the next count
    slots.assign(container=Want("volume", ("container",), shy=0.1, told=True))
    night, plan = slots.night, slots.night.plan
    if stock is None and not slots.night.plan:
        raise Ask("containers")
    shared: dict[str, Any] = {
        "today": night.today,
        "counted": night.today,
        "reorder_lead": slots.fill("reorder_lead", plan.supplies.reorder_lead, "care plan") if plan else None,
    }
    closed = bool(plan and plan.formula.form == "closed_bag")
    feeding_bags = slots.said.has(*FEEDING_BAGS) and not closed
    in_bags = "stock" in slots.spoken and slots.spoken["stock"].amount.readings[0].unit == "bag" and not closed
    if in_bags and pieces is None and slots.said.has(*ONE_A_DAY):
        pieces = Decimal(1)  # "30 bags left, one a night"
    if feeding_bags and pieces is None and (stock is not None or (plan is not None and plan.supplies.bags is not None)):
        pieces = Decimal(1)  # an empty bag holds no formula: a new one each day
    if stock is None and plan is not None:
        supplies = plan.supplies
        counted_by_plan = supplies.bags if feeding_bags and supplies.bags is not None else supplies.containers
        if counted_by_plan is None:
            raise Ask("containers")
        stock = slots.fill("stock", Decimal(counted_by_plan), "care plan")
        _not_another_day(slots, supplies.counted)
        shared["counted"] = slots.fill("counted", supplies.counted or night.today, "care plan")
    assert stock is not None
    if stock < 0:
        raise Ask("containers", code="slip_impossible", said=stock, slot="stock")
    if slots.has("stock") and slots.used["stock"].origin == "question":
        shared["counted"] = _counted_on(slots)
    shared["stock"] = qty(stock, "1")
    shared["until"] = _until(slots)
    if pieces is not None:
        return {**shared, "pieces_a_day": qty(pieces, "1")}
    size = slots.get("container")
    _size_alone(slots)
    if size is None:
        size = slots.fill("container", plan.formula.container, "care plan") if plan else None
    size = slots.need("container") if size is None else size
    return {**shared, "container": size, "daily": _daily(slots), "keeps": not closed}


def _and_more(slots: Slots, stock: Any) -> Any:
    """ "60 cartons and 12 more in the car": all of them."""
    for spoken in slots.unused() if "stock" in slots.spoken else ():
        reading = spoken.reading("count", "number")
        joined = spoken.before.endswith(("and", "plus", "then")) or not spoken.before
        if reading is None or not joined or not spoken.after.startswith(("more", "extra", "others")):
            continue
        if reading is not spoken.amount.readings[0] or spoken.amount.start < slots.spoken["stock"].amount.start:
            continue
        slots.spoken[f"more_{spoken.amount.start}"] = spoken
        stock = stock + Decimal(reading.value)
        words = f"{slots.used['stock'].words}, {spoken.amount.text}"
        slots.used["stock"] = Used(stock, "question", words)
    return stock


def _daily(slots: Slots) -> Quantity:
    """A day's formula by the plan, and what fills the line of each feed by pump."""
    daily, plan = day_volume(slots), slots.night.plan
    if daily is None:
        raise Ask("count")
    if plan is not None and plan.equipment.priming_volume is not None:
        pumps = sum(f.method == "pump" for f in plan.feeds)
        daily = (daily + plan.equipment.priming_volume * pumps).to("mL")
    found: Quantity = slots.fill("daily", daily, "care plan")
    return found


COUNTED = (r"count\w*", "there were", "there was", "had", "we'd", "i'd", "stock ?take", "as of", "delivered",
           "came")
TO_COME = (r"arriv(?:e|es|ing)", "due", "coming", "will", "next", "get here", "turn(?:s|ing)? up", "lands?", "expected")
NOT_THERE = ("short", "missing", "damaged", "broken", "burst", "late", "too few")  # "three boxes short": not the stock
NOW_DAYS = ("today", "tonight", "tomorrow")
UNTIL = re.compile(r"\b(?:until|till?|to|by|before|reach|see|through|past)(?: the| about| around)*$")
SAID_BY = re.compile(r"\b(?:said|says|reckon\w*|promised|delivery|driver)\b")  # "the driver said the 11th"
COUNT_BESIDE = re.compile(r"\b(?:count\w*|stock ?take|as of)\b")


def _counted_on(slots: Slots) -> Any:
    """ "54 cartons, counted on the 20th": the day of the count; today where none is told."""
    if "counted" in slots.carried and "stock" not in slots.spoken:
        return slots.get("counted")
    days = [s for s in _days(slots) if not UNTIL.search(s.before) and not SAID_BY.search(s.before)]
    plainly = [s for s in days if COUNT_BESIDE.search(s.before) or COUNT_BESIDE.search(s.after)]
    plainly = plainly or [s for s in days if _right_after_the_stock(s, slots)]
    days = plainly or ([] if slots.said.has(*TO_COME) or not slots.said.has(*COUNTED) else days)
    if len(days) > 1:
        raise Ask("which_number", numbers=", ".join(s.amount.text for s in days))
    if not days or str(days[0].amount.readings[0].value) in NOW_DAYS:
        return slots.night.today
    return slots.fill("counted", _date(days[0], slots, "past"), "question")


def _not_another_day(slots: Slots, counted: Any) -> None:
    """ "Going by what was counted on the 20th": the plan's own count, where it is of that day; else it is asked for."""
    plainly = [s for s in _days(slots) if COUNT_BESIDE.search(s.before) and not UNTIL.search(s.before)]
    told = [s for s in plainly if str(s.amount.readings[0].value) not in NOW_DAYS]
    if counted is not None and len(told) == 1 and _date(told[0], slots, "past") != counted:
        raise Ask("containers")


def _right_after_the_stock(day: Spoken, slots: Slots) -> bool:
    """ "33 bags on the 3rd": the day is the count's."""
    stock = slots.spoken.get("stock")
    between = slots.said.heard.tokens[stock.amount.end : day.amount.start] if stock is not None else ("?",)
    return set(between) <= {"on", "the", "of", "from", "at"} and not slots.said.has(*TO_COME)


def _until(slots: Slots) -> Any:
    """ "Will they do up to 5 December?": the day that the answer is held against; None where none is told."""
    days = [s for s in _days(slots) if UNTIL.search(s.before)]
    return slots.fill("until", _date(days[0], slots, "future"), "question") if len(days) == 1 else None


def _days(slots: Slots) -> list[Spoken]:
    return [s for s in slots.said.spoken if s.amount.readings[0].kind in ("day", "date")]


def _date(day: Spoken, slots: Slots, when: str) -> Any:
    now = slots.night.now
    at = Reading("clock", now.hour * 60 + now.minute, "24h")
    return resolve(at, now, when, str(day.amount.readings[0].value))[0].date()


def _the_plans_count(slots: Slots) -> None:
    """ "We had the 96, less what went since": the plan's own count, with its own day; no size of a container."""
    counted = slots.night.plan.supplies.containers if slots.night.plan is not None else None
    for spoken in slots.said.spoken:
        if counted is not None and [(r.kind, r.value) for r in spoken.amount.readings] == [("number", counted)]:
            slots.spoken["counted_by_plan"] = spoken


def _size_alone(slots: Slots) -> None:
    """A bare number that the words hardly call a size is none: asked about, where nothing was counted either."""
    spoken, plan = slots.spoken.get("container"), slots.night.plan
    if spoken is None or "stock" in slots.used or A_SIZE.fullmatch(spoken.amount.text):
        return
    own = plan.formula.container if plan is not None else None
    if spoken.amount.readings[0].kind == "number" and slots.used["container"].value != own:
        raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


MOST_IN_A_BOX = 48  # a bare number above is what one holds, in mL


def _in_each(slots: Slots, boxes: Spoken) -> Decimal:
    """ "5 boxes of 12": how many are in each box; 1 where nothing is said, or what is said is their size."""
    for spoken in slots.said.spoken:
        bare = spoken.reading("number")
        beside = spoken.amount.start == boxes.amount.end + 1 and spoken.before.endswith("of")
        if bare is not None and beside and spoken.reading("volume") is None and 1 < bare.value <= MOST_IN_A_BOX:
            slots.spoken["in_each"] = spoken
            return Decimal(bare.value)
    return Decimal(1)


IN_STORE = re.compile(
    r"(?:more |other |of (?:them|these|those) )?(?:left|here|in stock|on the shelf|to (?:go|last)|remaining"
    r"|in (?:the|my|our) (?:cupboard|house|fridge|garage|store|stock|press|pantry|shed|larder|wardrobe|box|boxes"
    r"|closet|basement|cellar|attic|loft|hall|kitchen|cabinet|freezer|storeroom|spare room|utility))\b"
)


GOT = re.compile(r"\b(?:got|have|has|we've|weve|i've|ive|there's|theres|there are|down to|only)$")


def _in_store(spoken: Spoken, number: Decimal) -> bool:
    """ "We've 14 left in the cupboard": a whole number of what stands in store."""
    whole = number == int(number) and spoken.reading("volume") is None
    owned = bool(GOT.search(spoken.before)) and spoken.after in ("", "enough")
    return whole and (owned or bool(IN_STORE.match(spoken.after)))


def _counts(slots: Slots) -> tuple[Decimal | None, Any]:
    """The stock said, and the pieces a day said ("two a night", "@ 2/night")."""
    stock, pieces = None, None
    for spoken in slots.said.spoken:
        reading = None if of_last_time(slots.said.heard, spoken.amount) else spoken.reading("count", "number", "rate")
        again = slots.favours == "stock" and len(slots.said.spoken) == 1  # "and 80?"
        if reading is not None and reading.kind == "number" and (again or _in_store(spoken, Decimal(reading.value))):
            reading = replace(reading, kind="count", unit="container")
        if reading is None or (spoken.reading("volume") is not None and spoken.roles.get("container", 0) > 0.3):
            continue
        daily = spoken.after.startswith(
            ("a day", "in a day", "in the day", "in a night", "a night", "per day", "per night", "/night", "/day",
             "each day", "each night", "every day", "every night", "daily", "nightly", "/ night", "/ day")
        ) or reading.unit in ("mL/d", "mL/day")
        if daily and pieces is None and Decimal(reading.value) > 0:
            pieces = Decimal(reading.value)
            slots.used["pieces_a_day"] = Used(Decimal(reading.value), "question", spoken.amount.text)
            slots.spoken["pieces_a_day"] = spoken
        elif (
            stock is None
            and reading.kind == "count"
            and (
                reading.unit in ("container", "bag", "bottle", "syringe")
                or (reading.unit == "feed" and spoken.after.startswith(("bag", "set")))  # "20 feeding bags"
            )
            and not daily
            and not spoken.after.startswith(NOT_THERE)
        ):
            stock = Decimal(reading.value) * _in_each(slots, spoken)
            slots.used["stock"] = Used(stock, "question", spoken.amount.text)
            slots.spoken["stock"] = spoken
    return stock, pieces
