"""Numbers that may also be a time of day: "at 9", "9.15", "2115", "nine fifteen"."""

from __future__ import annotations

from assistant.hear.lexicon import lexicon
from assistant.hear.said_times import FOUR_DIGITS, hour_minute, on_clock, part_of_day
from assistant.hear.tokens import Words
from assistant.message import Reading

_A_DAY = {"a day", "a night", "each day", "each night"}
_IS = {"is", "he's", "she's", "it's", "i'm", "they're", "now", "still", "sitting", "currently", "was", "up"}
EARLY = 300  # minutes after midnight: "at nine fifteen", hardly 915 of anything; "at two fifty" may be a rate
_UP = {"went up", "gone up", "goes up", "put up", "went on", "goes on", "came off", "comes off", "off by", "down by"}
LATE, _BREAKS = 1200, frozenset(".,;-!:")  # from eight in the evening, told apart
_NOW_IS = {"now is", "time is", "clock says", "now its", "now it's"}
_STARTED = {"started", "commenced", "began", "start", "starting"}
_BEGAN, _THEN = _STARTED - {"start", "starting"}, {"so", "and", "how", "when", "what", "at", "?"}
_GOING = {"going", "on", "running", "fed", "up"}
_SURELY = {"by", "since", "until", "till", "til", "'til"}


def led_to_time(w: Words, i: int, after_clock: bool, at_too: bool = True) -> bool:
    """A word that leads to a time of day stands before token `i`."""
    if i == 0:
        return False
    lists, tokens = lexicon().lists, w.tokens
    j = i - 1
    while j > 0 and tokens[j] in lists["about"]:
        j -= 1
    before = tokens[j]
    if before in lists["leads"] or (at_too and before in lists["at"]):
        return True
    between = j >= 2 and (tokens[j - 2] in ("between", "from", "frm"))
    if before == "between":
        return "and" in tokens[i + 1 : i + 4]
    return before in (*lists["through"], "and") and (between or after_clock)


def also_clock(w: Words, i: int, end: int, after_clock: bool) -> tuple[bool, Reading] | None:
    """(clock likelier than number, its reading) when the bare number at [i, end) may be a time of day, or None."""
    said = hour_minute(w, i)
    if said is None or said.end != end:
        return None
    lex, tokens = lexicon(), w.tokens
    if tokens[end : end + 1] in (["/"], ["per"]) or " ".join(tokens[end : end + 2]) in _A_DAY:
        return None
    _, half = part_of_day(w, i, end)
    day = lex.day.at(tokens, end + (tokens[end : end + 1] == ["on"])) is not None or bool(half)
    by_so_much = i > 1 and tokens[i - 1] == "by" and tokens[i - 2] in lex.lists["changed"]  # "going up by 5"
    if by_so_much and not day and said.style != "four" and not (said.style == "pair" and tokens[i - 2] == "off"):
        return (False, on_clock(said.minutes, half, said.plain)) if tokens[i - 2] == "off" else None  # "off by nine"
    now = tokens[end : end + 1] == ["now"] and i > 0 and tokens[i - 1] in ("it's", "its", "is")
    now = now or (" ".join(tokens[max(0, i - 2) : i]) in _NOW_IS and tokens[end : end + 1] in ([], ["."], [","], ["?"]))
    until = till_so_much_past(w, end)
    firmly = bool(led_to_time(w, i, after_clock, at_too=False) or day or now or until)  # "one till quarter past"
    timely = firmly or led_to_time(w, i, after_clock)
    reading = on_clock(said.minutes, half, said.plain)
    if said.style == "hour":
        begun = i > 0 and tokens[i - 1] in _BEGAN and (end == len(tokens) or tokens[end] in _BREAKS | _THEN)
        if not (timely or begun) or (said.minutes == 0 and not tokens[i].startswith("00")):
            return None
        return not said.plain or tokens[i][0] == "0", reading
    if said.style == "three":
        since = i > 1 and tokens[i - 1] == "from" and tokens[i - 2] in _GOING  # "going from 915"
        surely = (i > 0 and tokens[i - 1] in _SURELY) or (since and said.minutes % 5 == 0)
        led = surely or (i > 0 and tokens[i - 1] in lex.lists["at"])
        started = i > 0 and tokens[i - 1] in _BEGAN and said.minutes % 60 and said.minutes % 5 == 0  # "started 915"
        return (bool(led or started), reading) if day or surely or started else None  # "just 400 tonight": an amount
    if said.style == "four":
        return _four(w, i, end, reading, timely)
    if said.style == "pair":  # "ten fifteen" is a time, "nineteen hundred" an amount; "off at six thirty"
        at = i > 1 and tokens[i - 1] in lex.lists["at"]
        begun = at and (tokens[i - 2] in lex.lists["begun"] or (said.minutes >= EARLY and tokens[i - 2] not in _IS))
        return firmly or begun or (said.minutes >= 600 and said.minutes % 60 != 0 and said.minutes % 5 == 0), reading
    said_so = tokens[i].endswith("0") and said.minutes >= 240  # nobody says 7.30 for 7.3
    span = tokens[end : end + 1] and tokens[end] in lex.lists["through"] and dotted_times(w, i, end + 1)
    return bool(timely or said_so or span), reading


def till_so_much_past(w: Words, end: int) -> bool:
    """ "One till quarter past": what stands before it is the hour."""
    through = lexicon().lists["through"] - {"to"}  # "two to ten past" may be eight past
    return end + 2 < len(w.tokens) and w.tokens[end] in through and w.tokens[end + 2] == "past"


def dotted_times(w: Words, first: int, second: int) -> bool:
    """ "11.10 to 11.35": two times of one evening or morning, both with their minutes, the later one last."""
    one, other = hour_minute(w, first), hour_minute(w, second) if second < len(w.tokens) else None
    if one is None or other is None:
        return False
    return one.style == other.style == "dot" and one.minutes < other.minutes


def _four(w: Words, i: int, end: int, reading: Reading, timely: bool) -> tuple[bool, Reading] | None:
    """Four digits: "0630", "2145", "2100-0600"; not every volume that could be one."""
    tokens, minutes = w.tokens, reading.value
    if tokens[i][0] == "0":
        return True, reading
    ahead = tokens[end : end + 1] == ["-"] and w.glued(end) and end + 1 < len(tokens)
    behind = i > 1 and tokens[i - 1] == "-" and w.glued(i)
    if (ahead and FOUR_DIGITS.fullmatch(tokens[end + 1])) or (behind and FOUR_DIGITS.fullmatch(tokens[i - 2])):
        return True, reading
    likely = minutes % 60 and minutes % 5 == 0 and minutes >= 780
    up = " ".join(tokens[max(0, i - 2) : i]) in _UP
    begun = up or (i > 0 and tokens[i - 1] in lexicon().lists["begun"])
    late = bool(likely and minutes >= LATE and i and tokens[i - 1] in _BREAKS)  # "wrong clock. 2210": hardly of mL
    started = i > 0 and tokens[i - 1] in _STARTED and minutes >= 960  # "started 2100 at 54"
    begun_then = begun and (up or minutes % 60 != 0)  # "commenced 2130"; "hung 1200" is an amount
    surely = timely or late or started or begun_then
    return (surely, reading) if timely or likely or begun or len(tokens) <= 2 else None
