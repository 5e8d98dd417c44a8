"""Asks that are counted out ("Two things. One, ... Two, ..."): without the counting, whose numbers are of no feed."""

from __future__ import annotations

import re

_SO_MANY = re.compile(
    r"^(?:(?:hi|hello|hey|right|ok|okay|so|just|i(?:'ve| have)?|we(?:'ve| have)?|got|there are|have)[ ,.!]+)*"
    r"(?P<many>two|2|three|3|a couple of|couple of) (?:quick |wee |little )?(?:things|questions|asks|queries)"
    r"(?: for you| please| to ask)?\s*[.:;,!-]*\s*",
    re.IGNORECASE,
)
_IN_WORDS = re.compile(
    r"(?P<before>^|[.?!;:,\n]\s*|\s+and\s+)(?:number )?(?:one|two|three|first(?:ly)?|second(?:ly)?|third(?:ly)?"
    r"|first off|first of all)\s*[,:;-]\s*(?=[a-z'])",
    re.IGNORECASE,
)
_IN_DIGITS = re.compile(r"(?P<before>^|\s)[(]?(?P<n>[1-4])[.)]\s+(?=[a-z'])", re.IGNORECASE)
_IN_LETTERS = re.compile(r"(?P<before>^|[\s;,]+)[(](?P<n>[a-d])[)]\s+(?=[a-z'])", re.IGNORECASE)
_HEADED = re.compile(r":\s*[(]?1[.)]\s")  # "I need, per 24 hours: 1. kcal 2. protein"
_BY_NAME = re.compile(
    r"(?P<before>^|[.?!;\n]\s*)(?:first off|first of all|secondly|firstly|lastly)\s+(?=[a-z'])", re.IGNORECASE
)
FEWEST = 2


def without_counting(text: str) -> str:
    """`text` with each counted ask as a sentence of its own; as it is where none is counted out."""
    said = _SO_MANY.match(text)
    rest = text[said.end() :] if said else text
    digits = [m["n"] for m in _IN_DIGITS.finditer(rest)]
    if digits == [str(n) for n in range(1, len(digits) + 1)] and len(digits) >= FEWEST and rest.lstrip(" (")[:1] == "1":
        return _IN_DIGITS.sub(lambda m: ". " if m["before"] and m.start() else "", rest)
    if digits == [str(n) for n in range(1, len(digits) + 1)] and len(digits) >= FEWEST and _HEADED.search(rest):
        return _IN_DIGITS.sub(lambda m: "? " if m["n"] != "1" else " ", rest)
    lettered = "".join(m["n"].lower() for m in _IN_LETTERS.finditer(rest))
    if len(lettered) >= FEWEST and "abcd".startswith(lettered):
        return _IN_LETTERS.sub(_next_ask, rest)
    words = len(_IN_WORDS.findall(rest))
    if words >= FEWEST or (said is not None and words):
        return _IN_WORDS.sub(_parted, rest)
    if len(_BY_NAME.findall(rest)) >= FEWEST:
        return _BY_NAME.sub(lambda m: m["before"], rest)
    if said is not None and (each := _named_only(rest, SO_MANY.get(said["many"].lower(), FEWEST))):
        return each
    return rest if said is not None and rest.strip() else text


SO_MANY = {"three": 3, "3": 3}
_BETWEEN = re.compile(r"\s*[,;.?!\n]\s*(?:(?:and|also|plus|then)\s+)?|\s+(?:and|plus|also)\s+", re.IGNORECASE)
_ASKS = re.compile(r"\b(?:what|when|how|which|where|who|why|is|are|do|does|can|could|should|will|if)\b", re.IGNORECASE)
SHORT = 5  # words


def _named_only(rest: str, many: int) -> str:
    """ "3 things. Finish time, next flush, and scoops for 400": each as a question; "" where it is no such list."""
    pieces = [p for p in _BETWEEN.split(rest.strip()) if p.strip()]
    if len(pieces) != many or any(_ASKS.search(p) or len(p.split()) > SHORT for p in pieces):
        return ""
    return " ".join(f"{p}?" for p in pieces)


def _next_ask(met: re.Match[str]) -> str:
    """A question mark after the ask before; what stood before the first has its own end."""
    return "? " if met["n"].lower() != "a" else " "


def _parted(met: re.Match[str]) -> str:
    """The stop before a counted ask; a comma or an "and" becomes one."""
    before = met["before"]
    return before if not before or before.strip() in {".", "?", "!", ";"} or "\n" in before else ". "
