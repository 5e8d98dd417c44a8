"""Do the numbers that were said fit a question? A light hand on the ranking: it moves near ties, never a clear lead."""

from __future__ import annotations

import re

from assistant import gather
from assistant.asked.asked_for import lifted, outright
from assistant.message import Heard
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Said
from assistant.understand import Candidate
from knowledge.library import table

LEFT_OVER = 0.02  # shares below this say nothing
STRONG, GOOD, POOR, BAD, HARDLY = 1.5, 1.25, 0.8, 0.5, 0.02
DRIPS = re.compile(r"\b(?:drop|drip|gtt|chamber|count|roller|gravity)")
DROPS = re.compile(r"\b(?:drops?|drips (?:a|per)|gtt)\b")
ASKS = re.compile(
    r"\?|\b(?:how|what|whats|wots|when|whens|which|why|can|could|should|shall|will|would|is|does|do|may|remind|tell|if)\b"
)
POWER = re.compile(r"\b(?:batter\w*|charg\w*|(?:un)?plug\w*|mains|power|cordless|bars?|juice|wall|socket|outlet)\b")
IN_A_BAG = re.compile(r"\bin(?:to)? (?:the|a|his|her|my|this|one)(?: \w+){0,4} (?:bag|bottle|pouch|pump)\b")
DAILY = re.compile(r"\b(?:a|per|each|every) (?:day|night|feed)\b|\bdaily\b")
A_STOCK = re.compile(r"\b(?:days?|weeks?|order\w*|deliver\w*|cupboard|closet|trip|away|supplier|travel)\b")
ASKS_WHEN_DUE = re.compile(r"\b(?:when|whens|how long|what time|till? when|until when|due|good (?:for|until|till?))\b")
NOT_OF_A_SET = re.compile(r"\b(?:remind\w*|wake|alarm|batter\w*|prim\w*|block\w*|air|leak\w*|dry|full|log|walk)\b")
CLOCKS = ("clock", "clocks", "daylight", "dst", "spring", "skip", "autumn")

PLAN_RATE = (r"(?:usual|plan|planned|ordered|normal|regular|set|prescribed|same|current) (?:rate|speed|flow)",)
HANGING = {"bag", "bottle", "carton", "pouch", "container", "feed"}
HOW_LONG = HANGING | {"how", "long", "last", "will", "would", "does", "should", "can", "do", "the", "this", "that", "a",
                      "my", "our", "his", "her", "one", "it", "please", "now", "for", "of", "full", "at", "new"}
DONE = {"done", "finish", "finished", "finishes", "end", "ends", "over", "empty", "through"}
WHEN_DONE = HANGING | DONE | {"when", "whens", "what", "time", "does", "will", "is", "would", "should", "the", "this",
                              "his", "her", "my", "our", "it", "be", "going", "to", "up", "at", "please"}


def at_share(candidate: Candidate, p: float) -> Candidate:
    """The same label with another share."""
    return Candidate(candidate.intent, candidate.card, p)


def without_entries(ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The ranking without what would be written down, where something is likely besides; shares still add up to one."""
    return without(ranked, *(c.intent for c in ranked if c.intent.startswith("log_") and c.intent != "log_lookup"))


def without(ranked: tuple[Candidate, ...], *intents: str) -> tuple[Candidate, ...]:
    """The ranking without some labels, where something is likely besides."""
    kept = [c for c in ranked if c.intent not in intents]
    rest = sum(c.p for c in kept)
    return tuple(at_share(c, c.p / rest) for c in kept) if rest >= LEFT_OVER else ranked


def weigh(ranked: tuple[Candidate, ...], said: Said) -> tuple[Candidate, ...]:
    """The ranking with each sum weighed by the kinds of number beside it; shares still add up to one."""
    kinds = _kinds(said)
    if _of_a_set(said.lower, kinds):
        rest = without(ranked, "discard_at")
        return (Candidate("discard_at", None, OF_THE_SET), *(at_share(c, c.p * (1 - OF_THE_SET)) for c in rest))
    return lifted(_weighed(ranked, kinds, said), said.lower, kinds)


OF_THE_SET = 0.9
OF_TIME = frozenset({"start", "finish", "clock", "clock_now", "opened", "last_done"})
OF_SPEED = re.compile(r"\b(?:rates?|speed\w*|fast\w*|slow\w*|quick\w*|turn\w*|up|down|mls?|settings?)\b")


def _of_a_set(text: str, kinds: set[str]) -> bool:
    """ "The new set went on at eight, when is it due off?": of the set, whatever else is asked so."""
    if outright(text) == "log_lookup":
        return False  # "set changed when?": what was done
    asked = beside("of_a_set").search(text) and ASKS_WHEN_DUE.search(text) and not NOT_OF_A_SET.search(text)
    return bool(asked) and not kinds & {"rate", "volume", "number", "off", "energy", "count"}


def _weighed(ranked: tuple[Candidate, ...], kinds: set[str], said: Said) -> tuple[Candidate, ...]:
    powered = bool(POWER.search(said.lower))
    if not kinds and powered:
        return ranked
    logs = not ASKS.search(said.lower) and any(c.intent.startswith("log_") and c.p > 0.1 for c in ranked[:4])
    drips = not DRIPS.search(said.lower) or ({"volume", "rate"} <= kinds and not DROPS.search(said.lower))

    stock = A_STOCK.search(said.lower)

    def weight(intent: str) -> float:
        if intent.startswith("log_"):
            return GOOD
        if intent == "battery" and not powered:
            return HARDLY  # "how long will it last" is the bag's, unless power is spoken of
        if not kinds:
            return 1.0
        of_a_bag = IN_A_BAG.search(said.lower) and (kinds & {"rate", "volume", "number"} or not stock)
        of_a_bag = of_a_bag or ("rate" in kinds and not stock and not DAILY.search(said.lower))
        if intent == "supply" and of_a_bag:
            return HARDLY  # "two cartons in the bag at 72, when does it run out": of the bag, not of the stock
        if intent == "change_rate" and kinds <= OF_TIME and not OF_SPEED.search(said.lower):
            return HARDLY  # "if I put her on at midnight, when is it through": no other rate is spoken of
        if drips and intent == "drops":
            return HARDLY  # "300 left in the drip at 300 an hour" asks about the bag: no drops are spoken of
        return POOR if logs else _fit(intent, kinds)

    moved = [at_share(c, c.p * weight(c.intent)) if c.card is None else c for c in ranked[:12]]
    rest = sum(c.p for c in ranked[12:])
    total = sum(c.p for c in moved) + rest
    return tuple(sorted((at_share(c, c.p / total) for c in moved), key=lambda c: -c.p)) + ranked[12:]


def _kinds(said: Said) -> set[str]:
    found = set()
    for spoken in said.spoken:
        if spoken.roles.get("noise", 0.0) > 0.9:
            continue
        reading, roles = spoken.amount.readings[0], spoken.roles
        kind = reading.kind
        if kind == "number":
            kind = (
                "rate"
                if roles.get("rate", 0) >= max(0.7, roles.get("left", 0))
                else "volume"
                if reading.value >= 100
                else "number"
            )
        if kind == "clock":
            kind = max(("start", "finish", "clock_now", "opened", "last_done"), key=lambda r: roles.get(r, 0.0))
            kind = kind if roles.get(kind, 0) > 0.3 else "clock"
        if kind == "time":
            kind = "off" if roles.get("off", 0) > roles.get("over", 0) else "time"
        found.add(kind)
    if found and said.has(*PLAN_RATE):
        found.add("rate")  # "five hours at the usual rate": the rate is given, not asked
    return found


def _fit(intent: str, kinds: set[str]) -> float:
    """How well the kinds of number said suit a question."""
    rate, volume, time = "rate" in kinds, "volume" in kinds, "time" in kinds
    if intent == "rate_needed":
        return BAD if rate else STRONG if volume and (time or "finish" in kinds) else 1.0
    if intent == "bag_duration":
        return STRONG if rate and volume else GOOD if volume or rate else POOR if time and not volume else 1.0
    if intent == "finish_at":
        return STRONG if "start" in kinds and "finish" not in kinds else GOOD if rate and volume else 1.0
    if intent == "start_by":
        return (
            GOOD
            if "finish" in kinds and "start" not in kinds
            else BAD
            if "start" in kinds and "finish" not in kinds
            else 1.0
        )
    if intent == "change_rate":
        return GOOD if rate and not (volume and time) else 1.0
    if intent == "catch_up":
        return GOOD if "off" in kinds or (time and not rate) else POOR if rate and volume else 1.0
    if intent == "delivered":
        return POOR if "off" in kinds else GOOD if rate and (time or "start" in kinds) else 1.0
    if intent == "pour":
        return GOOD if rate and time else 1.0
    if intent == "clock_change":
        told = (rate and volume) or kinds & {"finish", "start"}  # a sum beside a remark about the clocks
        return HARDLY if told else BAD if rate or volume or "opened" in kinds else POOR
    if intent == "drops":
        return STRONG if kinds & {"drops", "drop_factor"} else POOR
    if intent in ("supply", "containers"):
        return GOOD if "count" in kinds else POOR if rate and volume else 1.0
    if intent == "convert":
        return POOR if rate and (time or volume) else 1.0
    if intent == "syringe":
        return POOR if rate or time else 1.0
    return 1.0


def about_the_clocks(heard: Heard) -> bool:
    """Is the change of the clocks mentioned? Every answer counts real hours, so it is often only a remark."""
    return any(t in CLOCKS for t in heard.tokens)


def by_structure(heard: Heard, ranked: tuple[Candidate, ...], clear: float) -> Candidate | None:
    """A sum with hardly a word beside its numbers is told by their kinds: amount over time, amount at a rate."""
    inside = {i for a in heard.amounts for i in range(a.start, a.end)}
    words = {t for i, t in enumerate(heard.tokens) if i not in inside and t.isalpha()}
    first = [a.readings[0] for a in heard.amounts]
    kinds = {r.kind for r in first}
    if (every := _every_word_known(words, kinds)) is not None:
        return Candidate(every, None, 1.0)
    if len(first) != 2:
        return None
    if (
        any(r.kind == "count" and r.unit in ("container", "bottle") for r in first)
        and ranked[0].p < 0.6
        and words & {"total", "altogether", "come", "each"}
        and not words & {"calories", "kcal", "protein", "days"}
    ):
        return Candidate("convert", None, clear)
    interval = (
        "time" in kinds
        and any(r.kind == "clock" for a in heard.amounts for r in a.readings)
        and "every" in words
        and not words & {"flush", "flushes", "water", "medicine", "meds"}
    )
    if interval and "next" in words:
        return Candidate("finish_at", None, clear)  # "the last was at two, every three hours: when is the next?"
    if ranked[0].p >= clear and ranked[0].intent in gather.names():
        return None
    if interval:
        return Candidate("finish_at", None, clear)
    return _bare_sum(kinds, words, clear) if len(words) <= 4 else None


def _every_word_known(words: set[str], kinds: set[str]) -> str | None:
    """A message of nothing but the plainest words: how long what hangs lasts, when it is done."""
    plain_amounts = kinds <= {"volume", "number", "rate"}
    if words <= HOW_LONG and plain_amounts and {"long", "last"} <= words and (words & HANGING or kinds):
        return "bag_duration"
    if plain_amounts and kinds and words <= HOW_LONG | {"much", "longer"} and "longer" in words:
        return "bag_duration"
    if words <= HOW_LONG | {"left", "what"} and not kinds and {"left", "long", "last"} <= words:
        return "bag_duration"
    if words <= WHEN_DONE and not kinds and words & DONE and words & {"when", "whens", "time"}:
        return "finish_at"
    return None


def _bare_sum(kinds: set[str], words: set[str], clear: float) -> Candidate | None:
    if "energy" in kinds and words & {"x", "times", "each", "at"} and kinds & {"number", "count", "rate"}:
        return Candidate("energy", None, clear)
    if "time" in kinds and kinds & {"volume", "number"} and words & {"over", "in"}:
        return Candidate("rate_needed", None, clear)
    known = HOW_LONG | frozenset(table("turns_en")["words"]["filler"].split())
    if words & {"at", "on"} and words <= known and kinds <= {"volume", "rate", "number"}:  # no "72 bananas"
        return Candidate("bag_duration", None, clear)
    return None
