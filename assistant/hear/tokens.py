"""Plain words parted into tokens, with their places in the text.

Our own splitter, so that "78ml/hr", "@78", "7:30pm", "1,092", "1 1/2" and "3pm." part where the ear parts them.
A hyphen inside a word parts it and is dropped ("seventy-eight"); between or before digits it is kept ("-5", "7-8").
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import NamedTuple


class Words(NamedTuple):
    """Tokens in lower case; where each starts and ends in `text`."""

    text: str
    tokens: list[str]
    starts: list[int]
    ends: list[int]

    def glued(self, i: int) -> bool:
        """True when token `i` stands right after token `i - 1`, no space between."""
        return 0 < i < len(self.tokens) and self.ends[i - 1] == self.starts[i]

    def said(self, start: int, end: int) -> str:
        return self.text[self.starts[start] : self.ends[end - 1]]


@cache
def _pattern(mixed: tuple[str, ...]) -> re.Pattern[str]:
    known = "|".join(sorted(map(re.escape, mixed), key=len, reverse=True))
    return re.compile(
        rf"""[ap]\.\s?m\b\.?                      # p.m.
        | [^\W\d_]++(?:'[^\W\d_]++)*+(?!\d)       # a word
        | (?<![^\W_])(?:{known})(?![^\W_])        # h2o, 2nite: a word with a digit in it
        | \d{{4}}-\d\d-\d\d                        # 2026-11-29
        | \d{{3}}-\d{{4}}(?![\d-])                 # a telephone number
        | \d+(?:/\d+)+                             # 1/2, 29/11
        | \d+(?:st|nd|rd|th)(?![^\W_])             # 14th
        | \d+(?:[.,:]\d+)+                         # 7.8, 1,092, 21:15 and the broken ones
        | (?<![\w.,:])\.\d+                        # .5
        | \d+
        | [^\W\d_]+
        | \S""",
        re.IGNORECASE | re.VERBOSE,
    )


def split(text: str, mixed: Mapping[str, str]) -> Words:
    """`text` as Words. `mixed`: words that hold a digit, and what they stand for."""
    tokens: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    for match in _pattern(tuple(mixed)).finditer(text):
        token = match.group().lower()
        start, end = match.span()
        if token == "-" and _inside_word(text, start):
            continue
        if "." in token and token[0] in "ap":
            token = token[0] + "m"
        if "/" in token and len(token) > 1 and _two_numbers(token):
            for part in re.finditer(r"\d+|/", token):
                tokens.append(part.group())
                starts.append(start + part.start())
                ends.append(start + part.end())
            continue
        tokens.append(mixed.get(token, token))
        starts.append(start)
        ends.append(end)
    return Words(text, tokens, starts, ends)


def _two_numbers(token: str) -> bool:
    """ "85/765": neither a fraction nor a date nor a month with its year."""
    parts = [int(part) for part in token.split("/")]
    return max(parts) > 31 and len(parts) == 2 and not 1900 <= parts[1] <= 2100


def _inside_word(text: str, at: int) -> bool:
    before = text[at - 1 : at]
    after = text[at + 1 : at + 2]
    return before.isalnum() and after.isalnum() and not (before.isdecimal() and after.isdecimal())
