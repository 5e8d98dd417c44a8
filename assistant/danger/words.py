"""The words of a message as the danger rules read them: small words dropped, endings folded, numbers read.

The same folding is applied to the vocabularies in knowledge/signs, so both sides always agree.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

from assistant.danger.spelling import repaired
from knowledge.library import read

STOP = "."  # ends a sentence
COMMA = ","
MEANT = frozenset({"right", "well"})  # dropped words that mean something after a "not"
_NO = frozenset({"not", "isn't", "don't", "can't", "hasn't", "won't"})
_TOKEN = re.compile(r"\d+(?:[.,]\d+)?|[a-z]+(?:'[a-z]+)*|[.!?;\n]+|,|-(?= )|%")
_POSSESSIVE = re.compile(r"'(?:s|re|ve|ll|d|m)$")


@dataclass(frozen=True, slots=True)
class Said:
    """Folded words of a message: as read (`raw`), without its ending (`stem`), its value if it is a number."""

    raw: tuple[str, ...]
    stem: tuple[str, ...]
    number: tuple[Decimal | None, ...]
    sentence: tuple[int, ...]  # which sentence each word stands in


@dataclass(frozen=True, slots=True)
class Forms:
    """knowledge/signs/words.toml: other forms of a word, words without a sign, number words, misheard pairs, what is
    said in more words than it needs."""

    same: dict[str, tuple[str, ...]]
    dropped: frozenset[str]
    small: dict[str, int]
    heard: dict[str, str]
    plainer: tuple[tuple[re.Pattern[str], str], ...]


@cache
def _forms() -> Forms:
    found = read("signs/words.toml")
    same = {other: tuple(plain.split()) for plain, others in found["same"].items() for other in others}
    plainer = tuple((re.compile(words), plain) for words, plain in found["plainer"]["pairs"])
    return Forms(same, frozenset(found["dropped"]["say"]), dict(found["small_numbers"]), dict(found["heard"]), plainer)


@lru_cache(maxsize=20000)
def stem(word: str) -> str:
    """`word` without a common ending: breathe, breathing, breathes are one."""
    if len(word) > 3 and word.endswith("ies"):
        word = word[:-3] + "y"
    elif len(word) > 3 and word[-1] == "s" and word[-2] not in "sui":
        word = word[:-1]
    for ending, least in (("ing", 5), ("ed", 4)):
        if (
            word.endswith(ending)
            and not word.endswith("eed")
            and len(word) >= least
            and any(v in word[: -len(ending)] for v in "aeiouy")
        ):
            word = word[: -len(ending)]
            break
    if len(word) > 3 and word[-1] == "e":
        word = word[:-1]
    if len(word) > 3 and word[-1] == word[-2]:
        word = word[:-1]
    return word


def fold(text: str, *, repair: bool = True) -> Said:
    """The folded words of `text`; never fails."""
    forms = _forms()
    text = text.lower()
    for heard, meant in forms.heard.items():
        if heard in text:
            text = text.replace(heard, meant)
    for words, plain in forms.plainer:
        text = words.sub(plain, text)
    raw = [word for token in _TOKEN.findall(text) for word in _plain(token, repair)]
    return _folded(_joined(_kept(raw, forms.dropped), forms.small))


@lru_cache(maxsize=20000)
def _plain(token: str, repair: bool) -> tuple[str, ...]:
    """A token as one word or more: its plain form, mended in its spelling where asked."""
    same = _forms().same
    if token[0] in ".!?;\n-":
        return (STOP,)
    if token in same:
        return same[token]
    if token[0].isalpha():
        word = _POSSESSIVE.sub("", token) if "'" in token else token
        if repair and len(word) > 3:
            word = repaired(word)
        return same.get(word, (word,))
    return (token.replace(",", ".") if token[0].isdecimal() else token,)


def _kept(raw: list[str], dropped: frozenset[str]) -> list[str]:
    """The words that carry a sign; "right" and "well" stay after a "not"."""
    return [
        word
        for at, word in enumerate(raw)
        if word not in dropped or (word in MEANT and _NO & set(raw[max(0, at - 2) : at]))
    ]


def _joined(raw: list[str], small: dict[str, int]) -> list[tuple[str, Decimal | None]]:
    """Number words read as one number each: "thirty eight point five", "a hundred and two", "one oh one point four"."""
    out: list[tuple[str, Decimal | None]] = []
    at = 0
    while at < len(raw):
        word = raw[at]
        if word[0].isdecimal():
            out.append((word, Decimal(word)))
            at += 1
        elif word in small or word == "hundred":
            value, at = _spoken(raw, at, small)
            out.append((str(value), value))
        else:
            out.append((word, None))
            at += 1
    return out


def _spoken(raw: list[str], at: int, small: dict[str, int]) -> tuple[Decimal, int]:
    total, last, digits = 0, 0, ""
    while at < len(raw):
        word, follows = raw[at], raw[at + 1] if at + 1 < len(raw) else ""
        if word == "hundred":
            total, last = (total or 1) * 100, 100
        elif word == "oh" and total and follows in small and small[follows] < 10:
            total, last = total * 100, 100
        elif word in small and (not last or (last >= 20 and small[word] < last and (last != 100 or total >= 100))):
            total, last = total + small[word], small[word]
        elif word == "and" and last == 100 and follows in small:
            pass
        elif word == "point" and last and follows in small:
            digits, at = str(small[follows]), at + 2
            break
        else:
            break
        at += 1
    return Decimal(f"{total}.{digits}" if digits else total), at


def _folded(words: list[tuple[str, Decimal | None]]) -> Said:
    raw, stems, numbers, sentence, count = [], [], [], [], 0
    for word, number in words:
        if word == STOP:
            count += 1
            continue
        raw.append(word)
        stems.append(stem(word) if number is None else word)
        numbers.append(number)
        sentence.append(count)
    return Said(tuple(raw), tuple(stems), tuple(numbers), tuple(sentence))


def tens_after(said: Said, at: int) -> Decimal | None:
    """ "Sugar was two ten", 210: the tens that the number at `at` goes on with; None where it stands for itself."""
    follows = said.number[at + 1 : at + 2]
    value, tens = said.number[at], follows[0] if follows else None
    if value is None or tens is None or not 1 <= value < TEN <= tens < HUNDRED or value != int(value):
        return None
    if said.raw[max(0, at - 1)].startswith(("spo", "sat", "o2", "ox")):
        return None  # "SpO2 82"
    return None if said.raw[at + 2 : at + 3] and said.raw[at + 2].startswith(TIMES) else tens


TEN, HUNDRED = 10, 100
TIMES = ("min", "hour", "hr", "day", "ago", "oclock", "pm", "am", "week")
