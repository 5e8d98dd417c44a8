"""The words of knowledge/hearing_en.toml, read once and laid out for looking up."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

_PER_TIME = (("h", "per_hour"), ("min", "per_minute"), ("s", "per_second"), ("d", "per_day"))
_PER_THING = (("ml", "per_volume"), ("oz", "per_ounce"), ("l", "per_litre"), ("kg", "per_kilo"), ("other", "per_other"))


class Unit(NamedTuple):
    """A unit as people say it: kind and unit as in message.Reading; `times` when said in a larger one (feet)."""

    kind: str
    unit: str
    times: int = 1


class Phrases:
    """Phrases by their first word, longest first; what each stands for."""

    def __init__(self, pairs: Iterable[tuple[str, Any]]) -> None:
        self._by_first: dict[str, list[tuple[int, list[str], Any]]] = {}
        for phrase, value in pairs:
            words = phrase.split()
            self._by_first.setdefault(words[0], []).append((len(words), words, value))
        for rows in self._by_first.values():
            rows.sort(key=lambda row: -row[0])

    def at(self, tokens: Sequence[str], i: int) -> tuple[int, Any] | None:
        """(index after the longest phrase that starts at token `i`, its value), or None."""
        if i >= len(tokens):
            return None
        for length, words, value in self._by_first.get(tokens[i], ()):
            if length == 1 or tokens[i : i + length] == words:
                return i + length, value
        return None

    def firsts(self) -> set[str]:
        return set(self._by_first)


@dataclass(frozen=True)
class Lexicon:
    number: Mapping[str, tuple[str, int]]  # word -> (class, value); classes: unit teen ten hundred thousand zero
    plural: frozenset[str]
    whole: Phrases  # "a dozen" -> 12
    unit: Phrases  # -> Unit
    per: Phrases  # "/", "an" ... -> True
    per_time: Phrases  # after per: "h" "min" "s" "d"
    per_thing: Phrases  # after per: "ml" "oz" "l" "other"
    not_amount: Phrases
    between: Phrases
    day: Phrases
    month: Mapping[str, int]
    ordinal: Mapping[str, int]
    part: Phrases  # "in the morning" -> "morning"
    suffix: Phrases  # "pm", "o'clock"
    noon: Phrases  # "noon" -> 720, "midnight" -> 0
    about_after: Phrases
    some_hundred: Phrases
    lists: Mapping[str, frozenset[str]]  # small sets of single words, by name
    mixed: Mapping[str, str]
    triggers: frozenset[str]  # every word that may begin an amount, a time or a date
    after_a: frozenset[str]  # ... after "a" or "an"
    idiom_starts: frozenset[str]  # every word that may begin an expression that is no amount


def _number_words(data: Mapping[str, Any]) -> tuple[dict[str, tuple[str, int]], set[str]]:
    words: dict[str, tuple[str, int]] = {}
    for section, kind in (("digits", "unit"), ("teens", "teen"), ("tens", "ten"), ("plural_tens", "ten")):
        for value, said in data[section].items():
            words.update({word: (kind, int(value)) for word in said})
            words.update({word + "ish": (kind, int(value)) for word in said})  # "tenish"
    parts = data["number_parts"]
    for name, kind, value in (
        ("hundred", "hundred", 100),
        ("hundreds", "hundred", 100),
        ("thousand", "thousand", 1000),
        ("zero", "zero", 0),
    ):
        words.update(dict.fromkeys(parts[name], (kind, value)))
    plural = {word for said in data["plural_tens"].values() for word in said} | set(parts["hundreds"])
    return words, plural


def _sets(data: Mapping[str, Any]) -> dict[str, frozenset[str]]:
    parts, units, clock = data["number_parts"], data["unit_words"], data["clock"]
    of_numbers = ("joined_by", "point", "half", "quarter", "third", "minus", "zero", "so_many_hundred")
    named = {name: parts[name] for name in of_numbers}
    named |= {
        name: units[name]
        for name in (
            "one_of",
            "sized",
            "sized_after",
            "sized_before",
            "one_hour",
            "one_time",
            "one_time_after",
            "one_hour_not_after",
            "weight_near",
            "temperature_near",
            "left_after",
        )
    }
    named |= {
        name: clock[name]
        for name in ("at", "leads", "past", "to", "through", "running", "now", "clock_before", "begun", "changed")
    }
    named |= {
        name: data["not_amounts"][name]
        for name in (
            "one_day_after",
            "four_for",
            "two_to",
            "dialled_after",
            "one_is_a_thing_after",
            "dialled",
            "decade_after",
        )
    }
    named |= {
        "about": data["about"]["before"],
        "date_before": data["dates"]["before"],
        "no_day": data["dates"]["no_day"],
        "short_day_after": data["short_days"]["after"],
        "short_day_join": data["short_days"]["join"],
        "short_day_not": data["short_days"]["not_before"],
        "short_day_no": data["short_days"]["not_after"],
        "day_short": data["short_days"]["list"],
    }
    return {name: frozenset(words) for name, words in named.items()}


def _pairs(table: Mapping[str, Iterable[str]]) -> list[tuple[str, str]]:
    return [(phrase, value) for value, said in table.items() for phrase in said]


def _units(rows: Iterable[Mapping[str, Any]]) -> list[tuple[str, Unit]]:
    return [(phrase, Unit(row["kind"], row["unit"], row.get("times", 1))) for row in rows for phrase in row["said"]]


@cache
def lexicon() -> Lexicon:
    """The lexicon. Reads the file at the first call only."""
    data = tomllib.loads(files("knowledge").joinpath("hearing_en.toml").read_text(encoding="utf-8"))
    number, plural = _number_words(data)
    units, clock = data["unit_words"], data["clock"]
    short = {word: day for day, said in data["short_days"].items() if day in data["days"] for word in said}
    part = {name: clock[name] for name in ("morning", "afternoon", "evening", "night")}
    built = Lexicon(
        number=number,
        plural=frozenset(plural),
        whole=Phrases((phrase, Decimal(value)) for phrase, value in data["number_parts"]["tens_of"].items()),
        unit=Phrases(_units(data["unit"])),
        per=Phrases((phrase, True) for phrase in units["per"]),
        per_time=Phrases(_pairs({unit: units[key] for unit, key in _PER_TIME})),
        per_thing=Phrases(_pairs({unit: units[key] for unit, key in _PER_THING})),
        not_amount=Phrases(
            (" ".join(phrase.replace("-", " ").split()), True) for phrase in data["not_amounts"]["phrases"]
        ),
        between=Phrases((phrase, True) for phrase in units["between"]),
        day=Phrases(_pairs(data["days"]) + list(short.items())),
        month={word: int(month) for month, said in data["months"].items() for word in said},
        ordinal={word: int(day) for day, said in data["ordinals"].items() for word in said},
        part=Phrases(_pairs(part)),
        suffix=Phrases(_pairs({"am": clock["am"], "pm": clock["pm"], "o'clock": clock["o_clock"]})),
        noon=Phrases([(p, 720) for p in clock["noon"]] + [(p, 0) for p in clock["midnight"]]),
        about_after=Phrases((phrase, True) for phrase in data["about"]["after"]),
        some_hundred=Phrases((phrase, True) for phrase in data["number_parts"]["some_hundred"]),
        lists=_sets(data) | {"short_day": frozenset(short)},
        mixed=data["not_amounts"]["mixed"],
        triggers=frozenset(),
        after_a=frozenset(),
        idiom_starts=frozenset(),
    )
    return _with_triggers(built)


def _with_triggers(built: Lexicon) -> Lexicon:
    words = set(built.number) | set(built.month) | set(built.ordinal) | {"a", "an", "-"}
    for phrases in (built.whole, built.day, built.noon):
        words |= phrases.firsts()
    parts: set[str] = set()
    for name in ("half", "quarter", "third"):
        parts |= built.lists[name]
    for name in ("minus", "point", "one_hour"):
        words |= built.lists[name]
    after_a = set(built.number) | parts | built.unit.firsts() | {"couple", "dozen"}
    return replace(
        built,
        triggers=frozenset(words | parts),
        after_a=frozenset(after_a),
        idiom_starts=frozenset(built.not_amount.firsts()),
    )
