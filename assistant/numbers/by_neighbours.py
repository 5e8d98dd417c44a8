"""What numbers say of each other: "312 of 648 in", "bump her from 72 to 80", another event's hour beside the feed's."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.message import Amount
from assistant.numbers.cues import kinds_of
from assistant.numbers.number_pairs import MOST_AN_HOUR, OF_WHOLE, beside, part_of_a_whole
from assistant.numbers.spoken import Spoken


def _is_range(first: Spoken, amount: Amount, between: str) -> bool:
    """ "Between 21:30 and 07:00", "23:45-07:45": from one time of day to another."""
    joined = between in ("-", "–", "→") or (between == "and" and first.before.endswith("between"))
    clocks = all(a.readings[0].kind == "clock" for a in (first.amount, amount))
    return joined and clocks and first.roles.get("finish", 0.0) < 0.9 and not _is_noise(first)


def _stood_from(first: Spoken, amount: Amount, between: str) -> bool:
    """ "Off ten till half eleven": a time and an hour, of something that stood still."""
    clocks = all(a.readings[0].kind == "clock" for a in (first.amount, amount))
    return clocks and between in ("till", "til", "until") and bool(beside("stood_before").search(first.before))


def _is_noise(spoken: Spoken) -> bool:
    return spoken.roles.get("noise", 0.0) > 0.9


def _as_a_rate(amount: Amount) -> bool:
    first = amount.readings[0]
    return first.kind == "rate" or (first.kind == "number" and first.value > MOST_AN_HOUR)


def after_another(
    last: Spoken, amount: Amount, before: str, after: str, roles: dict[str, float], *, adjoining: bool
) -> None:
    """What the number before says of this one, and this one of it."""
    if before in ("at", "from", "since") and beside("changed_to").search(last.before):
        roles |= {"changed": 2.0, "start": 0.0, "finish": 0.0, "ended": 0.0}  # "it went to 36 at ten"
    if OF_WHOLE.fullmatch(before) and part_of_a_whole(last.amount, amount):
        roles |= {"total": 2.0, "given": 0.0, "left": 0.0}  # "312 of 648 in"
        if beside("still_to_come").match(after) or beside("still_there_before").search(last.before):
            last.roles.update({"left": 1.5, "given": 0.0, "total": 0.0})
        else:
            last.roles["given"] = 1.5
    if before in ("to", "till", "until") and _is_noise(last):
        roles["noise"] = 2.0  # "the clocks skip from 2 to 3": both numbers are the clocks'
    if before in ("and", "/", "&") and beside("other_owner").search(last.before) and _as_a_rate(amount):
        roles["noise"] = 2.0  # "the last man's 125 and 1500": both are his
    if not before and _is_noise(last) and adjoining and not kinds_of(last.amount) & {"clock", "day", "date"}:
        roles["noise"] = 2.0  # "my number is 021 555 0188"
    if before == "of" and _is_noise(last) and adjoining and kinds_of(amount) == {"number"}:
        roles["noise"] = 2.0  # "page 9 of 31"
    if before in ("on", "on the") and kinds_of(amount) <= {"day", "date"} and _is_noise(last):
        roles["noise"] = 2.0  # "turned seventy on the third": the day is the birthday's
    if _is_range(last, amount, before) or _stood_from(last, amount, before):
        last.roles["start"], roles["finish"] = 2.0, 2.0
    if before in ("in", "over", "into") and amount.readings[0].kind == "time":
        last.roles["total"] = max(1.0, last.roles.get("total", 0.0))  # "two hundred in two hours"
    if before == "from" and last.before.endswith("to"):
        roles["noise"] = 2.0  # "down to 50 from 65": what it was before
    if beside("up_to").fullmatch(before) and beside("from_a_rate").search(last.before) and _as_a_rate(last.amount):
        last.roles["noise"] = 2.0  # "bump her from 72 to 80"


OF_THE_FEED = ("start", "finish", "opened", "ended", "last_done")
PLAIN = 0.9


def give_way(spoken: Sequence[Spoken]) -> None:
    """ "Off by seven; my shift ends at eight": eight ends the shift, since seven plainly ends the feed."""
    events = [s for s in spoken if max(s.roles.get("event", 0.0), s.roles.get("then", 0.0)) > PLAIN]
    for role in OF_THE_FEED if events else ():
        if any(s.roles.get(role, 0.0) >= PLAIN for s in spoken if s not in events and not _is_noise(s)):
            for event in events:
                event.roles.update({role: 0.0, "event": 1.0})
