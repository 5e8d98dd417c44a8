"""A value told right after a sum, whose role the weights are sure of: the same sum with that value.

"88 mL an hour it is, I misread the pump", "make the start 5:15 pm", "it was off twenty minutes in between": whichever
words lead to it, a rate is the sum's rate, an hour of starting its start, a length of a stop its pause.
"""

from __future__ import annotations

from decimal import Decimal

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.following import KIND_ASKED, standing
from assistant.follow.in_context import no_alarm_here
from assistant.follow.nearest import NEAR, NEAR_PLANNED, digits_moved
from assistant.follow.turns import LOG_TALK, SURE, Question, after_a_sum, pattern
from assistant.hear import hear
from assistant.language.number_roles import likely_roles
from assistant.message import Amount, Heard
from assistant.numbers.weighed_roles import SURE as SURE_OF_IT
from assistant.understand import Candidate
from rules.quantity import is_amount

MOST_WORDS = 24
OF_A_RUN = (
    "bag_duration", "finish_at", "delivered", "remaining", "rate_needed", "start_by", "change_rate", "discard_at",
)
AMOUNTS = ("volume", "total", "given")
SLOTS = {  # role: the slots of a sum that it may be, the first that was told
    "rate": ("rate",), "start": ("start", "opened"), "opened": ("opened",), "amount": AMOUNTS,
    "left": ("volume", "total"), "hung": ("volume", "total"), "given": ("given",), "total": ("volume", "total"),
}
OF_THE_PLAN_TOO = ("rate", "amount", "total")
#: what a value may sound like that is told right after a sum; another question is none of them
SOUNDS_LIKE = LOG_TALK | {"remark", "change_rate", "repeat", "explain", "yes", "no", "undo", "unclear", "help"}
SETTINGS = "check_settings"


def by_its_role(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...], logged: tuple[str, ...]
) -> Question | None:
    """The sum just answered with the one value told; None where something is asked, or the role is in doubt."""
    told = [a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    if not after_a_sum(talk) or talk.question not in OF_A_RUN or len(told) != 1 or heard.unread:
        return None
    if len(heard.tokens) > MOST_WORDS or not _asks_nothing_else(text, talk, ranked):
        return None
    role, share = likely_roles(heard)[heard.amounts.index(told[0])]
    if share < SURE_OF_IT:
        return None
    if role == "off":
        return _with_a_pause(told[0], heard, talk, feeds, logged)
    slots = SLOTS.get(role, ())
    if role == "rate" and not _was_told(talk, "rate") and (amount := _amount_put_right(told[0], talk)) is not None:
        slots = (amount,)
    slot = next((name for name in slots if _was_told(talk, name)), None)
    if slot is None and role in OF_THE_PLAN_TOO:
        slot = next((name for name in slots if name in talk.slots), None)  # what the plan had stood in for it
    if slot is None or (role == "start" and "feed_started" in logged):
        return None
    if slot == "opened" and pattern("hung_up").search(text) and not pattern("correction").match(text):
        return None  # mixed at ten to two, and now hung at three: the first still counts
    counts = " ".join(a.text for a in heard.amounts)
    kept = standing(counts, hear(counts), talk, feeds)
    return Question(str(talk.question), carried=kept, favours=slot, follows=True, counts=counts)


def _amount_put_right(told: Amount, talk: Talk) -> str | None:
    """ "Sorry, 120", of a bag of 210 at the plan's rate: the amount, whose digits were moved, or that it is near."""
    first = told.readings[0]
    said = [name for name in AMOUNTS if _was_told(talk, name) and is_amount(talk.slots[name].value)]
    if first.kind != "number" or len(said) != 1 or "rate" not in talk.slots:
        return None
    before, rate = talk.slots[said[0]], talk.slots["rate"].value.magnitude
    near = max(first.value / before.value.magnitude, before.value.magnitude / first.value) <= NEAR
    far_off = max(first.value / rate, rate / first.value) > NEAR_PLANNED
    return said[0] if digits_moved(first.value, before) or (near and far_off) else None


def only_puts_right(text: str, talk: Talk, cards: set[str], *, named: bool) -> bool:
    """ "I typed the rate wrong, it's 69", right after a sum of 72: no pump ran wrong, a number was told wrong.

    Only where the words say that it was told or read wrongly and nothing of what the feed did, and where the one number
    is near the one that was told: no real slip is passed over. `named`: a rule heard one of the cards, and not only the
    weights; then a number that answers what was asked back does not stand against it.
    """
    by_weights = bool(cards) and not named
    if by_weights and (_answers_with_it(text, talk) or no_alarm_here(text, talk)):
        return True
    if cards and _only_other_days(text, talk):
        return True
    if not cards or not pattern("told_it_wrong").search(text) or pattern("of_the_feed_itself").search(text):
        return False
    heard = hear(text)
    told = [a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    if not cards <= OF_A_NUMBER or not told or len(heard.tokens) > FEW_WORDS:
        return False
    if talk.asks is not None and talk.question in gather.names():
        return pattern("said_again").search(text) is not None  # "fifteen I said", to "did you say 50 or 15?"
    if not after_a_sum(talk) or len(told) != 1:
        return False
    role, share = likely_roles(heard)[heard.amounts.index(told[0])]
    names = [name for name in SLOTS.get(role, ()) if _was_told(talk, name) and is_amount(talk.slots[name].value)]
    if share < SURE_OF_IT or not names:
        return False
    before = talk.slots[names[0]].value.magnitude
    return NEARLY[0] * before <= told[0].readings[0].value <= NEARLY[1] * before


def _only_other_days(text: str, talk: Talk) -> bool:
    """ "Four nights, they've extended it", right after a sum over three: of a stay, and nothing of tube or body."""
    heard = hear(text)
    days = len(heard.amounts) == 1 and any(r.kind == "time" and r.unit in DAYS for r in heard.amounts[0].readings)
    right_after_it = after_a_sum(talk) and "span" in talk.slots and len(heard.tokens) <= FEW_WORDS
    return days and right_after_it and bool(pattern("of_a_stay").search(text) and not pattern("of_a_tube").search(text))


def _answers_with_it(text: str, talk: Talk) -> bool:
    """ "Twelve point four kilos last Tuesday", to "what is the weight?": the value asked for, and hardly a word."""
    kind, heard = KIND_ASKED.get(str(talk.asks)), hear(text)
    told = [a.readings[0] for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    return kind is not None and [r.kind for r in told] == [kind] and len(heard.tokens) <= SHORT_ANSWER


SHORT_ANSWER = 9  # words
DAYS = ("day", "week", "wk", "d")
OF_A_NUMBER = frozenset({"overfeed", "medicine_error", "pump_failure", "wrong_formula"})
FEW_WORDS, NEARLY = 16, (Decimal("0.6"), Decimal("1.6"))


def _asks_nothing_else(text: str, talk: Talk, ranked: tuple[Candidate, ...]) -> bool:
    top = ranked[0]
    if pattern("what_if").match(text) and not pattern("asks_anew").search(pattern("what_if").sub("", text)):
        return top.card is None and top.intent != SETTINGS
    asks = "?" in text and bool(pattern("asks_first").search(text))
    same = top.intent == talk.question or top.intent in SOUNDS_LIKE or (top.intent == SETTINGS and "?" not in text)
    other = top.intent in gather.names() and not same
    same = same or (top.intent == "out_of_scope" and bool(pattern("correction").match(text)))
    return not asks and top.card is None and (same or (top.p < SURE and not other))


def _was_told(talk: Talk, name: str) -> bool:
    return name in talk.slots and talk.slots[name].origin == "question"


def _with_a_pause(
    length: Amount, heard: Heard, talk: Talk, feeds: tuple[str, ...], logged: tuple[str, ...]
) -> Question | None:
    """The pause of a run that was told with its start and none; of a run that the log holds, the log knows better."""
    if "off" in talk.slots or not _was_told(talk, "start") or logged:
        return None
    counts = f"paused for {length.text}"
    kept = standing(counts, hear(counts), talk, feeds)
    return Question(str(talk.question), carried=kept, follows=True, counts=counts)
