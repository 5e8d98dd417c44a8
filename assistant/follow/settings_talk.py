"""What follows a check of the settings: the other number, the same number read again, another feed's."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.clauses.own_words import named_feed
from assistant.dialogue import Talk
from assistant.follow.nearest import meant_slot
from assistant.follow.turns import Question, pattern, said_slots, shown
from assistant.hear import hear
from assistant.message import Heard

SETTINGS = ("rate", "volume")
RAN_AT = "rate_it_ran_at"
NUMBERS = frozenset({"number", "rate", "volume"})
FEW = 10  # words
DAYS = ("day", "date")


def settings_turn(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """ "And 684 for the amount", "oh, 62, I had the wrong glasses on", "and for lunch is it 200?"."""
    if talk.question != "check_settings" or (talk.last or {}).get("intent") != "check_settings":
        return None
    told = [a.readings[0].kind for a in heard.amounts if a.readings[0].kind not in DAYS]
    reread = pattern("read_wrong").search(text) and len(heard.tokens) <= FEW  # "needs my glasses... ninety five"
    if len(told) != 1 or told[0] not in NUMBERS or not (reread or pattern("settings_again").match(shown(heard))):
        return None
    before = {n: u for n, u in said_slots(talk.slots).items() if n in SETTINGS}
    if named_feed(heard, feeds):
        return Question("check_settings", follows=True)  # its own rate and amount, not those of the one before
    if (named := _named(text, before)) is not None:
        kept = {n: u for n, u in before.items() if n != named}
        return Question("check_settings", carried=kept, favours=named, follows=True)
    if not pattern("read_wrong").search(text):
        return None
    if talk.asks is not None or len(before) < len(SETTINGS):
        return Question("check_settings", follows=True)  # the number that was asked about, read once more
    return Question("check_settings", carried=before, favours=meant_slot(heard, talk), follows=True)


def told_of_the_pump(text: str, heard: Heard, talk: Talk) -> Question | None:
    """What the pump counted, which of its numbers one is, or what it really ran at; None where none of it is told."""
    return _counter(text) or _which_setting(text, talk) or _ran_at(heard, talk)


def _counter(text: str) -> Question | None:
    """ "It says 1090 given, is that right?": held against no setting, it is worked out from what ran."""
    counter = pattern("counter_right").search(text)
    rest = f"{text[: counter.start('n')]}{text[counter.end('n') :]}" if counter is not None else ""
    return Question("delivered", counts=rest) if counter is not None else None


def _which_setting(text: str, talk: Talk) -> Question | None:
    """ "The rate", "it's the amount": what the one number is that was asked about; None where that is not said."""
    if talk.code != "rate_or_amount" or talk.question != "check_settings":
        return None
    called = [name for name in SETTINGS if pattern(f"setting_{name}").search(text)]
    told = [a.text for a in hear(talk.text).amounts if a.readings[0].kind == "number"]
    if len(called) != 1 or len(told) != 1:
        return None
    word = "rate" if called[0] == "rate" else "amount"
    return Question("check_settings", counts=f"{word} {told[0]}", follows=True)


def _ran_at(heard: Heard, talk: Talk) -> Question | None:
    """ "880, since ten", after "which rate did it really run at?": as it ran, however far from the order."""
    if talk.code != RAN_AT or not any(a.readings[0].kind in NUMBERS for a in heard.amounts):
        return None
    return Question(str(talk.question), carried=talk.slots, favours="rate", follows=True)


def _named(text: str, before: Mapping[str, object]) -> str | None:
    """The setting that the number is called: by its name, or "the other one" beside one that was told."""
    called = [name for name in SETTINGS if pattern(f"setting_{name}").search(text)]
    if len(called) == 1:
        return called[0]
    other = [name for name in SETTINGS if name not in before]
    return other[0] if not called and len(other) == 1 and pattern("the_other_setting").search(text) else None
