"""What a number is to the one before it: put right, a part of it, a year, or not meant at all."""

from __future__ import annotations

import re
from dataclasses import replace

from assistant.message import Amount, Reading

OF_IT = re.compile(r"(?:out )?of(?: the| his| her| my| their| its| those)?")
YEARS = range(1930, 2060)
YEAR_BEFORE = re.compile(r"\b(?:in|since|during|until|till|from|of|year|spring|summer|autumn|fall|winter|christmas)$")
POURED_IN = re.compile(r"\b(?:put|pour\w*|tip\w*|pump\w*|hung|loaded|fed|went|gone|goes|all|with)(?: \w+)? in$")
RATHER_THAN = ("rather than", "and not", "in place of", "now not", "today not")
LEFT = re.compile(r"(?:ml |mls |mils )?(?:is |are )?(?:still )?(?:left|to go|remaining|remain)\b")


def in_its_unit(part: Amount, whole: Amount) -> Amount | None:
    """ "5 of his 8 ounces": the first number is ounces too."""
    bare, of = part.readings[0], whole.readings[0]
    if bare.kind != "number" or of.kind != "volume" or bare.value > of.value:
        return None
    return replace(part, readings=(Reading("volume", bare.value, of.unit),))


def part_of_a_whole(part: Amount, whole: Amount) -> bool:
    both = (part.readings[0], whole.readings[0])
    return all(r.kind in ("volume", "number") and r.value >= 20 for r in both) and both[0].value <= both[1].value


def is_year(amount: Amount, before: str) -> bool:
    """ "A seizure in 2019", "since 2021": four digits of a year after such a word, without a unit."""
    bare = amount.text.isdecimal() and len(amount.text) == 4 and int(amount.text) in YEARS
    return bare and bool(YEAR_BEFORE.search(before)) and not POURED_IN.search(before)


def not_meant(before: str) -> bool:
    """ "125 rather than 110", "148 now, not 154"."""
    return before == "not" or before.endswith(RATHER_THAN)
