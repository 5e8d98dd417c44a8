"""The numbers in a recogniser's words, as plain digits in their order, so that two ears can be held against each other.

    "how long will four hundred last at nine fifteen"   ("400", "915")
    "how long will 400 mL last at 9:15"                 ("400", "915")

Nothing is computed from these: station 4 (assistant/hear) reads the words that are passed on.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from assistant.hear import misheard
from assistant.wording.speak import ONES, TENS

_TOKEN = re.compile(r"\d{1,3}(?:,\d{3})+|\d+(?:[.:]\d+)*|[a-z]+(?:'[a-z]+)?|[/+-]")
_ONES = {word: n for n, word in enumerate(ONES)} | {"oh": 0, "o": 0}
_TENS = {word: 10 * n for n, word in enumerate(TENS) if n > 1}
_LARGE = {"hundred": 100, "thousand": 1000}
_SAID = {"half": "half", "halves": "half", "quarter": "quarter", "quarters": "quarter", "noon": "noon",
         "midday": "noon", "midnight": "midnight", "third": "third", "dozen": "dozen", "double": "double"}
_BETWEEN = {"past": "past", "after": "past", "to": "to", "till": "to", "of": "to"}
_OTHER_UNITS = {"litre": "L", "litres": "L", "liter": "L", "liters": "L", "l": "L", "ounce": "oz", "ounces": "oz",
                "oz": "oz"}

_NEXT = re.compile(r"[^a-z]*([a-z]+)")
_MILLILITRES = re.compile(r"mls?|mils?|mills|cc|millilit(?:re|er)s?")
_HOURLY = re.compile(r"\W*(?:mls?|mils?|mills|cc|millilit(?:re|er)s?)?\W*(?:an?|per|every|each|/) ?(?:hour|hr|h)\b")


@dataclass(frozen=True)
class Number:
    """One number as it was written: its digits, and where it stands in the text."""

    digits: str
    start: int
    end: int

    @property
    def twin(self) -> str | None:
        """The digits it is easily taken for (15 and 50), or None."""
        if not self.digits.isdecimal():
            return None
        other = misheard(Decimal(self.digits))
        return None if other is None else str(other)


@dataclass
class _Run:
    """A number while it is read: words of it may come one after the other ("two hundred and forty")."""

    groups: list[str]
    start: int
    end: int
    joined: bool = False  # the last word was "hundred and", "point": more must follow
    point: bool = False
    half: bool = False    # "and a half" is being passed over

    def take(self, word: str, end: int) -> None:
        self.end, joined, self.joined = end, self.joined, False
        if self.point:
            self.groups[-1] += str(_ONES.get(word, _TENS.get(word, "")))
        elif word in _LARGE:
            self._times(_LARGE[word])
        else:
            value = _ONES[word] if word in _ONES else _TENS[word]
            last = self.groups[-1] if self.groups else ""
            room = last.endswith("00") if joined or last.endswith("00") else False
            if (room and len(last) > 2) or (last and 0 < value < 10 and int(last) % 100 >= 20 and last.endswith("0")):
                self.groups[-1] = str(int(last) + value)
            else:
                self.groups.append(str(value))

    def _times(self, large: int) -> None:
        last = int(self.groups.pop()) if self.groups else 1
        whole = int(self.groups[-1]) if self.groups else 0
        if large == 100 and last >= 1000:  # "two thousand three hundred": the three was added, take it out again
            last, whole = last % 10, last - last % 10
            self.groups.append(str(whole + last * 100))
        else:
            self.groups.append(str(last * large))

    def number(self) -> Number:
        return Number("".join(self.groups), self.start, self.end)


def numbers(text: str) -> tuple[Number, ...]:
    """Every number in `text`, digits and words alike."""
    found: list[Number] = []
    run: _Run | None = None
    tokens = list(_TOKEN.finditer(text.lower()))
    for at, token in enumerate(tokens):
        word = token.group()
        following = tokens[at + 1].group() if at + 1 < len(tokens) else ""
        if word[0].isdigit():
            digits = _plain(word)
            if run is not None and not run.point:
                run.groups.append(digits)
                run.end = token.end()
            else:
                run = _Run([digits], token.start(), token.end())
        elif _counts(word, following, run):
            run = run or _Run([], token.start(), token.end())
            run.take(word if word not in ("a", "an") else "one", token.end())
        elif run is not None and word == "and" and (following in _ONES or following in _TENS) and _hundred(run):
            run.joined = True
        elif run is not None and _and_a_half(tokens, at):
            run.groups[-1] += ".5"
            run.end, run.half = tokens[at + 2].end(), True
        elif run is not None and run.half and word in ("a", "half"):
            if word == "half":
                found.append(run.number())
                run = None
        elif run is not None and word == "point" and (following in _ONES or following in _TENS):
            run.groups[-1] += "."
            run.point = True
        elif run is not None and word in ("-",) and following and (following[0].isdigit() or following in _ONES):
            continue  # "1-5", "4-0": digits said one by one
        else:
            if run is not None:
                found.append(run.number())
                run = None
            if word in _SAID:
                found.append(Number(_SAID[word], token.start(), token.end()))
    if run is not None:
        found.append(run.number())
    return tuple(found)


def _and_a_half(tokens: list[re.Match[str]], at: int) -> bool:
    return [token.group() for token in tokens[at : at + 3]] == ["and", "a", "half"]


def _counts(word: str, following: str, run: _Run | None) -> bool:
    if word in ("a", "an"):
        return run is None and following in _LARGE
    if word in ("oh", "o"):
        return run is not None and (following in _ONES or following in _TENS or following == "")
    return word in _ONES or word in _TENS or (word in _LARGE and run is not None)


def _hundred(run: _Run) -> bool:
    return run.groups[-1].endswith("00")


def _plain(word: str) -> str:
    """ "1,200" -> "1200", "9:15" -> "915", "9:00" -> "9"; a decimal point stays."""
    whole = word.replace(",", "").replace(":00", "").replace(":", "")
    return whole.rstrip("0").rstrip(".") if "." in whole and whole.endswith(".0") else whole


def compared(text: str) -> tuple[str, ...]:
    """What two ears must agree on: the numbers, "past", "to" and "an hour" beside them, and units other than mL."""
    spans = numbers(text)
    marks: list[tuple[int, str]] = [(n.start, n.digits) for n in spans]
    marks += [(n.end, "/h") for n in spans if _HOURLY.match(text.lower(), n.end)]
    for token in _TOKEN.finditer(text.lower()):
        word = token.group()
        before = any(0 < token.start() - n.end <= 2 for n in spans)
        after = any(0 < n.start - token.end() <= 2 for n in spans)
        if word in _BETWEEN and before and after:
            marks.append((token.start(), _BETWEEN[word]))
        elif word in _OTHER_UNITS and before:
            marks.append((token.start(), _OTHER_UNITS[word]))
    return tuple(mark for _, mark in sorted(marks))


def beside(text: str) -> tuple[str, ...]:
    """The word after each number, where its unit stands; "mL" for every way to say it."""
    low = text.lower()
    after = [_NEXT.match(low, number.end) for number in numbers(text)]
    return tuple("mL" if found and _MILLILITRES.fullmatch(found[1]) else found[1] if found else "" for found in after)


def with_digits(text: str, digits: tuple[str, ...]) -> str:
    """`text` with its numbers put as these digits, in order. A length that differs leaves the text as it is."""
    spans = numbers(text)
    if len(spans) != len(digits):
        return text
    for number, put in reversed(list(zip(spans, digits, strict=True))):
        if number.digits != put:
            text = f"{text[:number.start]}{put}{text[number.end:]}"
    return text


def joined(text: str) -> str:
    """Digits that were said one by one as one number: "at 6 5" -> "at 65"."""
    return re.sub(r"\b\d(?: \d)+\b", lambda found: found.group().replace(" ", ""), text)
