"""How many containers a feed, a day or a trip takes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import amount, day_volume, named
from assistant.gather._container_size import called_by_its_size
from assistant.gather._shared import check_entry
from assistant.night import feed_volume
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty

GOT = re.compile(r"\b(?:got|have|has|there's|there are|only|with|left)$")
AWAY = (r"(?:trip|holiday|vacation|journey|camp\w*|visit|respite|stay|break|time away|away)",)
OF_A_FEED = (  # "for the night feed for 7 nights", not "for 7 nights, opened ones thrown out"
    r"(?:night|nite|overnight|morning|breakfast|lunch|lunchtime|noon|midday|afternoon|tea|teatime|evening|supper|dinner"
    r"|bedtime|school|daytime|pump|syringe|gravity)(?: time)? (?:feeds?|boluse?s?|ones?)",
)
NOT_KEPT = (
    r"opened (?:ones?|\w+) (?:thrown|binned|chucked|out)",
    r"chuck\w* (?:the )?open\w*",
    r"bin (?:anything|what|the)",
    r"toss\w*",
    r"thrown? (?:out|away)",
    r"goes in the trash",
    r"nothing saved",
    r"trash\w*",
    r"discard\w*",
    r"don'?t keep",
    r"nothing kept",
    r"no fridge",
    r"bin(?:ned)? (?:it|them|nightly|every)",
    r"chuck \w+ every night",
    r"can'?t keep",
    r"bin anything",
)
KEPT = (r"fridge", r"keep\w* (?:the|what|it|them)", r"same batch", r"saved")


def gather(slots: Slots) -> Mapping[str, Any]:
    added_up = _added_up(slots)
    called_by_its_size(slots)
    slots.assign(
        volume=Want("volume", ("total", "given", "left")),
        container=Want("volume", ("container",), told=True),
        span=Want("time", ("over",), bare=False),
    )
    _in_store(slots)
    plan = slots.night.plan
    size = slots.get("container")
    if size is None and plan is not None:
        size = slots.fill("container", plan.formula.container, "care plan")
    size = slots.need("container") if size is None else size
    days = _days(slots)
    if (
        slots.said.has(r"(?:how )?many more", r"still (?:need|to open)")
        and slots.get("volume") is None
        and added_up is None
    ):
        raise Ask("volume")  # "how many more tonight": what is still to give is not said
    if days is None and slots.said.has(*AWAY):
        raise Ask("days")  # "for the trip": for how long is not said
    if (daily := _so_many_a_day(slots, size)) is not None:
        return {"volume": daily, "container": size, "days": days, "stated": True, "keeps": True}
    feeds = named(slots)
    said = added_up if added_up is not None else _stated(slots)
    if said is not None:
        if len(feeds) == 1:
            check_entry(slots, "volume", said, feed_volume(feeds[0]))
        return {"volume": said, "container": size, "days": days, "stated": True, "keeps": not slots.said.has(*NOT_KEPT)}
    of = feeds if feeds and (days is None or slots.said.has(*OF_A_FEED)) else slots.night.feeds
    by_day = day_volume(slots, of) if days is not None else None
    volume = amount(slots, by_count=False) if days is None else slots.fill("volume", by_day, "care plan")
    if volume is None:
        raise Ask("volume")
    closed = bool(plan and plan.formula.form == "closed_bag")
    keeps = not closed and not slots.said.has(*NOT_KEPT)
    return {
        "volume": volume,
        "container": size,
        "days": days,
        "pump_feeds": sum(f.method == "pump" for f in of),
        "priming": slots.fill("priming", plan.equipment.priming_volume, "care plan")
        if plan and any(f.method == "pump" for f in of)
        else None,
        "keeps": keeps,
    }


MOST_A_DAY = 30
A_DAY = re.compile(r"(?:of (?:them|those|these) )?(?:a|per|each|every|in a) day\b|daily\b")


def _so_many_a_day(slots: Slots, size: Quantity) -> Quantity | None:
    """ "She gets 5 a day, how many for a week?": pieces, where no unit makes an amount of them."""
    for spoken in slots.said.spoken:
        bare, daily = spoken.amount.readings[0], spoken.reading("rate")
        many = bare.value if bare.kind == "number" and A_DAY.match(spoken.after) else None
        if daily is not None and daily.unit in ("mL/d", "mL/day") and not re.search(r"m[il]", spoken.amount.text):
            many = daily.value
        if many is not None and many <= MOST_A_DAY:
            slots.spoken["count"] = spoken
            come_to: Quantity = (size * many).to("mL")
            slots.used["volume"] = Used(come_to, "question", spoken.amount.text)
            return come_to
    return None


def _in_store(slots: Slots) -> None:
    """ "We've got 40, enough?": so many pieces, no amount of formula; for how long is asked."""
    spoken = slots.spoken.get("volume")
    if spoken is not None and spoken.amount.readings[0].kind == "number" and GOT.search(spoken.before):
        raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def _stated(slots: Slots) -> Any:
    """The amount said now or before; not the plan's own, that an earlier answer was worked out from."""
    before = slots.carried.get("volume")
    return slots.get("volume") if slots.has("volume") or (before is not None and before.origin == "question") else None


def _added_up(slots: Slots) -> Any:
    """ "Eighty five for fourteen hours", "plus 3 boluses of 120": what they come to; None without such a term."""
    total, words = qty(0, "mL"), []
    for number, (one, other) in enumerate(zip(slots.said.spoken, slots.said.spoken[1:], strict=False)):
        if (term := _rate_times_time(slots, one, other)) is not None:
            names = ("rate", "over")
        elif (term := _feeds_times_volume(slots, one, other)) is not None:
            names = ("feeds", "each_feed")
        else:
            continue
        total = (total + term[0] * term[1]).to("mL")
        words += [one.amount.text, other.amount.text]
        for name, spoken, value in zip(names, (one, other), term, strict=True):
            name = name if name not in slots.spoken else f"{name}_{number}"
            slots.spoken[name] = spoken
            slots.used[name] = Used(value, "question", spoken.amount.text, spoken.amount.in_words)
    if not words:
        return None
    slots.used["volume"] = Used(total, "question", ", ".join(words))
    return total


def _rate_times_time(slots: Slots, one: Spoken, other: Spoken) -> tuple[Any, Any] | None:
    fast, time = one.reading("rate", "number"), other.reading("time")
    if fast is None or time is None or time.unit not in ("h", "min"):
        return None
    if fast.kind != "rate" and one.after not in ("for", "x", "over", "times") and one.roles.get("rate", 0.0) <= 0.6:
        return None
    return measure("rate", fast, slots.night), measure("time", time, slots.night)


def _feeds_times_volume(slots: Slots, one: Spoken, other: Spoken) -> tuple[Any, Any] | None:
    feeds, volume = one.reading("count"), other.reading("volume", "number")
    if feeds is None or feeds.unit not in ("feed", "meal", "dose") or volume is None:
        return None
    if one.after not in ("of", "x", "at", "@", "times", "each of", ""):
        return None
    return Decimal(feeds.value), measure("volume", volume, slots.night)


WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SPAN = ("to", "till", "until", "through", "thru", "-", "–")


def _listed_days(slots: Slots) -> Any:
    """ "Friday, Saturday and Sunday", "friday to monday": so many days, both ends counted; None where one is named."""
    named = [s for s in slots.said.spoken if s.amount.readings[0].kind in ("day", "date")]
    days = [str(s.amount.readings[0].value) for s in named]
    if len(set(days)) < 2:
        return None
    dash = "-".join(re.escape(s.amount.text) for s in named)  # "fri-sun": the dash within a word is no word of its own
    joined = len(named) == 2 and (named[1].before in SPAN or re.search(dash, slots.said.heard.text, re.IGNORECASE))
    if joined and set(days) <= set(WEEK):
        many = (WEEK.index(days[1]) - WEEK.index(days[0])) % len(WEEK) + 1
    elif all(s.before in ("", "and", "&", "plus", "and then") for s in named[1:]):
        many = len(set(days) - {"tonight"} | ({"today"} if "tonight" in days else set()))
    else:
        raise Ask("days")
    slots.used["days"] = Used(qty(many, "day"), "question", ", ".join(s.amount.text for s in named))
    return slots.used["days"].value


AS_WELL = (r"as well", "too", "also", r"thrown in", r"throw in", r"chuck\w* in", r"on top", "extra", "added", "add",
           "plus", r"in addition", r"besides", r"another", r"more")
THAT_ALONE = ("only", "just", "alone", "instead", r"on its own", r"by itself", r"not", r"rather")


def _days_more(slots: Slots) -> Any:
    """ "And with the Monday thrown in", after Saturday and Sunday: those days and that one. "And Monday?": asked."""
    before = slots.carried.get("days")
    named = {str(s.amount.readings[0].value) for s in slots.said.spoken if s.amount.readings[0].kind in ("day", "date")}
    if before is None or not named or slots.said.has(*THAT_ALONE):
        return None
    till = len(named) == 1 and slots.said.has(r"till?", "until", "through", "thru", "to")  # how many more is not said
    if till or not slots.said.has(*AS_WELL):
        if len(named) == 1:
            raise Ask("days")
        return None
    slots.used["days"] = Used(before.value + qty(len(named), "day"), "question", before.words)
    return slots.used["days"].value


def _days(slots: Slots) -> Any:
    """The span in days: said as days, nights or weeks, or "a week", "the weekend"."""
    span = slots.spoken.get("span")
    if span is not None and span.amount.readings[0].kind == "number":  # "and five?", after three days
        slots.used["days"] = Used(slots.used["span"].value.to("day"), "question", span.amount.text)
        return slots.used["days"].value
    for spoken in slots.said.spoken:
        reading = spoken.reading("time")
        if reading is not None and reading.unit in ("day", "week"):
            slots.spoken["days"] = spoken
            slots.used["days"] = Used(measure("time", reading, slots.night).to("day"), "question", spoken.amount.text)
            return slots.used["days"].value
        count = spoken.reading("count")
        if count is not None and count.unit in ("night", "day") and Decimal(count.value) > 0:
            slots.spoken["days"] = spoken
            slots.used["days"] = Used(qty(Decimal(count.value), "day"), "question", spoken.amount.text)
            return slots.used["days"].value
    if (more := _days_more(slots)) is not None:
        return more
    if (listed := _listed_days(slots)) is not None:
        return listed
    for words, days in (
        ((r"(?:a|the|one|next|whole|full|entire) (?:full |whole |entire |solid )?week", r"for (?:a|one) week"), 7),
        ((r"fortnight",), 14),
        ((r"(?:a|the|this|long )?weekend",), 2),
        ((r"(?:in|for|of|over) (?:a|an|one|any) (?:\w+ )?day", r"(?:in|for) a day"), 1),
        ((r"(?:a|the|one) month",), 30),
    ):
        if slots.said.has(*words):
            return slots.fill("days", qty(days, "day"), "question")
    return slots.get("days")  # "they're 250s", after how many for a week
