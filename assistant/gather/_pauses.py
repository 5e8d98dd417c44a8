"""Pauses told in the message: "off for half an hour", "paused it from 7 to 7:40". Their time counts as not running."""

from __future__ import annotations

import re
from datetime import timedelta

from assistant.gather._pause_known import by_the_log
from assistant.hear.clock import resolve
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, measure
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots
from rules.clock import before, between
from rules.quantity import Quantity, qty

WENT_OFF = re.compile(
    r"\b(?:paus\w*|stopped|off|held|hold(?:ing)?|on hold|unplugged|unhooked|disconnected|interrupt\w*|break|died"
    r"|clamp\w*|down"
    r"|dead|silent|quiet|unhitched|unattached|cut out|packed (?:in|up)|conked(?: out)?|tripped|out of action|kicked out"
    r"|dry|empty|idle|kinked|blocked|occlu\w*|detached|beep(?:ed|ing)|alarm(?:ed|ing)?|error|fault"
    r"|not (?:running|pumping|going|feeding|moving)"
    r"|(?:doing|did|does|done) nothing|stuck|jammed|stood still|standing still|sat there"
    r"|(?:kick|knock|yank|tripp|pull|nudg|bump)\w*(?: \w+){0,3} (?:strip|plug|socket|lead|cord|cable|switch)(?: out)?"
    r"|(?:lights?|power|current|electric\w*|mains) (?:went|failed|was out|was gone|cut)|no (?:light|power|current))\b"
    r"(?: by (?:the |my |our |his |her |a )?\w+)?"
    r"(?: (?:it|him|her|them|everything|the|my|our|night|overnight|pump|feed|mum|mom"
    r"|dad|at|from|about|around|between|of|for|nearly|almost|only|just|a"
    r"|good))*$"
)
CAME_BACK = re.compile(
    r"^(?:-|–|to|till?|til|until|and)$"
    r"|\b(?:off|stopped|paused|held|out|down|unhooked|unplugged|disconnected|dead|idle|stuck)(?: it| him| her)?"
    r" (?:till?|until)$"
    r"|\b(?:notic|spot|reali[sz]|clock|find|found|saw|see)\w*(?: (?:it|that|this|anything))? (?:till?|until|at)$"
    r"|\b(?:back on|on again|again|restart\w*|resum\w*|started|hooked \w+ up|back)\b(?: \w+)?(?: (?:at|by|from))?$"
)
OFF_AFTER = re.compile(  # "from three to half past four it was off"
    r"(?:it|she|he|they|the \w+|pump|feed|everything|nothing)(?:'s|'d)?"
    r"(?: (?:was|is|were|had|been|sat|stood|went|got|all))*"
    r" (?:off|out|down|idle|dead|paused|stopped|unplugged|disconnected|on hold|not running|not going|doing nothing)\b"
)
UNTIL_NOW = re.compile(r"(?:-|to|up to|till?|til|until|and only|right up to) (?:just |right |only just )?now\b")
AGAIN = re.compile(r"\b(?:and|then|plus|also|again|another)\b")
AT_THAT_TIME = re.compile(
    r"(?:(?:paused?|break|off|stop|stopped|stoppage) )?(?:at|from|around|about|round)(?: about| around)?"
)
AT_FIRST = re.compile(r"(?:(?:and|then|so|but|but then) )*(?:at|around|about)")  # "at eleven it was off for 20 minutes"
SEVERAL = re.compile(r"\b(?:twice|thrice|(?:two|three|four|a few|several|some|[2-9]) times|each time|every time)\b")
ALL_BUT = re.compile(r"\b(?:apart from|except(?: for)?|bar|other than|but for|not counting|minus)(?: about| nearly)*$")
FROM_TO_AND_MORE = 3
BEGAN = re.compile(
    r"\b(?:since|start\w*|began|begun|going|on|up|hung|running)(?: (?:at|from|since|about|around|it|him|her))*$"
)
OVER_ALL = ("over", "ago", "ahead")


def time_off(slots: Slots) -> Quantity | None:
    """All the pauses that the message tells of, in minutes; their numbers are taken. None where it tells of none."""
    total: Quantity | None = None
    said = slots.said.spoken
    at, last = 0, -1
    while at < len(said):
        here, after = said[at], said[at + 1] if at + 1 < len(said) else None
        length = _length(here, slots, further=at > 0 and at - 1 == last)
        length = off_until_now(here, slots) if length is None else length
        if length is None and after is not None and here.reading("clock") and not _ended(here, after):
            if WENT_OFF.search(here.before) or _is(here, "went_off"):
                length = _length(after, slots, begun=True) or _stretch(here, after, slots)
            elif OFF_AFTER.match(after.after):
                length = _stretch(here, after, slots)
            elif _its_hour(here, after):
                length = _length(after, slots)
            if length is not None:
                slots.spoken[f"off_{here.amount.start}"] = here
                at, here = at + 1, after
        if length is not None:
            slots.spoken[f"off_{here.amount.start}"], last = here, at
            total = length if total is None else total + length
            beside = said[at + 1] if at + 1 < len(said) else None
            if beside is not None and (more := _so_many_more(here, beside)) is not None:
                slots.spoken[f"off_{beside.amount.start}"] = beside
                total, at, last = total + more, at + 1, at + 1
            elif beside is not None and beside.reading("clock") and AT_THAT_TIME.fullmatch(beside.before):
                slots.spoken[f"off_{beside.amount.start}"] = beside  # "20 minutes at eleven": when it was, not a start
                at, last = at + 1, at + 1
        at += 1
    if total is not None:
        told = [s.amount.text for name, s in slots.spoken.items() if name.startswith("off_")]
        slots.used["off"] = Used(total, "question", ", ".join(told))
    return total


def _so_many_more(here: Spoken, beside: Spoken) -> Quantity | None:
    """ "Unhooked 40 min for the shower and like 15 for dinner": minutes as well, where no unit is said again."""
    first, minutes = beside.amount.readings[0], here.reading("time")
    joined = AND_LIKE.search(beside.before) and beside.after.startswith(("for", "when", "while", "at", "during"))
    if first.kind != "number" or minutes is None or minutes.unit != "min" or not joined:
        return None
    return qty(first.value, "min") if first.value <= MOST_MINUTES else None


AND_LIKE = re.compile(r"(?:^|\b)(?:and|n|&|then|plus)(?: then)?(?: (?:about|like|another|maybe|around))*$")
MOST_MINUTES = 90


def _is(spoken: Spoken, role: str) -> bool:
    """Do the weights hold a number for that (see weighed_roles.py)?"""
    return spoken.roles.get(role, 0.0) >= WHOLE


def _ended(here: Spoken, after: Spoken) -> bool:
    """ "Off for good at ten", and not "at half seven I came off it for twenty minutes"."""
    lasted = after.amount.readings[0].kind == "time" and after.before.endswith("for") and after.before != "for good for"
    return _is(here, "ended") and not lasted


def _its_hour(hour: Spoken, length: Spoken) -> bool:
    """ "At eleven it was off for 20 minutes", "19:30 I came off it for twenty minutes": when the pause was."""
    if not WENT_OFF.search(length.before) or hour.amount.readings[0].kind != "clock":
        return False
    led = not hour.before and not ON_IN_IT.search(length.before)
    return bool(AT_FIRST.fullmatch(hour.before)) or (led and length.reading("clock") is None)


ON_IN_IT = re.compile(
    r"\b(?:start\w*|beg[au]n|hung|hook\w*|went (?:on|in|up)|put|on(?! (?:hold|pause))|running|since)\b"
)


def beside_other_times(slots: Slots) -> Quantity | None:
    """ "Unplugged midnight to half two, otherwise 55 since four": the pause; when the feed began plays no part."""
    clocks = [s for s in slots.said.spoken if s.reading("clock") is not None]
    several = len(clocks) >= FROM_TO_AND_MORE
    off = time_off(slots) if several or _at_an_hour(slots) else None
    for spoken in slots.unused() if off is not None else ():
        if spoken in clocks and BEGAN.search(spoken.before):
            slots.spoken[f"began_{spoken.amount.start}"] = spoken
    return off


def _at_an_hour(slots: Slots) -> bool:
    """Is a pause told with its hour and its length: "at half nine I had him off for three quarters of an hour"?"""
    told = zip(slots.said.spoken, slots.said.spoken[1:], strict=False)
    return any(
        one.reading("clock") is not None
        and other.amount.readings[0].kind == "time"
        and (_its_hour(one, other) or (bool(WENT_OFF.search(one.before)) and other.before.endswith("for")))
        for one, other in told
    )


def off_until_now(spoken: Spoken, slots: Slots) -> Quantity | None:
    """ "It sat there doing nothing from eleven till now": from that time of day to this one."""
    begun = spoken.reading("clock")
    if begun is None or not WENT_OFF.search(spoken.before) or not UNTIL_NOW.match(spoken.after):
        return None
    return between(resolve(begun, slots.night.now, "past", None)[0], slots.night.now).to("min")


def off_before(slots: Slots) -> Quantity | None:
    """The pauses told before of the same run: they stand when its rate or its start is put right."""
    if "case" in slots.carried:  # "allowing forty minutes for a shower", of a run of the log
        put: Quantity | None = slots.get("off")
        return put
    told = slots.carried.get("off")
    if told is None or told.origin != "question":
        return None
    found: Quantity | None = slots.get("off")
    if slots.night.state is not None and slots.night.state.started is not None:
        return by_the_log(slots, found)  # it counts as long as the log holds no such pause
    return found


def off_till_now(slots: Slots) -> Quantity | None:
    """The same, taken; another hour told beside it ("started at half nine") is none of the pause's."""
    for spoken in slots.said.spoken:
        off = off_until_now(spoken, slots)
        if off is not None:
            slots.spoken["off"] = spoken
            slots.used["off"] = Used(off, "question", spoken.amount.text)
            return off
    return None


def _length(spoken: Spoken, slots: Slots, *, begun: bool = False, further: bool = False) -> Quantity | None:
    """A length of time that the words call a pause: "off for an hour", "stopped at 10 for 20 minutes"."""
    reading = spoken.reading("time")
    if reading is None or spoken.amount.readings[0].kind != "time":
        return None
    if spoken.after.startswith(("ago", "late", "behind")) or beside("clocks_change").search(spoken.before):
        return None  # "the clock lost an hour"
    times = _times(spoken, slots)
    several = SEVERAL.search(spoken.before) and WENT_OFF.search(SEVERAL.split(spoken.before)[0].strip())
    if several and (times is None or not beside("one_each").search(spoken.after)):
        raise Ask("off")  # "stopped it twice for ten minutes": in all, or each time?
    off = spoken.roles.get("off", 0.0)
    strong = off >= max(0.9, *(spoken.roles.get(role, 0.0) for role in OVER_ALL))
    strong = strong or (times is not None and not spoken.before and "off_times" in slots.spoken)
    strong = strong or bool(ALL_BUT.search(spoken.before))
    strong = strong or bool(beside("off_so_long").match(spoken.after))
    told = strong or bool(WENT_OFF.search(spoken.before)) or (begun and spoken.before.endswith("for"))
    if not (told or (further and AGAIN.search(spoken.before))):
        return None
    found: Quantity = measure("time", reading, slots.night).to("min")
    after = SEVERAL.match(spoken.after)
    if after is not None and spoken.after.startswith(("twice", "thrice")):
        return found * (2 if spoken.after.startswith("twice") else 3)  # "off for five minutes twice"
    if after is not None or beside("one_each").search(spoken.after):
        if times is None:
            raise Ask("off")  # "off for ten minutes each time": how often?
        found = found * times
    return found


def _times(spoken: Spoken, slots: Slots) -> int | None:
    """How often it was off: "twice", "three times", as a count of its own or in the words before the length."""
    for other in slots.said.spoken:
        count = other.reading("count")
        if count is not None and count.unit == "time" and other.amount.start < spoken.amount.start:
            slots.spoken["off_times"] = other
            return int(count.value)
    word = re.search(r"\b(twice|thrice)\b", slots.said.lower)
    return {"twice": 2, "thrice": 3}[word.group()] if word else None


def _stretch(first: Spoken, last: Spoken, slots: Slots) -> Quantity | None:
    """From one time of day to another, both gone by."""
    begins, ends = first.reading("clock"), last.reading("clock")
    if begins is None or ends is None or not (CAME_BACK.search(last.before) or _is(last, "came_back")):
        return None
    went = resolve(begins, slots.night.now, "past", None)[0]
    came = resolve(ends, went + timedelta(minutes=1), "future", None)[0]
    if before(slots.night.now, came):
        raise Ask("off")
    return between(went, came).to("min")


def no_part(slots: Slots) -> None:
    """The pause that was told changes nothing in this sum: its numbers are left over, to be asked about."""
    slots.used.pop("off", None)
    for name in [name for name in slots.spoken if name.startswith("off_")]:
        del slots.spoken[name]
