"""What went in, against what was planned."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

from assistant.gather._amounts import day_volume
from assistant.gather._counts import counted
from assistant.gather._had import feeds_had, in_the_window
from assistant.gather._tally import tally
from assistant.gather._when import now
from assistant.gather.remaining import share_of
from assistant.household.care_plan import Feed
from assistant.household.day_log import feeds_since
from assistant.night import EVENING, feed_volume
from assistant.numbers.wants import Ask, Used, Want, measure, size_of
from assistant.slots import Slots
from rules.quantity import Quantity, qty

OF_A_WHOLE = re.compile(
    r"\b(?:of|from|against|target|goal|plan\w*|order\w*|supposed|meant|should|instead|needs?|due|total)\b"
)


OTHERS = (r"(?:the whole|all|the lot|everything) of (?!it\b|that\b|this\b|them\b|the day\b)",
          r"(?:both |all )?(?:of )?(?:the |her |his |my )?others?(?: two| three)? (?:feeds?|ones?)", r"everything else",
          r"(?:the )?rest of (?:the|her|his|my) (?:feeds|day)")


def _one_feed(slots: Slots) -> Feed | None:
    """ "What percent of last night's feed": one feed against its own amount; None for the day's."""
    feeds = feeds_had(slots)
    if len(feeds) == 1:
        return feeds[0]
    if not feeds and slots.said.has(r"last night'?s (?:feed|bag|run)", r"(?:the )?night'?s feed"):
        evening = [f for f in slots.night.feeds if f.start is not None and f.start.hour >= EVENING]
        return evening[0] if len(evening) == 1 else None
    return None


def _ran_for(slots: Slots) -> Quantity | None:
    """ "Only managed 9 hours at 64 today": what that rate gives in that time."""
    for one, other in pairwise(slots.said.spoken):
        for time, rate in ((one, other), (other, one)):
            long, fast = time.reading("time"), rate.reading("rate", "number")
            joined = other.before.split()[-1:] in (["at"], ["on"], ["for"], ["@"])
            if long is None or fast is None or long.unit not in ("h", "min") or not joined:
                continue
            if fast.kind != "rate" and rate.roles.get("rate", 0.0) < LIKELY:
                continue
            ran, runs_at = measure("time", long, slots.night), measure("rate", fast, slots.night)
            slots.spoken |= {"over": time, "rate": rate}
            slots.used["over"] = Used(ran, "question", time.amount.text)
            slots.used["rate"] = Used(runs_at, "question", rate.amount.text)
            amount: Quantity = (ran * runs_at).to("mL")
            return amount
    return None


def _with_containers(slots: Slots, given: Quantity) -> Quantity:
    """ "3 cartons plus 5 oz today": the cartons as well."""
    told = slots.spoken.get("given")
    for spoken in slots.unused() if told is not None else ():
        many = spoken.reading("count")
        size = size_of("container", slots.night)
        beside = told is not None and told.amount.start - spoken.amount.end <= 2 and told.before in PLUS
        if many is None or many.unit not in ("container", "carton", "can", "bottle") or size is None or not beside:
            continue
        slots.spoken["count"] = spoken
        slots.used["count"] = Used(Decimal(many.value), "question", spoken.amount.text)
        total: Quantity = (given + size * Decimal(many.value)).to("mL")
        slots.used["given"] = replace(slots.used["given"], value=total)
        return total
    return given


ALL_OF_IT = re.compile(r"\b(?:all|full|whole|all of its|complete)$")


def _all_of_another(slots: Slots) -> list[Quantity] | None:
    """ "Only 440 of the day one, then the night one ran through, all 680": a part, and a whole feed of the plan."""
    told = slots.spoken.get("planned")
    if told is None or "given" not in slots.spoken or not ALL_OF_IT.search(told.before):
        return None
    part, other = slots.used["given"].value, slots.used["planned"].value
    if other not in [feed_volume(f) for f in slots.night.feeds] or len(slots.night.feeds_named(slots.said.lower)) < 2:
        return None
    slots.spoken["also"] = slots.spoken.pop("planned")
    slots.used["also"] = slots.used.pop("planned")
    return [part, other]


PLUS = ("plus", "and", "&", "+", "and another", "then", "and then")
LIKELY = 0.5  # how strongly the words speak for a rate


def gather(slots: Slots) -> Mapping[str, Any]:
    plan, by_feed = slots.night.plan, tally(slots)
    if by_feed is None and slots.night.events and (had := in_the_window(slots)) is not None:
        whole = slots.fill("planned", day_volume(slots), "care plan")
        return {"given": [had], "planned": whole, "density": plan.formula.energy if plan else None}
    if by_feed is not None:
        planned = slots.fill("planned", day_volume(slots), "care plan")
        if planned is None:
            raise Ask("volume")
        return {"given": [by_feed], "planned": planned, "density": plan.formula.energy if plan else None}
    run = _ran_for(slots)
    slots.assign(given=Want("volume", ("given", "left")), planned=Want("volume", ("total",), shy=0.2))
    whole = slots.spoken.get("planned")
    if (both := _all_of_another(slots)) is not None:
        day = slots.fill("planned", day_volume(slots), "care plan")
        return {"given": both, "planned": day, "density": plan.formula.energy if plan else None}
    if whole is not None and "given" in slots.spoken and not OF_A_WHOLE.search(whole.before):
        raise Ask("volume")  # "300 last night and the full 420 this morning": two amounts given, not one of the other
    if (whole is not None or "given" in slots.spoken) and slots.said.has(*OTHERS):
        raise Ask("volume", code="how_much_in")  # "380 of the 612, and both the other feeds": more than one feed
    planned = slots.get("planned")
    if planned is None:
        one = _one_feed(slots)
        planned = slots.fill("planned", feed_volume(one) if one else day_volume(slots), "care plan")
    slots.defers = slots.said.has(r"skip\w*", r"leave out", r"drop the", r"miss out")
    given = slots.get("given")
    if given is not None and planned is not None:
        given = share_of(slots, planned, given)
    if given is None and run is not None:
        given = slots.fill("given", run, "question")
    elif given is not None:
        given = _with_containers(slots, given)
    if given is None:
        several = counted(slots)
        if several is not None:
            given = slots.fill("given", several, "question")
    if given is not None:
        amounts = [given]
    else:
        since = now(slots).replace(hour=0, minute=0, second=0, microsecond=0)
        states = feeds_since(slots.night, since) or feeds_since(slots.night, now(slots) - timedelta(hours=24))
        if (only := _one_feed(slots)) is not None:
            states = [s for s in feeds_since(slots.night, now(slots) - timedelta(hours=24)) if s.feed == only.name][-1:]
        if not states or any(s.given is None for s in states):
            raise Ask("volume", code="how_much_in" if states else "nothing_logged")
        amounts = [s.given for s in states]
        total = qty(0, "mL")
        for one_amount in amounts:
            total = (total + one_amount).to("mL")
        slots.used["given"] = Used(total, "feed log")
    return {"given": amounts, "planned": planned, "density": plan.formula.energy if plan else None}
