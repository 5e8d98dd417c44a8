"""What stands beside the question ("The nurse popped in at one.", "Good morning"): it plays no part in the sum."""

from __future__ import annotations

from assistant.asked.terms import term_asked
from assistant.clauses.own_sentence import of_other_things
from assistant.clauses.own_words import named_feed
from assistant.clauses.parts import ENDS_ASKING, SENTENCES
from assistant.clauses.stories import a_story, of_an_old_fever, stands_by_itself
from assistant.danger.here_and_now import told
from assistant.follow.turns import pattern
from assistant.gather import names
from assistant.hear import hear
from assistant.language.features import take_apart
from assistant.language.number_roles import likely_roles
from assistant.numbers.number_pairs import YEARS
from assistant.numbers.other_events import OF_THE_FEED
from assistant.numbers.weighed_roles import RIVALS, SURE
from assistant.understand import elsewhere, rank

NOT_OURS = frozenset({"remark", "out_of_scope", "greet", "thanks", "log_symptom"})
LIKELY, SURELY = 0.5, 0.8
TIRED = "carer_tired"  # how the one who asks is: told beside a question, it is not what is asked
LEAST = 3  # words that a question has
A_FRAGMENT = 8  # words at most that only name which feed is meant
OVER = frozenset({"long_ago", "over_now", "all_well"})
OUTSIDE = ("out_of_scope", "remark")  # together as good as sure of a sentence that tells of other things
LOOKED_UP = ("plan_lookup", "log_lookup", "contact")
COUNTED = frozenset({"other", "number", "mass", "volume", "share", "count"})  # money, rows, cups of coffee
BESIDE = frozenset({"clock", "date", "day", "age"})  # numbers that a remark may hold; a length may be a limit


def without_asides(text: str, feeds: tuple[str, ...] = ()) -> tuple[str, tuple[str, ...]]:
    """The message without what is told beside its question, and the numbers that went with it.

    A sentence is beside the question where it asks nothing, gives no amount of feed, and is by its words a remark, not
    ours, or about what is over. The whole message where nothing in it asks.
    """
    pieces = [p for p in SENTENCES.split(text) if p and p.strip(" .,;?!")]
    if term_asked(text, hear(text)) is not None:
        return text, ()  # "The letter talks of a residual. What does that mean?"
    asking = [p for p in pieces if _asks(p) or _asks_of_ours(p)]
    if len(pieces) < 2 or not asking or any(pattern("then_how_much").match(p) for p in asking):
        return text, ()  # "he weighed 6.5 just now. so with that?"
    if all(pattern("of_what_was_told").match(p) for p in asking):
        return text, ()  # "Burping like a trooper after his feed. Normal?"
    ours = any(map(_asks_of_ours, asking))
    named = all(_stands_alone(p) for p in asking)
    apart = named and all(stands_by_itself(_led_up_to(p), feeds) for p in asking)
    beside = [
        p for p in pieces
        if not _names_what_is_meant(p, feeds) and not _tells_of_the_feed(p) and not _counts_in(p, asking)
        and ((p not in asking and ((apart and a_story(p)) or of_an_old_fever(p)))
        or ((_beside(p) or told("status", p)
            or (p not in asking and (of_other_things(hear(p)) or (ours and _of_other_things(p)))))
        and (named or not _concepts(p) & OF_THE_FEED)
        and not (pattern("of_a_weight").search(text) and any(a.readings[0].kind == "mass" for a in hear(p).amounts))))
    ]
    kept = [p for p in pieces if p not in beside]
    if not beside or not any(p in asking for p in kept):
        return text, ()
    minutes_of_an_hour = any(r.unit == "hand" for a in hear(" ".join(kept)).amounts for r in a.readings)
    if minutes_of_an_hour and any(r.kind == "clock" for p in beside for a in hear(p).amounts for r in a.readings):
        return text, ()  # "the taxi is at five. What's the latest, all in by quarter to?"
    return " ".join(kept), tuple(a.text for p in beside for a in hear(p).amounts if a.readings[0].kind != "day")


def _names_what_is_meant(piece: str, feeds: tuple[str, ...]) -> bool:
    """ "Dry set, her night feed.": how the line is, or which feed is meant, and nothing of how it went."""
    if pattern("set_state").search(piece):
        return True
    short = len(piece.split()) <= A_FRAGMENT
    return short and named_feed(hear(piece), feeds) and not pattern("tells_how_it_went").search(piece)


def _counts_in(piece: str, asking: list[str]) -> bool:
    """ "We go ten days to the coast. How many cans do I carry?", "I'm up at six. What will be left then?", "Counted the
    shelf, 41 of them. When do I order?"."""
    told = [r for a in hear(piece).amounts for r in a.readings]
    counts = any(r.kind in ("number", "count") for r in told) and pattern("stock_told").search(piece)
    if counts and any(pattern("asks_of_stock").search(one) for one in asking):
        return True
    if any(r.kind == "clock" for r in told) and any(pattern("asks_of_then").search(one) for one in asking):
        return True
    days = any(r.unit in ("day", "week", "night") and r.kind in ("time", "count") for r in told)
    return days and any(pattern("how_many_pieces").search(one) for one in asking)


def _tells_of_the_feed(piece: str) -> bool:
    """Do the weights hold a number of it for a rate, an amount, an hour of the feed? Then it is no aside."""
    return any(share >= SURE and role in RIVALS and role != "noise" for role, share in likely_roles(hear(piece)))


def the_question(text: str) -> str | None:
    """What asks in a message, without what leads up to it: a greeting, a sentence told, words before a colon.

    None where that is the whole of it. It is for finding out which question it is; the numbers are the whole message's.
    """
    asking = [p for p in SENTENCES.split(text) if p and _asks(p)]
    asked = " ".join(asking) if asking else text
    shorter = pattern("leads_up").sub("", asked, count=1).strip()
    return shorter if shorter != text and len(shorter.split()) >= LEAST else None


def names_feeding(text: str) -> bool:
    """Is a thing of feeding named?"""
    return bool(_concepts(text) & OF_THE_FEED)


def _asks(piece: str) -> bool:
    return bool(pattern("asks_first").search(piece) or ENDS_ASKING.search(piece) or piece.rstrip().endswith("?"))


def _asks_of_ours(piece: str) -> bool:
    """Does a piece ask one of our questions in its own words? "How long does it keep?" may be of what stands beside."""
    top = rank(_led_up_to(piece))[:1]
    likely = any((c.intent in names() or c.intent in LOOKED_UP) and c.p >= LIKELY for c in top)
    return likely and _stands_alone(piece)


def _led_up_to(piece: str) -> str:
    return pattern("leads_up").sub("", piece, count=1).strip() or piece


def _stands_alone(piece: str) -> bool:
    """Does a piece name what it is about ("how many of them" does not)?"""
    return not pattern("points_back").search(piece) or bool(_concepts(piece) & OF_THE_FEED)


def _of_other_things(piece: str) -> bool:
    """Does a sentence tell of nothing but other things: bingo, a lawnmower, the electric bill, what they cost?"""
    if _asks(piece) or pattern("of_somebody").search(piece) or pattern("what_is_opened").search(piece):
        return False
    kinds = {a.readings[0].kind for a in hear(piece).amounts}
    if _concepts(piece) & OF_THE_FEED and (kinds or not elsewhere(piece)):
        return False
    outside = sum(c.p for c in rank(piece) if c.intent in OUTSIDE)
    named = not kinds or (elsewhere(piece) and len(piece.split()) > LEAST)
    return outside >= SURELY and kinds <= BESIDE | COUNTED and named


def _concepts(piece: str) -> set[str]:
    return {name for name, _, _ in take_apart(piece).hits}


def _beside(piece: str) -> bool:
    if _asks(piece) or pattern("what_is_opened").search(piece):
        return False
    first = [a.readings[0] for a in hear(piece).amounts]
    concepts = _concepts(piece)
    over, likeliest = bool(concepts & OVER), rank(piece)[:1]
    if not first:
        tired = "who_self" in concepts and " so " not in f" {piece.lower()} "  # "..., so we skip supper" is no aside
        return any(over or (tired and c.card == TIRED) or (c.intent == "remark" and c.p >= SURELY) for c in likeliest)
    if concepts & OF_THE_FEED or not all(r.kind in BESIDE or r.value in YEARS for r in first):
        return False
    return any((c.intent in NOT_OURS or c.card is not None) and (over or c.p >= LIKELY) for c in likeliest)
