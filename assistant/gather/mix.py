"""The plan's powder recipe, scaled. Never another recipe."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any

from assistant.gather._counts import give_back, said_count, with_others
from assistant.night import feed_volume
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty

ANOTHER_RECIPE = (  # the plan's recipe is still told, and whom to call before mixing another way
    r"stronger",
    r"weaker",
    r"thicker",
    r"thinner",
    r"richer",
    r"concentrate\w*",
    r"dilute\w*",
    r"water(?:ed)? (?:it )?down",
    r"(?:extra|more|another|fewer|less) (?:scoops?|powder|water)",
    r"(?:scoops?|powder|water) (?:more|less|fewer)",
    r"(?:double|twice|half|triple|treble) (?:the |as much )?(?:scoops?|powder|water)",
)
_OF_IT = r"(?: ?(?:of|the|a|an|our|my|his|her|their|that|this|plan|plan's|usual|normal|same|full|whole)\b){0,4}"
_RECIPE = r"(?:recipes?|batch(?:es)?|mix(?:es|ture)?|quantit(?:y|ies)|lots?)\b"
WORTH = {"double": 2, "doubled": 2, "doubling": 2, "twice": 2, "triple": 3, "tripled": 3, "treble": 3, "trebled": 3,
         "thrice": 3, "quadruple": 4}
TIMES = re.compile(rf"\b({'|'.join(WORTH)})\b{_OF_IT} {_RECIPE}")
TIMES_AFTER = re.compile(rf"\b{_RECIPE} ({'|'.join(WORTH)})\b")
SO_MANY = re.compile(rf"(?:(?:times|x|lots?)\b)?{_OF_IT} ?{_RECIPE}")
SO_MANY_BEFORE = re.compile(rf"\b{_RECIPE} (?:times|x)$")
MOST_TIMES = 20
A_PAIR = 2


def _times(slots: Slots) -> Decimal | None:
    """ "Double the recipe", "three batches", "half a batch": how many times it is to be made; None: not told."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("number", "count", "share")
        if reading is None or (reading.kind == "count" and reading.unit != "time") or reading.value > MOST_TIMES:
            continue
        if SO_MANY.match(spoken.after) or SO_MANY_BEFORE.search(spoken.before):
            slots.spoken["times"] = spoken
            slots.counted.add("times")
            slots.used["times"] = Used(Decimal(reading.value), "question", spoken.amount.text)
            return Decimal(reading.value)
    named = TIMES.search(slots.said.lower) or TIMES_AFTER.search(slots.said.lower)
    if named is None:
        return None
    return Decimal(slots.fill("times", Decimal(WORTH[named[1]]), "question", named[1]))


def gather(slots: Slots) -> Mapping[str, Any]:
    plan = slots.night.plan
    recipe = plan.formula.recipe if plan else None
    if recipe is None or recipe.powder is None or recipe.water is None or recipe.makes is None:
        raise Ask("recipe")
    times = _times(slots)
    slots.assign(
        powder=Want("mass", (), bare=False),
        water=Want("volume", ("flush",), told=True),
        makes=Want("volume", ("total", "hung", "left", "given")),
    )
    _made_of_both(slots)
    _water_beside_scoops(slots)
    if "makes" in slots.spoken:
        with_others(slots, "makes")
    _for_so_many_feeds(slots)
    slots.defers = slots.said.has(*ANOTHER_RECIPE)
    scoops = said_count(slots, "scoop")
    for name in ("powder", "water", "makes", "scoop"):
        slots.fill(f"recipe_{name}", getattr(recipe, name), "care plan")
    wanted = {n: slots.get(n) for n in ("makes", "powder", "water")}
    first = next((n for n in ("makes", "powder", "water") if wanted[n] is not None), None)
    if scoops is not None and not any(n in slots.spoken for n in wanted):
        first = None  # "and 12 scoops?", after an amount: these, whatever was asked before
    if first is None and scoops is None and times is None and (for_feeds := _of_feeds(slots)) is not None:
        first, wanted["makes"] = "makes", for_feeds
    stated = first is not None or scoops is not None
    if stated if times is not None else not slots.defers and not stated and slots.said.has(*WORTH):
        raise Ask("makes", code="how_much_made")  # so many times, of an amount or of what is not plain
    if times is not None:
        return {**_recipe(recipe), "makes": (recipe.makes * times).to("mL")}
    made = {first: wanted[first]} if first else {"scoops": qty(scoops, "1")} if scoops is not None else {}
    return {**_recipe(recipe), **made}


def _of_feeds(slots: Slots) -> Quantity | None:
    """ "What do I mix for lunch and tea?": what the feeds named take together, by the plan; None where one has none."""
    feeds = slots.night.feeds_named(slots.said.heard.text)
    volumes = [feed_volume(feed) for feed in feeds]
    if len(feeds) > A_PAIR or (slots.said.has("both") and len(feeds) != A_PAIR):
        raise Ask("makes", code="how_much_made")  # one of them may be named beside the question
    if not volumes or any(v is None for v in volumes) or slots.defers:
        return None
    whole: Quantity = sum((v for v in volumes if v is not None), qty(0, "mL")).to("mL")
    slots.fill("makes", whole, "care plan")
    return whole


def _for_so_many_feeds(slots: Slots) -> None:
    """ "Two feeds of 110", "for three feeds": so many times the amount told, or the one that every feed has.

    Raises Ask where the plan's feeds differ.
    """
    for spoken in slots.said.spoken:
        many = spoken.reading("count")
        if many is None or many.unit != "feed" or many.value > MOST_TIMES:
            continue
        each = slots.get("makes")
        if each is None:
            planned = {feed_volume(feed) for feed in slots.night.feeds}
            each = planned.pop() if len(planned) == 1 else None
        if each is None:
            raise Ask("makes", code="how_much_made")
        slots.spoken["feeds"] = spoken
        slots.used["feeds"] = Used(Decimal(many.value), "question", spoken.amount.text)
        slots.counted.add("feeds")
        slots.used["makes"] = Used((each * Decimal(many.value)).to("mL"), "question")
        return


INTO = re.compile(r"(?:of (?:the |that )?powder )?(?:to|in|into|with|for every|per)(?: the| a)?")
OF_MILK = re.compile(r"(?:mls? )?(?:of )?(?:the |his |her |made[- ]up )?(?:milk|feed|formula|mix)\b")


def _water_beside_scoops(slots: Slots) -> None:
    """ "6 scoops to 180": the amount that scoops go into is the water, not what both make."""
    for scoops, spoken in pairwise(slots.said.spoken):
        many, told = scoops.reading("count"), spoken.reading("volume", "number")
        if many is None or many.unit != "scoop" or told is None or OF_MILK.match(spoken.after):
            continue
        if INTO.fullmatch(spoken.before):
            give_back(slots, "makes")
            slots.spoken["water"] = spoken
            slots.used["water"] = Used(measure("volume", told, slots.night), "question", spoken.amount.text)
            return


BOTH = (r"powder and (?:how much |the )?water", r"(?:scoops|tins?) and (?:how much |the )?water",
        r"water and (?:how much |how many |the )?(?:powder|scoops)")


def _made_of_both(slots: Slots) -> None:
    """ "How much powder and water makes up 400?": where both are asked for, the amount is what they make."""
    water = slots.spoken.get("water")
    if water is None or "makes" in slots.spoken or not slots.said.has(*BOTH) or water.after.startswith(OF_WATER):
        return
    slots.spoken["makes"], slots.used["makes"] = slots.spoken.pop("water"), slots.used.pop("water")


OF_WATER = ("water", "of water", "of the water", "of boiled", "of cooled")


def _recipe(recipe: Any) -> dict[str, Any]:
    return {f"recipe_{name}": getattr(recipe, name) for name in ("powder", "water", "makes", "scoop")}
