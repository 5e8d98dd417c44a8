"""What a number is about, where the weights are surer than the words: the second ear for numbers.

The words beside a number (knowledge/roles_en.toml) come first and say what a person can look up. Where the frozen
weights are sure of one role, that role counts and its rivals do not; an expression that says it whole (2 or more)
yields only to near certainty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from assistant.language.number_roles import BOUNDS, likely_roles, shares_of
from assistant.message import Amount, Heard, Reading
from assistant.numbers.number_pairs import beside
from assistant.numbers.said_otherwise import said_otherwise
from assistant.numbers.spoken import Spoken

LIKELY, SURE, ALONE, CERTAIN = 0.6, 0.8, 0.9, 0.95
PHRASE = 1.5  # how strongly an expression of two or three words speaks, right beside the number
LEFT_OUT = 0.98  # how sure it must be that a number is of another story, whatever is asked
APART = ("noise", "other")
LEFT = "left_out"  # told apart by the weights alone; how strongly the words themselves say so
#: ... where a sum is: the less the words beside it speak for a part in the feed (so strongly at most), the less sure
LEFT_OUT_OF_A_SUM = ((0.5, 0.75), (1.0, 0.9), (1.5, 0.97))
WHOLE, SAID = 2.0, 2.2  # how strongly a whole expression speaks; what a role counts that the weights are sure of
OTHER_AMOUNTS = ("container", "syringe", "bag", "noise", "flush", "goal", "missed_amount", "hearsay")
OTHER_HOURS = ("noise", "event", "opened", "last_done")
RIVALS = {
    "rate": ("left", "given", "hung", "total", *OTHER_AMOUNTS),
    "hung": ("left", "given", "rate", *OTHER_AMOUNTS),
    "left": ("hung", "given", "rate", "total", *OTHER_AMOUNTS),
    "given": ("left", "hung", "rate", "total", *OTHER_AMOUNTS),
    "at_a_feed": ("left", "hung", "rate", "total", *OTHER_AMOUNTS),
    "off": ("over", "ago", "ahead", "every", "limit", "noise", "chore"),
    "total": ("left", "given", "rate", *OTHER_AMOUNTS),
    "missed_amount": ("left", "given", "hung", "rate", "total", *OTHER_AMOUNTS[:-2]),
    "flush": ("left", "given", "hung", "rate", "total", "container", "syringe", "bag", "noise", "goal"),
    "syringe": ("left", "given", "hung", "rate", "total", "container", "bag", "noise", "flush", "goal"),
    "over": ("off", "ago", "ahead", "late", "every", "limit", "noise", "chore"),
    "ago": ("off", "over", "ahead", "late", "every", "limit", "noise", "chore"),
    "late": ("over", "off", "ago", "ahead", "every", "limit", "noise", "chore"),
    "start": ("finish", "ended", "clock_now", "noise", "event", "opened"),
    "finish": ("start", "ended", "clock_now", *OTHER_HOURS),
    "ended": ("start", "finish", "clock_now", *OTHER_HOURS),
    "clock_now": ("start", "finish", "ended", *OTHER_HOURS),
    "went_off": ("start", "finish", "ended", "clock_now", *OTHER_HOURS),
    "came_back": ("start", "finish", "ended", "clock_now", *OTHER_HOURS),
    "noise": (),
}
TIMED = ("start", "finish", "ended", "clock_now", "went_off", "came_back")
KINDS = dict.fromkeys(("off", "late", "over", "ago"), ("time",)) | dict.fromkeys(TIMED, ("clock",))
AMOUNTS = ("number", "volume", "rate")
OFTEN = frozenset({"noise", "at_a_feed", "off", "flush", "missed_amount"})  # what several numbers of a message may be
ALSO = {"at_a_feed": "given", "flush": "water_given"}
SPAN, DATED = frozenset({"went_off", "came_back"}), ("day", "date")
NEVER_WEIGHED = (*DATED, "mass")  # the weights were not fitted on these: a child's own kilos were once left out
SETTLED = frozenset({"false_start", "apart", "then", "not_until"})  # said by the words, whatever else it sounds like
SEVERAL, LONG = 2, 8  # numbers, words from which on it is not plain what a number is about
TO = (("to",), ("till",), ("until",), ("-",), ("through",))
UNCERTAIN, HINTED, LEAST = 0.1, 0.9, 20  # a bare number up to here may be an hour or a count


def weigh(heard: Heard, words: Sequence[Spoken]) -> list[Spoken]:
    """Each number with the role that the weights are sure of, in a message that tells several.

    Where the words say that a number is no part of it and the weights are certain that it is, neither counts: it is
    left for the question what it stands for.
    """
    told = [one for one in words if one.amount.readings[0].kind not in NEVER_WEIGHED and not SETTLED & one.roles.keys()]
    if len(told) < SEVERAL and len(heard.tokens) < LONG:
        return list(words)
    least = SURE if len(told) >= SEVERAL else ALONE
    likely = dict(zip(heard.amounts, likely_roles(heard), strict=True))
    weighed = [(one, *likely.get(one.amount, ("", 0.0))) for one in told]
    weighed = [entry for entry in weighed if not said_otherwise(heard, *entry[:2])]
    put_right = {id(new) for old, new in pairwise(words) if "false_start" in old.roles}
    weighed = [entry for entry in weighed if entry[1] != "noise" or id(entry[0]) not in put_right]
    sure = _one_each(weighed, least)
    halves = _halves(sure, told, heard)
    sure = [entry for entry in sure if id(entry[0]) not in halves]
    stretch = {role for _, role in sure} & SPAN
    for one, role in sure:
        if role == "noise":
            _leave_out(one, sure)
        elif role not in SPAN or len(stretch) == len(SPAN):
            _give(one, role)
    rates = {id(one) for one, role in sure if role == "rate"}
    held = {id(one): role for one, role in _held(weighed, len(told))}
    then = beside("by_then").search(heard.text)  # "he's seen at ten, off the pump by then": the hour of another's doing
    asides = {
        id(one): share for one, role, share in weighed
        if role == "noise" and id(one) not in halves and not (then and one.reading("clock") is not None)
    }
    shares = dict(zip(heard.amounts, shares_of(heard), strict=True))
    apart = {amount: sum(map(shares[amount].__getitem__, APART)) for amount in likely if likely[amount][0] in APART}
    known = (_known(one, held.get(id(one), ""), id(one) in rates) for one in words)
    told_apart = [
        replace(new, aside=asides.get(id(one), 0.0), apart=apart.get(one.amount, 0.0))
        for one, new in zip(words, known, strict=True)
    ]
    return _without_their_days(heard, told_apart)


PUT_RIGHT = ("mean", "sorry", "no", "rather", "make that", "actually", "wait", "scratch that", "nah", "call it",
             "leave it", "leave it at", "keep it", "keep it at", "stick with", "stay with")
BOUND = (" by", " till", " until", " til")
SETTINGS = "check_settings"
ADDED_UP = frozenset({"intake", "energy", "protein", "water"})  # of which every amount may be one


def without_asides(spoken: Sequence[Spoken], question: str) -> tuple[Spoken, ...]:
    """Of a sum: numbers of another story are told apart with less certainty than those of what is written down."""
    if question == SETTINGS:
        return as_the_words_say(spoken)  # whatever was keyed in is held against the order
    kept = AMOUNTS if question in ADDED_UP else ()
    return tuple(
        replace(one, roles=one.roles | {LEFT: one.roles.get("noise", 0.0), "noise": WHOLE})
        if one.amount.readings[0].kind not in kept and _of_another_story(one) else one
        for one in spoken
    )


def as_the_words_say(spoken: Sequence[Spoken]) -> tuple[Spoken, ...]:
    """Of what is written down: "small sick at two" is another story to a sum, and an entry here."""
    return tuple(
        replace(one, roles=one.roles | {"noise": one.roles[LEFT]}) if LEFT in one.roles else one for one in spoken
    )


def _of_another_story(one: Spoken) -> bool:
    """ "Exam is at 8 tomorrow": not where the words beside it already say so."""
    rival = _rival(one, "noise")
    apart = any(rival <= most and one.aside >= sure for most, sure in LEFT_OUT_OF_A_SUM)
    apart = apart and not one.before.endswith(PUT_RIGHT)
    return apart and max(one.roles.get("noise", 0.0), one.roles.get("event", 0.0)) < HINTED


def _leave_out(one: Spoken, sure: Sequence[tuple[Spoken, str]]) -> None:
    """A number of another story; not where the words speak for a role that no other number surely has.

    Any hour after "at" sounds like a start, so there the words must say more.
    """
    likeliest = max(one.roles, key=lambda name: one.roles[name], default="")
    another = any(other is not one and role == likeliest for other, role in sure)
    timed = one.amount.readings[0].kind == "clock"
    if one.before.endswith(PUT_RIGHT) or (timed and not another and one.before.endswith(BOUND)):
        return  # "seven, I mean eight"; "what will he have had by ten"
    if one.roles.get(likeliest, 0.0) < (WHOLE if timed or another else HINTED):
        one.roles.update({LEFT: one.roles.get("noise", 0.0), "noise": WHOLE})


def _give(one: Spoken, role: str) -> None:
    """The role, and none of its rivals; hardly the role, where the words say that it is of something else."""
    least = UNCERTAIN if _told_as_aside(one) else SAID
    one.roles.update(dict.fromkeys(RIVALS[role], 0.0))
    one.roles[role] = max(least, one.roles.get(role, 0.0))
    if role in ALSO:
        one.roles[ALSO[role]] = one.roles[role]


def _held(weighed: Sequence[tuple[Spoken, str, float]], told: int) -> list[tuple[Spoken, str]]:
    """What the weights hold each number for; of two for one role, only the surer. Whole expressions yield only to near
    certainty, and an hour by which somebody is there is an end."""
    found = []
    for one, role, share in weighed:
        if role in ("finish", "ended") and one.before.endswith(("from", "since")):
            continue  # "when does it finish from nine"
        surest = max(other for _, also, other in weighed if also == role)
        sure = share >= _least(one, role, LIKELY if told >= SEVERAL else ALONE) and "then" not in one.roles
        if role in RIVALS and sure:
            found += [(one, role)] if role in OFTEN or share == surest else []
    return found


def _known(one: Spoken, likely: str, rate: bool) -> Spoken:
    """ "Every hour 64 ml goes into her": an amount that is said for each hour is a rate."""
    first = one.amount.readings[0]
    if rate and first.kind == "volume" and first.unit == "mL":
        one = replace(one, amount=replace(one.amount, readings=(Reading("rate", first.value, "mL/h"),)))
    return replace(one, likely=likely) if likely else one


def _without_their_days(heard: Heard, spoken: list[Spoken]) -> list[Spoken]:
    """ "Our Kirsty turns 14 on Saturday", "appointment tomorrow at 8": a day right beside it is none of the feed's."""
    asides = [one.amount for one in spoken if one.roles.get("noise", 0.0) >= WHOLE]
    for one in spoken:
        if one.amount.readings[0].kind in DATED and any(_beside_it(heard, one.amount, aside) for aside in asides):
            one.roles["noise"] = WHOLE
    return spoken


def _halves(sure: list[tuple[Spoken, str]], told: Sequence[Spoken], heard: Heard) -> set[int]:
    """ "Ten at night to half five": of two hours with a "to" between them, one is not left out without the other."""
    apart = {id(one) for one, role in sure if role == "noise"}
    spans = (
        {id(first), id(last)} for first, last in pairwise(told)
        if first.reading("clock") and last.reading("clock")
        and heard.tokens[first.amount.end : last.amount.start] in TO
    )
    return {one for span in spans if not span <= apart for one in span & apart}


def _beside_it(heard: Heard, one: Amount, other: Amount) -> bool:
    first, last = sorted((one, other), key=lambda amount: amount.start)
    return last.start - first.end <= 1 and not BOUNDS & set(heard.tokens[first.end : last.start])


def _least(one: Spoken, role: str, least: float) -> float:
    """The share that a role needs: near certainty where it leaves a number out, or the words say another outright."""
    if role == "noise":
        return LEFT_OUT
    return CERTAIN if _told_as_aside(one) or _rival(one, role) >= PHRASE else least


def _rival(one: Spoken, role: str) -> float:
    """How strongly the words speak for another role."""
    return max((strength for name, strength in one.roles.items() if name != role), default=0.0)


def _told_as_aside(one: Spoken) -> bool:
    """Do the words beside a number say that it is of something else, or somebody's hour to come and go?"""
    return one.roles.get("noise", 0.0) >= WHOLE or one.roles.get("event", 0.0) > HINTED


def _one_each(likely: Sequence[tuple[Spoken, str, float]], sure: float) -> list[tuple[Spoken, str]]:
    """Those of whose role the weights are `sure`; of two numbers for one role, only the surer."""
    found: dict[str, tuple[float, Spoken]] = {}
    several = []
    for one, role, share in likely:
        first = one.amount.readings[0]
        if first.kind == "number" and first.value <= LEAST and role not in TIMED:
            continue  # "at two at 66": an hour; "one carton, or two"
        if share < _least(one, role, sure) or role not in RIVALS:
            continue
        if role != "noise" and not one.reading(*KINDS.get(role, AMOUNTS)):
            continue
        if role in OFTEN:
            several.append((one, role))
        elif share > found.get(role, (0.0, one))[0]:
            found[role] = (share, one)
    return several + [(one, role) for role, (_, one) in found.items()]
