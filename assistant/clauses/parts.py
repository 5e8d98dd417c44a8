"""A message that asks several things, parted into its asks. What is only told ("640 left") goes with every ask.

An order to write something down ("log it, and when is it done?") is an ask; what it tells goes with the later asks.
"""

from __future__ import annotations

import re
from functools import cache

from assistant.hear import hear
from knowledge.library import table

_SENTENCE_ENDS = r"(?<=[.?!;])(?<!\b[A-Za-z]\.)(?<!= \?)(?<!=\?)\s+|\s*\n\s*"  # no stop: "e.g. ", "1 bottle = ? kcal"
SENTENCES = re.compile(_SENTENCE_ENDS)
_OF_THE_SAME = re.compile(  # "... is it the six or the eight?", "... and what does that come to?"
    r"(?:or )?(?:is|was|would) (?:it|that) (?:be )?(?:(?:the|a|at|on|for) )?[\w.:]+(?: \w+)? or\b"
    r"|(?:and |so )?(?:what|how much)(?: does| do| is|'s|s)? (?:that|it|they|this|all that)"
    r" (?:come to|make|total|add up to|amount to|altogether|in all|in total)(?: altogether| in all| in total)?\W*$"
    r"|(?:and |so )?(?:at )?(?:(?:what|which) (?:rate|speed|pace)|how fast)(?: (?:is|would|does|will|must|should)|'s)?"
    r" (?:that|it|this)(?: (?:be|take|need|mean|make|come to|have to be))*\W*$",
    re.IGNORECASE,
)
BARE = (
    "next", "nxt", "when", "whens", "then", "now", "when exactly", "exactly when", "what time exactly", "if so when",
    "if so when exactly", "at what time", "if not when", "what time", "when then",
)


@cache
def _break() -> re.Pattern[str]:
    """Where one ask may end and the next begin: a stop mark, a line, or a joining word before a word that asks.

    "The rate, by the nurse's sheet, is 90." tells.
    """
    asks = table("turns_en")["patterns"]["ask_word"]
    joined = "and also|and then|also|and|plus|n|&|but|oh and|then"
    stops = rf"{_SENTENCE_ENDS}|\s+-\s+|:\s+(?={asks})"
    begins = rf"(?:{asks}|if (?:i|we|you|he|she|it|they)\b|{_thing()})"
    told = r"(?:is|are)\s+\d+\s*(?:(?:mls?|mils?|ccs?)\b)?\s*(?:(?:an|per|each|every) hour)?\s*(?:$|[.,;-])"
    return re.compile(
        rf"{stops}|,?\s+(?:{joined}),?\s+(?={begins})|,\s+(?!{told})(?=(?:{asks}|{_thing()}))", re.IGNORECASE
    )


@cache
def _thing() -> str:
    """A thing that is asked for by its name alone ("... plus the battery hours")."""
    return str(table("turns_en")["patterns"]["asked_thing"])


@cache
def _asks() -> re.Pattern[str]:
    return re.compile(table("turns_en")["patterns"]["asks_first"], re.IGNORECASE)


@cache
def _names_a_thing() -> re.Pattern[str]:
    return re.compile(rf"^{_thing()}", re.IGNORECASE)


_OF_ITS_OWN_TIME = re.compile(r"\b(?:remind|wake)\b.*\d", re.IGNORECASE)
_JOINED = re.compile(r"^(?:and also|and then|oh and|and|also|plus|then|n|&)\b,?\s+", re.IGNORECASE)
ENDS_ASKING = re.compile(  # "252 left on 72 so off when", "300 left, when's it off"
    r"\d.*(?:\b(?:when|what time|how long|how much|how many)\W*$"
    r"|\b(?:when'?s|when (?:is|will|does|do)|how long|what time)\b)",
    re.IGNORECASE,
)
_WANTED = re.compile(r"\?|\b(?:please|pls|want|need|tell me|give me|what|how|when)\b", re.IGNORECASE)


_WANTS = re.compile(  # what is wanted of the plan or of a sum; "I need the pump off by 8" wishes for an end
    r"(?:(?:and|so|hi|hello|also|i|we|just)[ ,]+)*(?:need|want|would like|would love|'d like|require|am after|after)"
    r"(?: to know| to have)? (?:(?:the|his|her|my|their|our|a) )?(?:(?:number of|ordered|usual|total) )?"
    r"(?:drops?|drip rate|rate|speed|weight|volume|amount|size|calories|kcals?|protein|water|flush(?:es)?|strength"
    r"|recipe|end time|start time)\b",
    re.IGNORECASE,
)


#: "how many scoops and how much water for a 110 feed": two halves of one recipe, made of the one amount
_HOW_MUCH = r"(?:(?:ho?w (?:mu?ch|ma?ny)|what|whats|what's)(?: of)?(?: the)? )"
_POWDER = re.compile(rf"^(?:and |n |plus )?{_HOW_MUCH}?(?:powder|scoops?)\b", re.IGNORECASE)
_ITS_WATER = re.compile(rf"^(?:and |n |plus )?{_HOW_MUCH}?water\b", re.IGNORECASE)
_OTHER_WATER = re.compile(r"\b(?:flush\w*|day|daily|24|altogether|total)\b", re.IGNORECASE)


def _of_one_mix(one: str, other: str) -> bool:
    powder_first = _POWDER.search(one.split(". ")[-1]) and _ITS_WATER.match(other)
    water_first = _ITS_WATER.search(one.split(". ")[-1]) and _POWDER.match(other)
    return bool(powder_first or water_first) and not _OTHER_WATER.search(f"{one} {other}")


def _with_their_subject(pieces: list[str]) -> list[str]:
    """A word that asks without a subject of its own ("next?") belongs to what was said before it."""
    joined: list[str] = []
    for piece in pieces:
        of_one_mix = bool(joined) and _of_one_mix(joined[-1], piece)
        if joined and (of_one_mix or piece.lower().strip(" ?.!") in BARE or _OF_THE_SAME.match(piece)):
            joined[-1] += f" and {piece}" if of_one_mix else f" {piece}"
        else:
            joined.append(piece)
    return joined


_WRITE = (  # "put three cartons in the bag" is an act; "put that down" is an order
    r"(?:please |pls |can you |could you |just )*"
    r"(?:log|jot|note(?! (?:here|there|says?|said|from|on the|by|reads|is|was)\b)|write"
    r"|mark|record|(?:put|pop)(?=(?: \w+){0,2} (?:down|in the log|on the log|in the book)\b))"
    r"(?: (?:it|that|this|them|these|that one))?(?: (?:down|in the log|on the log|in the book|too|as well|please|pls))*"
)
_ORDER = re.compile(rf"^{_WRITE} (?:that |it |as )?|(?:,|\band\b)?\s*\b{_WRITE}(?: for me)?$", re.IGNORECASE)
_JOINER = (
    r"(?:\s*,\s*(?:and\s+)?|\s+(?:and|plus|n|&)\s+)"
    r"(?:(?:also|the|his|her|my|total|what|how (?:much|many))\s+)*"
)
_NUTRIENTS = {
    "calories": r"(?:kilo)?calories|cals|k?cals?|kilojoules|energy",
    "protein": r"(?:(?:grams?|g) of )?prot(?:ei|ie)n",
    "water": r"(?:free )?(?:water|fluids?)",
}
_NUTRIENT = re.compile("|".join(rf"(?P<{name}>\b(?:{said})\b)" for name, said in _NUTRIENTS.items()), re.IGNORECASE)


def _one_nutrient_each(text: str) -> tuple[str, ...]:
    """ "Calories and protein in the morning feed?": the same question of each; the message where it joins none."""
    named = list(_NUTRIENT.finditer(text))
    if not named:
        return (text,)
    first = last = named[0]
    spans: list[tuple[int, re.Match[str]]] = []
    for other in named[1:]:
        joiner = re.search(_JOINER + "$", text[: other.start()], re.IGNORECASE)
        if joiner is None or other.lastgroup in {one.lastgroup for one in (first, *(o for _, o in spans))}:
            continue
        beside = joiner.start() == last.end()
        closes = not text[other.end() :].strip(" .?!") and other.lastgroup != "water"
        if beside or closes:
            spans.append((joiner.start(), other))
            last = other
    if not spans:
        return (text,)
    for start, other in reversed(spans):
        text = text[:start] + text[other.end() :]
    before = re.sub(r"how many $", "how much ", text[: first.start()], flags=re.IGNORECASE)
    names = [str(one.lastgroup) for one in (first, *(other for _, other in spans))]
    return tuple(f"{before}{name}{text[first.end() :]}" for name in names)


_OF_WHAT = re.compile(
    r"\d|\b(?:dry|prim\w*|fresh|new|sets?|line|full|empty|feeds?|bags?|bolus|pump|syringe|gravity)\b", re.IGNORECASE)
FEW = 6  # words that may name which feed is meant


def _says_of_what(piece: str) -> bool:
    """Does what is told beside say anything that a second ask may need? "I won't wake her" does not."""
    return bool(_OF_WHAT.search(piece) or hear(piece).amounts or len(piece.split()) <= FEW)


def parts(text: str) -> tuple[str, ...]:
    """The asks of a message in order; the whole message where there is only one."""
    each = _one_nutrient_each(text)
    if len(each) > 1:
        cut = _break().search(each[-1], max(m.end() for m in _NUTRIENT.finditer(each[-1])))
        if cut is None:
            return each
        more = each[-1][cut.start() :]
        return (*(one.removesuffix(more) for one in each), each[-1][cut.end() :])
    pieces = [p.strip(" ,") for p in _break().split(text) if p and p.strip(" ,.?!")]
    pieces = _with_their_subject(pieces)
    orders = [i for i, piece in enumerate(pieces) if _ORDER.search(piece.strip(" .!"))]
    wanted = bool(_WANTED.search(text))
    asking = [i for i, piece in enumerate(pieces)
              if i in orders or _asks().search(piece) or _WANTS.match(piece) or ENDS_ASKING.search(piece)
              or (wanted and _names_a_thing().search(piece))]
    if len(asking) < 2 or len(asking) > 3:
        return (text,)
    made: list[str] = []
    for i in asking:  # what is told goes with the asks after it; after the last of them, with all
        told = [p for j, p in enumerate(pieces)
                if j not in asking and (j < i or j > asking[-1]) and (not made or _says_of_what(p))]
        if _OF_ITS_OWN_TIME.search(pieces[i]):
            told = []
        if "remind" not in pieces[i].lower():
            told += [_ORDER.sub("", pieces[j].strip(" .!")) + "." for j in orders if j < i]
        before = [p if p[-1:] in ".?!;" else f"{p}," for p in told]  # a comma keeps the asking words at a beginning
        made.append(" ".join([*before, _JOINED.sub("", pieces[i]) if made else pieces[i]]))
    return tuple(made)


def told_beside(text: str) -> tuple[tuple[str, ...], str]:
    """The sentences of a message that tell and do not ask, and the rest of it; none where the rest does not ask."""
    sentences = [p for p in SENTENCES.split(text) if p and p.strip(" .,;?!")]
    told = tuple(p for p in sentences if not _asks().search(p) and not _ORDER.search(p.strip(" .!")))
    rest = " ".join(p for p in sentences if p not in told)
    return (told, rest) if told and rest else ((), text)
