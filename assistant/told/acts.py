"""What was done, told in one message with its times: "stopped it at 11.40, back on five to midnight".

The words of each act are data (knowledge/acts_en.toml); which number belongs to which act is settled in acts_fit.py.
Where a number fits none of them nothing is read: the caller asks. Nothing here writes or decides what fits a log.
"""

from __future__ import annotations

import re
from dataclasses import fields, replace
from functools import cache

from assistant.clauses.false_starts import broken_off
from assistant.message import Reading
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Said, Spoken
from assistant.numbers.weighed_roles import as_the_words_say
from assistant.told.acts_fit import Act, Found, fitted
from assistant.told.acts_listed import listed, shared
from assistant.told.acts_numbers import FOUR_DIGITS, clock_of, number_of
from knowledge.library import table

SAME = (  # may be two words for one act
    frozenset({"on", "start", "resume"}),
    frozenset({"off", "pause", "stop"}),
    frozenset({"flush"}),
    frozenset({"pour"}),
    frozenset({"rate"}),
)
ANOTHER = "another"  # "did another at nine": of what kind, the log says
ANOTHERS = "anothers"  # being sick, of somebody or something else
TAKEN_BACK, BESIDE = 0.9, 2.0  # a number whose noise is above this is not meant; is denied
A_THING = re.compile(r"\b(?:old|new|last|first|wee|little|same|whole|other|this|that|fresh|clean|small|big)$")
OUR_TIME, NO_TIME, ONLY_TIME = "\x01", "\x02", "\x03"  # signs for a number that may be a time, is none, is only one


@cache
def _verbs() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Whether some act is told, and which: finding one without its name is seven times as quick."""
    words = table("acts_en")
    bare = f"[{OUR_TIME}{NO_TIME}]"
    number = {"<time>": f"[{OUR_TIME}{ONLY_TIME}]", "<clock>": ONLY_TIME, "<volume>": bare, "<rate>": bare}
    named: list[str] = []
    bare_words: list[str] = []
    for what, patterns in words["acts"].items():
        for written in sorted(patterns, key=len, reverse=True):
            for mark, sign in number.items():
                written = written.replace(mark, sign)
            bare_words.append(with_parts(written))
            named.append(f"(?P<{what}{len(named)}>{bare_words[-1]})")
    some, which = (re.compile(rf"(?<![\w'])(?:{'|'.join(one)})(?![\w'])") for one in (bare_words, named))
    return some, which


def with_parts(pattern: str) -> str:
    """A pattern of knowledge/acts_en.toml with the words of its parts put in."""
    for name, words in table("acts_en")["parts"].items():
        pattern = pattern.replace(f"{{{name}}}", words)
    return pattern


def acts_told(said: Said) -> tuple[Act, ...]:
    """The acts in the order told; empty where there is none, or where a number belongs to none of them."""
    found = _found(said)
    if not found:
        return ()
    once = {s.amount.start: s for s in reversed(_meant(said))}  # "five to nine" may be told as a beginning and an end
    read = [number_of(once[at], said) for at in sorted(once)]
    found, numbers = listed(found, read, said.heard.tokens)
    acts = shared(fitted(found, numbers, said.heard.tokens), found)
    whole = [_ended(act, said) for act in acts if act.what != ANOTHERS]
    return _once(tuple(act for act in whole if act is not None)) if None not in whole else ()


def several_named(said: Said) -> bool:
    """Do the words name several acts, whatever their numbers?"""
    found = [one for one in _found(said) if one.what not in (ANOTHERS, "rate")]  # "hung at nine running at 60" is one
    return len(_once(tuple(Act(one.what, one.start, one.end) for one in found))) > 1


def of_another(said: Said) -> bool:
    """Is somebody or something else's being sick told ("the cat was sick at one"), and nothing else of that kind?"""
    kinds = {one.what for one in _found(said)}
    return ANOTHERS in kinds and "vomit" not in kinds


def act_named(said: Said) -> str | None:
    """The one act that the words name, whatever their numbers; None where they name none, or several."""
    acts = _once(tuple(Act(one.what, one.start, one.end) for one in _found(said) if one.what != ANOTHERS))
    return acts[0].what if len(acts) == 1 else None


def _found(said: Said) -> list[Found]:
    line, places = _words(said)
    found: list[Found] = []
    some, which = _verbs()
    for place in some.finditer(line):
        match = which.match(line, place.start())
        if match and match.lastgroup and match.start() in places:
            what = match.lastgroup.rstrip("0123456789")
            if what == "more":  # "flushed 40 at ten and another 40 at two"
                what = found[-1].what if found else ANOTHER
            may_be_a_things = match.group() in table("acts_en")["words"]["broke"] or what in ("on", "off")
            if may_be_a_things and _is_a_thing(line[: match.start()]):
                continue  # "the telly died on me": not the pump
            if what in ("on", "start") and (_on_a_thing().match(line, match.start()) or _own_day(line, match)):
                continue  # "he's on the sofa now", "I've been up since five"
            if what in DENIABLE and DENIED.search(f"{line[: match.start()]}{match.group().split()[0]} "):
                continue  # "no meds given yet"
            if what == "vomit" and _is_anothers(line[: match.start()]):
                what = ANOTHERS
            first = len(places) - 1 - places[::-1].index(match.start())  # a number's further words have no length
            found.append(Found(what, first, sum(p < match.end() for p in places)))
    return found


DENIABLE = frozenset({"medicine", "vomit", "flush", "set", "bolus"})
DENIED = re.compile(
    r"(?<![\w'])(?:no|not|without|never|forgot|missed|skipped|\w+n't)(?: (?:any|the|his|her|my|yet|been|to|give|do|a))*"
    r"(?: [\w']+)? $"
)


def _is_anothers(before: str) -> bool:
    """Is an animal, a neighbour or the one who tells the subject of the words that follow?"""
    subject = re.sub(r"(?:(?:was|has|had|have|is|been|just|also|again|got|'s) )*$", "", before)
    return any(subject.endswith(f"{word} ") and _at_the_end(word).search(subject) is not None
               for word in table("acts_en")["words"]["others"])


@cache
def _at_the_end(words: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w'])(?:{words}) $")


def _is_a_thing(before: str) -> bool:
    things = "|".join(table("acts_en")["words"]["things"])
    return _at_the_end(rf"(?:{things})(?: (?:is|was|just|has|had|went and|come|went))*").search(before) is not None


def _own_day(line: str, match: re.Match[str]) -> bool:
    return any(beside("own_day").search(line[: match.start()] + line[match.start() : at].rstrip()) is not None
               for at in (match.end(), match.end() + len(" since")))


@cache
def _on_a_thing() -> re.Pattern[str]:
    """Somebody on what is neither feed nor kit: furniture, solids, holiday, a tube at all."""
    return re.compile(with_parts(table("acts_en")["words"]["on_a_thing"][0]))


def on_a_thing(text: str) -> bool:
    """Is somebody told to be on something that is no feed?"""
    return any(_on_a_thing().match(text.lower(), at) for at in (m.start() for m in re.finditer(r"(?<!\S)\S", text)))


def _once(acts: tuple[Act, ...]) -> tuple[Act, ...]:
    """Of words for one act told after each other, the one with the time: "he's off, turned it off ten minutes ago"."""
    kept: list[Act] = []
    for act in acts:
        same = kept and any({kept[-1].what, act.what} <= group for group in SAME)
        if kept and act.what == kept[-1].what == "bolus" and (both := _together(kept[-1], act)) is not None:
            kept[-1] = both  # "did the lunch feed at 12, only 220 went in"
        elif same and act.what == "rate" and act.rate == kept[-1].rate and not (act.timed and kept[-1].timed):
            kept[-1] = kept[-1] if kept[-1].timed else replace(act, linked=kept[-1].linked)  # ordered, and then done
        elif same and not _holds(kept[-1]):
            kept[-1] = replace(act, what=_either(kept[-1].what, act.what), linked=kept[-1].linked)
        elif same and not _holds(act) and act.what not in ("flush", "pour"):
            kept[-1] = replace(kept[-1], what=_either(kept[-1].what, act.what))
        else:
            kept.append(act)
    return tuple(kept)


def _either(one: str, other: str) -> str:
    """The plainer of two words for one act: what is finished is not only off."""
    return one if one in ("stop", "resume") else other


def _holds(act: Act) -> bool:
    return any((act.timed, act.volume, act.rate, act.lasted, act.until))


def _together(one: Act, other: Act) -> Act | None:
    """Two tellings of one feed as one; None where both tell the same thing of it: those are two feeds."""
    told = {f.name: getattr(other, f.name) for f in fields(Act) if f.name not in ("what", "start", "told", "linked")}
    anew = {name: value for name, value in told.items() if value and name != "end"}
    if any(getattr(one, name) for name in anew):
        return None
    return replace(one, **anew, end=other.end)


def _meant(said: Said) -> list[Spoken]:
    """The numbers that count; the time of a medicine is beside every sum, and is an act's here."""
    medicine = said.has(*map(with_parts, table("acts_en")["words"]["medicine"]))
    medicine = medicine or said.has(with_parts("{tubing}"))
    return [s for at, s in enumerate(as_the_words_say(said.spoken))
            if s.roles.get("noise", 0.0) <= (BESIDE if medicine and _may_be_a_time(s) else TAKEN_BACK)
            and not broken_off(s.roles)
            and not (at and s.before.endswith(("of the", "out of", "out of the")))  # "180 of the 300 went in"
            and not s.before.endswith(tuple(table("acts_en")["words"]["planned"]))
            and not (s.amount.text == "one" and A_THING.search(s.before))]  # "the old one to the bin"


def _may_be_a_time(spoken: Spoken) -> bool:
    return spoken.reading("clock") is not None or FOUR_DIGITS.fullmatch(spoken.amount.text) is not None


def _words(said: Said) -> tuple[str, list[int]]:
    """The message's words in one line, with a sign for each number, and each word's place in it."""
    tokens = list(said.heard.tokens)
    for spoken in _meant(said):
        amount = spoken.amount
        if amount.readings[0].kind not in ("day", "date", "share"):
            sign = OUR_TIME if spoken.reading("time") or clock_of(spoken, said) else NO_TIME
            if {r.kind for r in amount.readings} <= {"time", "clock"} and not amount.text.isdecimal():
                sign = ONLY_TIME  # "5 mins before that" is no amount of water
            tokens[amount.start : amount.end] = [sign, *[""] * (amount.end - amount.start - 1)]
    places, length = [], 0
    for token in tokens:
        places.append(length)
        length += len(token) + 1 if token else 0
    return " ".join(t for t in tokens if t), places


def _ended(act: Act, said: Said) -> Act | None:
    """ "Off from ten until now"; in "from ten to one until now" and "... until twenty past", ten to one is one time."""
    now = re.search(r"\b(?:until|till?|up to) now\b", " ".join(said.heard.tokens[act.start : act.end]))
    now_too = bool(now) and act.what in ("off", "pause") and act.clock is not None
    if not now_too and act.over is None:
        return act
    clock = _to_the_hour(act.clock, act.until) if isinstance(act.until, Reading) and act.clock else act.clock
    return replace(act, clock=clock, until="now" if now_too else act.over) if clock is not None else None


def _to_the_hour(minutes: Reading, hour: Reading) -> Reading | None:
    """ "From ten to one until now": ten minutes before one."""
    before, after = int(minutes.value) // 60, int(hour.value)
    if minutes.value % 60 or hour.value % 60 or before not in (5, 10, 20, 25):
        return None
    return Reading("clock", (after - before) % 720, "12h")
