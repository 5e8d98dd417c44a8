"""Drops a minute for a drip, or the rate that counted drops amount to."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.gather._answered import bare_answer
from assistant.gather._shared import OVER, RATE, check_entry, feed, ordered_rate, said_volume, volume_of
from assistant.household.care_plan import Feed
from assistant.night import feed_rate, feed_time, feed_volume
from assistant.numbers.wants import Ask, Used, Want
from assistant.slots import Slots
from rules import figures
from rules.quantity import number, qty

SET_IS = re.compile(r"\b(?:set|chamber|tubing|line|factor)(?:'s| is| says| gives| does| takes| has| of)?(?: a)?$")
PER_TIME = re.compile(r"(?:a|an|per|in|each|every|/) ?(?:\w+ )?(?:min|sec)")
ONE_DROP = r"(?:an?|one|each|every) (?:drop|drip) (?:per|an?|every|each)"
BY_DRIP = (r"gravity", r"roller", r"drip\w*", r"drops?", r"chamber")
OF_A_SET = ("set", "drop set", "giving set", "drip set", "gravity set")
TO_A_ML = ("per ml", "per mil", "to the ml", "to a ml", "a ml", "a mil", "drops per", *OF_A_SET)
SET = ("set", "giving set", "drip set", "gravity set", "tubing", "line", "chamber")


def gather(slots: Slots) -> Mapping[str, Any]:
    bare_answer(slots, "drop_factor", "drop/mL", "5", "100")
    _to_one(slots)
    _of_the_set(slots)
    slots.assign(
        drop_factor=Want("drop_factor", (), bare=False),
        counted=Want("drops", (), bare=False),
        rate=RATE,
        volume=Want("volume", ("total", "left", "hung"), shy=0.1),
        over=OVER,
    )
    _in_a_minute(slots)
    plan, of = slots.night.plan, feed(slots)
    if "over" in slots.spoken and "rate" not in slots.spoken:
        slots.carried.pop("rate", None)  # "and if I stretch it to 90 minutes?"
    rate, over = slots.get("rate"), slots.get("over")
    rate = _rather_a_rate(slots) if rate is None and over is None else rate
    told = _bare_factor(slots)
    factor = slots.get("drop_factor") if told is None else told
    rate = rate if "rate" in slots.used else None  # the number was the set's
    if factor is None and plan is not None:
        factor = slots.fill("drop_factor", plan.equipment.drop_factor, "care plan")
    if factor is None:
        raise Ask("drop_factor", printed=[f"{number(f, 'drop/mL'):f}" for f in figures.drop_factors(slots.night.today)])
    if "counted" not in slots.spoken and rate is None and slots.said.has(ONE_DROP):
        a_second = slots.said.has(rf"{ONE_DROP} (?:second|sec)s?")
        if a_second or "over" in slots.spoken:
            drop = slots.fill("one", qty(1, "drop"), "question")
            return {"drop_factor": factor, "counted": drop, "counted_over": qty(1, "s") if a_second else over.to("s")}
    counted = slots.spoken.get("counted")
    if counted is not None and rate is not None and slots.used["counted"].value.magnitude == 1:
        counted = None  # "one drop every how many seconds": nothing was counted
    if counted is not None:
        return {"drop_factor": factor, **_counted(slots, over)}
    rate = None if _rather_an_amount(slots, over) else rate
    volume = said_volume(slots, of)
    if rate is not None:
        check_entry(slots, "rate", rate, ordered_rate(slots))
        return {"drop_factor": factor, "rate": rate}
    if volume is not None and over is not None:
        return {"drop_factor": factor, "volume": volume, "over": over}
    if volume is None and of is None:
        of = _dripping(slots)
        if of is not None and over is None and slots.said.has(*BY_DRIP):
            volume = slots.fill("volume", feed_volume(of), "care plan")
            over = slots.fill("over", feed_time(of), "care plan")
            if volume is not None and over is not None:
                return {"drop_factor": factor, "volume": volume, "over": over}
    if over is not None and of is not None:
        return {"drop_factor": factor, "volume": slots.fill("volume", volume_of(slots, of), "care plan"), "over": over}
    if volume is not None and of is not None and of.method != "pump":
        return {"drop_factor": factor, "volume": volume, "over": slots.fill("over", feed_time(of), "care plan")}
    ordered = ordered_rate(slots) if of is None else None
    if of is not None:
        ordered = feed_rate(of)
    if volume is None and ordered is not None:
        return {"drop_factor": factor, "rate": slots.fill("rate", ordered, "care plan")}
    raise Ask("over" if volume is not None else "rate")


def _rather_an_amount(slots: Slots, over: Any) -> bool:
    """ "Three hundred in two hours": the bare number heard as a rate is the amount."""
    spoken = slots.spoken.get("rate")
    if spoken is None or over is None or spoken.amount.readings[0].kind != "number":
        return False
    if spoken.roles.get("total", 0.0) < spoken.roles.get("rate", 0.0):
        return False
    slots.spoken["volume"] = slots.spoken.pop("rate")
    value = number(slots.used.pop("rate").value, "mL/h")
    slots.used["volume"] = Used(qty(value, "mL"), "question", spoken.amount.text)
    return True


def _dripping(slots: Slots) -> Feed | None:
    """One of the plan's feeds by gravity, where they are all alike: whichever is meant, it is the same sum."""
    dripping = [f for f in slots.night.feeds if f.method == "gravity"]
    return dripping[0] if len({(feed_volume(f), feed_time(f)) for f in dripping}) == 1 else None


MOST_AN_HOUR = 150


def _rather_a_rate(slots: Slots) -> Any:
    """ "How many drops a minute for forty?": a bare number, no amount of the plan and no time with it."""
    spoken = slots.spoken.get("volume")
    bare = spoken.amount.readings[0] if spoken is not None else None
    if spoken is None or bare is None or bare.kind != "number" or bare.value in slots.night.ordered_volumes:
        return None
    plainly = max(spoken.roles.get(r, 0.0) for r in ("left", "hung", "given"))
    if bare.value > MOST_AN_HOUR or plainly > spoken.roles.get("total", 0.0):
        return None
    slots.spoken["rate"] = slots.spoken.pop("volume")
    slots.used.pop("volume")
    slots.used["rate"] = Used(qty(bare.value, "mL/h"), "question", spoken.amount.text)
    return slots.used["rate"].value


A_SET = re.compile(r"(?:^| )(?:a|it's a|its a|an)$")


def _bare_factor(slots: Slots) -> Any:
    """ "20 per ml", "drop factor 15": a number that only the words beside it make a drop factor."""
    printed = figures.drop_factors(slots.night.today)
    for spoken in slots.said.spoken:
        reading = spoken.reading("number")
        if reading is not None and (
            spoken.before.endswith(("drop factor", "factor", "drop factor is", "factor of"))
            or (A_SET.search(spoken.before) and qty(reading.value, "drop/mL") in printed and not spoken.after)
            or spoken.after.startswith(TO_A_ML)
        ):
            value = qty(reading.value, "drop/mL")
            slots.used["drop_factor"] = Used(value, "question", spoken.amount.text)
            slots.spoken["drop_factor"] = spoken
            for name in ("rate", "volume"):
                if slots.spoken.get(name) is spoken:
                    slots.used.pop(name)
                    slots.spoken.pop(name)
            return value
    return None


SO_MANY_TO_ONE = re.compile(r"(?:=|is|are|make|makes|to|equals?|for|in)(?: the)?")


def _to_one(slots: Slots) -> None:
    """ "15 drops = 1 mL": the set's factor, told as an equation."""
    for one, other in zip(slots.said.spoken, slots.said.spoken[1:], strict=False):
        drops, volume = one.reading("drops"), other.reading("volume")
        if drops is None or volume is None or not SO_MANY_TO_ONE.fullmatch(other.before):
            continue
        if qty(volume.value, volume.unit) == qty(1, "mL"):
            slots.spoken["drop_factor"], slots.spoken["one_ml"] = one, other
            slots.used["drop_factor"] = Used(qty(drops.value, "drop/mL"), "question", one.amount.text)


def _of_the_set(slots: Slots) -> None:
    """ "A 20 drop set": drops that name the set, not drops that were counted."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("drops")
        of_set = spoken.after.startswith(SET) or (SET_IS.search(spoken.before) and not PER_TIME.match(spoken.after))
        if reading is not None and of_set:
            slots.spoken["drop_factor"] = spoken
            slots.used["drop_factor"] = Used(qty(reading.value, "drop/mL"), "question", spoken.amount.text)
            return


def _in_a_minute(slots: Slots) -> None:
    """ "What should I see in a minute?": what is asked for, no time in which the feed is given."""
    spoken = slots.spoken.get("over")
    if spoken is not None and slots.used["over"].value.to("min").magnitude == 1 and "drops" not in slots.spoken:
        slots.spoken["a_minute"] = slots.spoken.pop("over")
        slots.used.pop("over")


def _counted(slots: Slots, over: Any) -> dict[str, Any]:
    """ "20 drops in 20 seconds", "40 drops a minute"."""
    drops = slots.used["counted"].value
    unit = str(drops.units)
    slots.used.pop("rate", None)
    if "/" in unit or "min" in unit:
        per_minute = drops.m_as("drop/min")
        slots.used["counted"] = Used(qty(per_minute, "drop/min"), "question", slots.spoken["counted"].amount.text)
        return {"counted": qty(per_minute, "drop"), "counted_over": qty(60, "s")}
    if over is None:
        raise Ask("over")
    return {"counted": drops, "counted_over": over.to("s")}
