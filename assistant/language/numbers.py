"""Numbers inside a message, replaced by the class of thing they count.

"run 65 ml an hour" and "run 130 ml an hour" ask the same question, so the language layer sees a class ("#rate")
in place of the figure. The amounts themselves are read elsewhere (assistant/hear); nothing here is computed with.
"""

from __future__ import annotations

import re

_WORDS = (
    "zero|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen"
    "|eighteen|nineteen|twenty|thirty|forty|fourty|fifty|sixty|seventy|eighty|ninety|ninty|hundred|thousand|dozen"
)
_SPOKEN = re.compile(
    rf"\b(?:(?:an?|one)\s+(?=hundred|thousand|dozen))?(?:{_WORDS})(?:(?:\s+|-|\s+and\s+|\s+n\s+|\s+point\s+|\s+oh\s+)"
    rf"(?:{_WORDS}|one|oh)\b)*\b"
)

#: units by class; joined by longest match after a number
_UNITS: dict[str, str] = {
    "#volume": "ml mls mil mils millilitre millilitres milliliter milliliters cc ccs l litre litres liter liters oz "
               "ounce ounces floz cup cups tsp tbsp pint pints",
    "#energy": "kcal kcals cal cals calorie calories kilocalories kj",
    "#weight": "kg kgs kilo kilos kilogram kilograms lb lbs pound pounds stone stones",
    "#mass": "mg mcg g gram grams",
    "#length": "cm cms mm mms inch inches centimetre centimetres centimeter centimeters",
    "#french": "fr french",
    "#percent": "% percent",
    "#minutes": "min mins minute minutes sec secs second seconds",
    "#hours": "h hr hrs hour hours hourly",
    "#days": "day days night nights week weeks wk wks month months mth mths /7 /12 /52",
    "#age": "yr yrs year years yo y/o",
    "#times": "x times",
    "#ordinal": "st nd rd th",
    "#drops": "drop drops gtt gtts",
    "#clock": "am pm a.m p.m o'clock oclock",
    "#sugar": "mmol mmol/l mg/dl",
    "#degrees": "degree degrees c f °c °f °",
}
_CLASS_OF = {unit: name for name, units in _UNITS.items() for unit in units.split()}
#: class of "<first> per <second>"
_PER: dict[tuple[str, str], str] = {
    ("#volume", "#hours"): "#rate", ("#volume", "#days"): "#perday", ("#volume", "#weight"): "#perkg",
    ("#energy", "#weight"): "#perkg", ("#energy", "#volume"): "#strength", ("#energy", "#days"): "#perday",
    ("#drops", "#volume"): "#dripfactor", ("#drops", "#minutes"): "#drops", ("", "#hours"): "#rate",
    ("#volume", "#minutes"): "#rate", ("", "#days"): "#perday", ("#mass", "#volume"): "#mass",
}
_UNIT = "|".join(re.escape(unit) for unit in sorted(_CLASS_OF, key=len, reverse=True))
_NUMBER = re.compile(
    rf"(?P<n>\d+(?:[.,:]\d+)*|#s)(?:\s*-?\s*(?P<u>{_UNIT})(?![a-z]))?"
    rf"(?:\s*(?:/|\bper\b|\ban?\b|\bp/)\s*(?P<d>{_UNIT})(?![a-z]))?"
)


def _by_size(figure: str) -> str:
    if figure == "#s":
        return "#spoken"
    if ":" in figure:
        return "#clock"
    if "." in figure or "," in figure[-3:]:
        return "#decimal"
    digits = figure.replace(",", "")
    if len(digits) == 4 and digits[0] == "0":
        return "#clock"
    return f"#digits{min(len(digits), 4)}"


def _class_of(match: re.Match[str]) -> str:
    figure, unit, per = match.group("n", "u", "d")
    name = _CLASS_OF.get(unit or "", "")
    if per is not None:
        return f" {_PER.get((name, _CLASS_OF[per]), name or _by_size(figure))} "
    if name == "#degrees" or (not name and figure[:2] in _BODY_HEAT and _is_heat(figure)):
        return " #heat "
    return f" {name or _by_size(figure)} "


_BODY_HEAT = frozenset({"36", "37", "38", "39", "40", "41", "10"})


def _is_heat(figure: str) -> bool:
    """A figure such as 38.4 or 101.6 that stands alone is most often a body's temperature."""
    whole, _, part = figure.partition(".")
    return len(part) == 1 and whole in {"36", "37", "38", "39", "40", "41", "100", "101", "102", "103", "104", "105"}


def number_classes(text: str) -> str:
    """`text` (lower case) with each number in digits, or said in words, replaced by its class."""
    text = _SPOKEN.sub("#s", text)
    return _NUMBER.sub(_class_of, text) if "#s" in text or any(mark.isdigit() for mark in text) else text
