"""Words that leave the flushes out of a day's water, and those that ask for them alone."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from assistant.numbers.number_pairs import beside
from assistant.numbers.wants import Ask, Used
from assistant.slots import Slots

NO_FLUSHES = (
    r"(?:ignor\w+|without|not counting|forget\w*|never mind|skip|apart from|excluding|minus|not) (?:\w+ )?flush\w*",
    r"(?:just|only) the (?:formula|feed)(?!,? (?:and|plus|with) (?:the |his |her |my )?(?:\w+ )?flush)",
    r"before flush\w*",
    r"no flush\w*",
    r"still (?:have|need|got) to (?:push|give|flush|add|put)",
    r"leav\w+ out (?:the )?flush\w*",
    r"(?:just|only|purely) (?:out of|from|in)",
    r"(?<!flush )(?<!flushes )(?:on its own|by itself)",
)


ONLY_FLUSHES = (
    r"flush\w*(?: water)?(?: (?:is|by|just))? (?:itself|themselves|alone|only|on (?:its|their) own)",
    r"(?:just|only) (?:the )?(?:flush\w*|water flush\w*)",
    r"(?:not|without|excluding|leaving out|minus|apart from) (?:counting |including |with )?(?:the |what's in the )?"
    r"(?:feeds?|formula|milk)",
)


COUNTS_FLUSHES = (
    r"(?:total|daily|day's|whole day's) (?:water )?flush\w*",
    r"flush\w*(?: water)? (?:a|per|in a|each|every|for the) (?:whole )?day",
    r"how (?:many|much) flush\w*",
    r"how many times (?:\w+ ){0,5}flush\w*",
)
WITH_FLUSHES = (r"(?:with|and|plus|including|incl|counting|on top of|as well as|from) (?:\w+ ){0,3}flush\w*",)


def flushes_alone(slots: Slots) -> bool:
    """ "How many flushes a day?", and not "how much water with all the flushes a day?"."""
    counted = slots.said.has(*COUNTS_FLUSHES) and not slots.said.has(*WITH_FLUSHES, "goal", "formula", "milk")
    return counted or slots.said.has(*ONLY_FLUSHES)


def without_flushes(slots: Slots, in_the_formula: str) -> bool:
    """Of the formula alone: told now, or before and nothing said of flushes since ("and 500?")."""
    named = slots.said.has(r"flush\w*")
    alone = slots.said.has(*NO_FLUSHES) or (slots.said.has(in_the_formula) and not named)
    if alone or ("no_flushes" in slots.carried and not named):
        slots.used["no_flushes"] = Used(True, "question")
        return True
    return False


def lots_of_medicine(slots: Slots) -> None:
    """ "Three lots of tablets and all": as the plan has it; another number of them is asked about."""
    plan = slots.night.plan
    for spoken in slots.said.spoken:
        many = spoken.reading("number", "count")
        if many is None or not beside("lots_of_medicine").match(spoken.after):
            continue
        if plan is None or many.value != plan.flushes.medicines_a_day:
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)
        slots.spoken["medicines"] = spoken


def as_many(slots: Slots) -> Decimal | None:
    """ "And with 40s?", after ten flushes of 30: as many of them."""
    told = slots.spoken.get("flush")
    before = slots.carried.get("flush_count")
    if before is None or told is None or len(slots.said.spoken) != 1:
        return None
    slots.counted.add("flush")
    return Decimal(before.value)


ON_TOP = ("extra", "more", "on top", "additional", "as well", "also", "too", "with that", "besides", "another",
          r"(?:sips?|drinks?|sipped|drank|sipping|drinking)")


def of_each(slots: Slots) -> bool:
    """Is an amount of water that of one flush, and not all that was flushed? So is another amount after the day's."""
    named = slots.said.has("each", "every", "a flush", "per flush", "flushes of")
    return named or ("flush" in slots.carried and not slots.said.has(*ON_TOP))


def by_mouth(slots: Slots, made: dict[str, Any]) -> None:
    """ "She sips about 200 as well, with that?": what was said to come on top of the sum."""
    on_top = slots.get("extra_water")
    if on_top is not None:
        made["extra"] = (made["extra"] + on_top).to("mL") if "extra" in made else on_top


IN_THE_FORMULA = (
    r"water(?:'?s)? (?:is |is there |comes |does \w+ get |(?:do )?(?:i|we|he|she|they) gets? )?"
    r"(?:in|from|out of) (?:[\w.]+ ){0,5}(?:formula|feed|milk|can|carton|bottle|tin|box|boxe|pouche|of it|of that)s?"
    r"|how much (?:(?:of (?:it|that|those|them) )?(?:is|are)|of (?:it|that)'?s)"
    r" (?:(?:really|actually|only|just|plain|pure) )*water"
)
