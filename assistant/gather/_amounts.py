"""Amounts of formula as several questions ask for them: an amount said, a feed, some feeds, the whole day, the log."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from assistant.gather._counts import LEAST_BARE, and_the_others, counted, give_back, not_the_size, of_them, with_others
from assistant.gather._shared import OVER, RATE, check_entry
from assistant.gather._sized import one_measure, sized
from assistant.gather._tally import tally
from assistant.gather._whole_and_part import whole_and_part
from assistant.household.care_plan import Feed
from assistant.night import feed_rate, feed_time, feed_volume
from assistant.numbers.wants import Ask, Used, Want
from assistant.slots import Slots
from knowledge.library import table
from rules.quantity import Quantity, qty

WHOLE_DAY = (
    r"(?:the |a |whole |full |entire )day",
    r"daily",
    r"per day",
    r"in a day",
    r"each day",
    r"today",
    r"all (?:the |his |her |four |three |five |of the )?(?:\w+ )?feeds",
    r"in all",
    r"24 h(?:ours)?",
    r"altogether",
    r"four feeds",
    r"three feeds",
    r"both feeds",
    r"day's",
    r"a day",
    r"\bday",
)
A_DAY = qty(Decimal("23.5"), "h")
ONE_OF_THEM = r"(?:an?|one|each|every|per|the|whole|full|this) (?:\w+ ){0,2}(?:carton|can|tin|bottle|box|pouch|pack)"
A_BAG = r"(?:in|is|of) (?:an?|one|each|every|the|a whole|a full|this) (?:\w+ )?bag"
VOLUME = Want("volume", ("given", "total", "left", "hung", "flush"))
AMOUNT = {"volume": VOLUME, "rate": replace(RATE, told=True), "over": OVER}  # an amount, or a rate and its time


def day_volume(slots: Slots, of: Sequence[Feed] | None = None) -> Quantity | None:
    """The plan's formula of one day, or of some feeds of it; None where a feed's amount is not written."""
    amounts = [feed_volume(f) for f in (slots.night.feeds if of is None else of)]
    if not amounts or any(a is None for a in amounts):
        return None
    total = qty(0, "mL")
    for amount in amounts:
        total = (total + amount).to("mL")
    return total


def fed_all_day(slots: Slots) -> bool:
    """Is the plan's one feed on round the clock?"""
    time = feed_time(slots.night.feeds[0]) if len(slots.night.feeds) == 1 else None
    return time is not None and time >= A_DAY


def named(slots: Slots) -> tuple[Feed, ...]:
    return slots.night.feeds_named(slots.said.heard.text)


def amount(slots: Slots, *, name: str = "volume", check: bool = True, by_count: bool = True) -> Quantity:
    """The amount asked about: said; a number of containers; the feeds named; else the whole day of the plan."""
    if name not in slots.used and slots.said.has(
        *WHOLE_DAY[:3], r"(?:whole|full|entire|regular|normal|usual|ordinary|typical) (?:night|nite|feed|day)",
        r"all night"
    ):
        slots.carried.pop(name, None)  # "and the whole night?": not the amount of before
    by_feed = tally(slots) if by_count else None
    if by_feed is not None:
        slots.used[name] = Used(by_feed, "question")
        return by_feed
    of_a_size = (whole_and_part(slots, name) or sized(slots, name)) if by_count else None
    if of_a_size is not None:
        return and_the_others(slots, of_a_size, name)
    not_the_size(slots, name)
    _no_amount(slots, name)
    said = _rate_by_time(slots, name) if name not in slots.spoken else with_others(slots, name)
    several = counted(slots) or of_them(slots) if by_count and name not in slots.used else None
    if several is not None:
        return and_the_others(slots, several, name)
    said = slots.get(name) if said is None else said
    if said is not None and name in slots.spoken and slots.spoken[name].roles.get("unfed", 0.0) > 0.9:
        return _less_the_unfed(slots, name, said)
    if said is not None:
        feeds = named(slots) or slots.night.feeds
        if check and len(feeds) == 1:
            check_entry(slots, name, said, feed_volume(feeds[0]))
        return said
    if by_count and (one := one_measure(slots, name)) is not None:
        return one
    feeds = named(slots) or _talked_of(slots)
    if not feeds and slots.said.has("(?:is|in|of|from) (?:that|those)") and not slots.said.has(*WHOLE_DAY):
        raise Ask("volume")  # of what was worked out before: it is not known here
    plan = slots.night.plan
    if feeds and slots.said.has(VAGUE_PART):
        raise Ask("volume", code="how_much_in")  # "some of his lunch"
    if not feeds and (len(slots.night.tonight(slots.said.heard.text)) > 1 or _not_in_the_plan(slots)):
        raise Ask("which_feed", names=[feed.name for feed in slots.night.feeds])
    size = plan.formula.container if plan is not None else None
    closed = plan is not None and plan.formula.form == "closed_bag"
    a_bag = by_count and not feeds and slots.said.has(A_BAG)
    if a_bag and not closed:
        raise Ask("volume")
    if by_count and not feeds and size is not None and (a_bag or slots.said.has(ONE_OF_THEM)):
        slots.used["one_of_them"] = Used(size, "care plan")
        found: Quantity = slots.fill(name, size, "care plan")
        return found
    if feeds and not slots.said.has(*WHOLE_DAY[:4]):
        total = qty(0, "mL")
        for feed in feeds:
            volume = feed_volume(feed)
            if volume is None:
                raise Ask("volume")
            total = (total + volume).to("mL")
        found = slots.fill(name, _on_top_of(slots, total), "care plan")
        return found
    of_one = slots.said.has(ONE_FEED) and not slots.said.has(*OF_ALL)
    whole = day_volume(slots) if feeds or not of_one else _one_like_another(slots)
    if whole is None:
        raise Ask("volume")
    slots.fill(name, whole, "care plan")
    return whole


def _on_top_of(slots: Slots, total: Quantity) -> Quantity:
    """ "And with the overnight on top", after the energy of the day's feeds: both together."""
    if "on_top_of" not in slots.carried:
        return total
    before: Quantity = slots.get("on_top_of")
    slots.fill("one_feed", total, "care plan")
    return (before + total).to("mL")


OF_ALL = (r"(?:an?|per|each|every|normal|whole|usual|full|typical|ordinary) day", "daily", "24 h(?:ours|rs)?",
          r"every feed and", r"each feed and")
ONE_FEED = r"(?:an?|one|each|every|per|a single|any) (?:of (?:the|her|his|my|their|our) )?(?:tube |single )?feeds?"
THE_REST = (r"rest of (?:the|his|her|my) (?:day|feeds|others)", r"(?:the )?other (?:feeds|ones)", "everything else")


def _one_like_another(slots: Slots) -> Quantity | None:
    """ "In one of her feeds": where every feed of the plan has the same amount; else which is asked."""
    if len(volumes := {feed_volume(f) for f in slots.night.feeds}) != 1:
        raise Ask("which_feed", names=[feed.name for feed in slots.night.feeds])
    return volumes.pop()


def _less_the_unfed(slots: Slots, name: str, unfed: Quantity) -> Quantity:
    """ "Left 60 of the lunch": the feed, or the day where its other feeds are told to go in, less what was left."""
    feeds = named(slots) or (slots.night.feeds if len(slots.night.feeds) == 1 else ())
    day = slots.said.has(*WHOLE_DAY, *THE_REST)
    whole = day_volume(slots) if day else feed_volume(feeds[0]) if len(feeds) == 1 else None
    if whole is None or len(feeds) != 1 or unfed > (feed_volume(feeds[0]) or whole):
        raise Ask("volume", code="how_much_in")
    slots.used["unfed"] = slots.used.pop(name)
    slots.spoken["unfed"] = slots.spoken.pop(name)
    slots.used[name] = Used((whole - unfed).to("mL"), "question")
    slots.counted.add(name)
    return (whole - unfed).to("mL")


VAGUE_PART = (
    r"(?:some|part|a bit|bits|most|a little|a chunk|not all|not much|nearly all|almost all|the start|a few mls?) of"
    r"|(?:did(?:n't| not)|could(?:n't| not)) finish"
)
CONTINUOUS = (r"continuous\w*", "(?:a|right )?round the clock", "24/7", "day and night", "non-?stop")
A_DAY_LONG = "24 ?h(?:ours|rs)?"
MINUS = (
    r"dropp\w+",
    r"skipp?\w*",
    r"miss\w*",
    r"left? out",
    r"leav\w+ out",
    "except",
    "apart from",
    "but not",
    "nothing at",
)


def _no_amount(slots: Slots, name: str) -> None:
    """What only looks like an amount is given back; a share is one of the feed that is named."""
    spoken = slots.spoken.get(name)
    feeds = named(slots)
    if spoken is None:
        if not feeds and "of_that" in slots.carried:
            raise Ask("volume", code="how_much_in")
        if slots.said.has(*MINUS) and (feeds or any(s.reading("clock") for s in slots.said.spoken)):
            raise Ask("volume")  # the day less a feed: which amount is meant is asked
        return
    reading = spoken.amount.readings[0]
    if reading.kind in ("share", "percent") and reading.unit in ("", "%", "feed", "meal"):
        whole = feed_volume(feeds[0]) if len(feeds) == 1 else None
        if whole is None and (len(feeds) > 1 or len(slots.night.feeds) > 1):
            raise Ask("volume")
        if whole is not None:
            part = Decimal(reading.value) / (100 if reading.kind == "percent" else 1)
            slots.used[name] = Used((whole * part).to("mL"), "question", spoken.amount.text)
    if reading.kind == "number" and reading.value < LEAST_BARE:
        give_back(slots, name)


def _rate_by_time(slots: Slots, name: str) -> Quantity | None:
    """ "If it runs at forty round the clock": what a rate gives in the time said; None where no rate is spoken of."""
    slots.assign(rate=RATE, over=OVER)
    if "rate" not in slots.spoken:
        give_back(slots, "over")
        return None
    over = slots.get("over")
    all_day = slots.said.has(*CONTINUOUS, A_DAY_LONG, "all day(?: long)?", "(?:the |a )?(?:whole|full) day")
    daily = slots.spoken["rate"].amount.readings[0].unit in ("mL/d", "mL/day")  # "her 720 ml of a day"
    if over is None and (all_day or daily or (fed_all_day(slots) and slots.said.has(*WHOLE_DAY))):
        over = qty(24, "h")
        slots.used["over"] = Used(over, "question", "24 h")
    rate, of = slots.get("rate"), named(slots)
    if over is None and (not of or feed_rate(of[0]) != rate):
        over = slots.need("over")
    if over is None:
        give_back(slots, "rate")
        return None
    slots.used[name] = Used((rate * over).to("mL"), "question")
    slots.worked_out.add(name)
    found: Quantity = slots.used[name].value
    return found


def _talked_of(slots: Slots) -> tuple[Feed, ...]:
    """ "... and how many calories is it": the feed that the conversation is about, where the words point back at it."""
    name = slots.night.talked_of
    of_it = slots.said.has(r"(?:is|was|does|are) (?:it|this)")  # "how many kcal is it altogether"
    whole_day = slots.said.has(*(w for w in WHOLE_DAY if not (of_it and w in ("in all", "altogether"))))
    if name is None or not slots.said.has("it", "this", r"^and (?:\w+ ?){1,2}\W*$") or whole_day:
        return ()
    return tuple(f for f in slots.night.feeds if f.name == name)


def _not_in_the_plan(slots: Slots) -> bool:
    """Is a feed named that the plan does not have ("just the overnight")?"""
    names = "|".join(table("feed_names_en"))
    plainly = bool(slots.night.feeds) and slots.said.has(f"(?:the|her|his|my|their|just) (?:{names})")
    by_name = not slots.said.has(*WHOLE_DAY) and slots.night.unknown_feed(slots.said.heard.text) is not None
    return plainly or by_name  # "how many calories overnight"
