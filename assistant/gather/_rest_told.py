"""What has gone in, where only what is left of it is told: the whole less the rest, never by the clock."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.gather._shared import feed, which_feed
from assistant.gather._when import start
from assistant.night import feed_volume
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used
from assistant.slots import Slots
from rules.quantity import Quantity

PLAINLY = 0.3  # how plainly an amount is said to be left
OF_THE_FEED = re.compile(
    r"^(?:ml |mls |mils )?(?:is |are |still )*(?:to (?:go|come|run|give)|of (?:the|his|her|my) feed)"
)

OF_A_RATE = re.compile(
    r"\b(?:old|other|lower|higher|slower|faster|usual|normal|same|first|wrong|right|previous|earlier|day|night|ordered)"
    r" (?:rate|speed|setting|pace|flow|number|one)(?: \w+){0,3}$"
)


def whole_less_rest(slots: Slots) -> Mapping[str, Any] | None:
    """ "There's 150 left in the bag and it started half five, how much has he had?" """
    told = [slots.spoken[n] for n in ("total", "still") if n in slots.spoken]
    if len(told) != 1 or {"given", "rate", "ago", "by"} & slots.spoken.keys() or not _is_left(told[0]):
        return None
    name = "total" if "total" in slots.spoken else "still"
    rest = slots.used[name].value
    if told[0].amount.readings[0].kind in ("share", "percent"):
        return None
    slots.used.pop(name)
    whole = _whole(slots, told[0])
    if rest > whole:
        raise Ask("which_number", code="unclaimed", numbers=told[0].amount.text)
    slots.spoken["rest"] = slots.spoken.pop(name)
    slots.used["rest"] = Used(rest, "question", told[0].amount.text)
    if slots.has("start"):
        start(slots, when="past")
    given = (whole - rest).to("mL")
    slots.used["given"] = Used(given, "question")
    return {"given": given, "volume_limit": whole, "accuracy": None}


def _is_left(spoken: Spoken) -> bool:
    others = max((spoken.roles.get(role, 0.0) for role in ("hung", "total", "given")), default=0.0)
    return spoken.roles.get("left", 0.0) > max(PLAINLY, others)


def _whole(slots: Slots, rest: Spoken) -> Quantity:
    """What it is left of: what was poured by the log; else the feed, where a bag can hold it all."""
    state, of, plan = slots.night.state, feed(slots), slots.night.plan
    on = state is not None and (state.running or state.paused_since is not None)
    if state is not None and on and state.in_bag is not None and state.given is not None:
        poured: Quantity = slots.fill("total", (state.in_bag + state.given).to("mL"), "feed log")
        return poured
    volume = feed_volume(of) if of is not None else None
    if of is None or volume is None:
        raise which_feed(slots)
    bag = plan.equipment.bag if plan is not None else None
    in_one = of.method != "pump" or (bag is not None and volume <= bag) or OF_THE_FEED.match(rest.after)
    if not in_one:
        raise Ask("which_number", code="unclaimed", numbers=rest.amount.text)  # of the bag, or of the feed?
    whole: Quantity = slots.fill("total", volume, "care plan")
    return whole
