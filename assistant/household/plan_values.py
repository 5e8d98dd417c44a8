"""One value of a care plan, read by its kind. Raises Wrong with the sentence that says what may stand there."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from assistant.household.plan_amounts import Amount, read_amount
from assistant.household.plan_faults import Wrong, nearest
from assistant.household.plan_keys import Key
from assistant.household.plan_times import read_clock, read_date, read_moment, read_zone
from assistant.household.plan_words import words

LONGEST_WORDS = 200
EVERY = re.compile(r"every\s+(\S.*)")


@dataclass(frozen=True)
class FlushTimes:
    """When a tube is flushed: around feeds and medicines, and every so often while a feed runs."""

    when: frozenset[str]
    every: Amount | None = None


def read_value(value: Any, key: Key, path: str, units: str | None = None) -> Any:
    """`value` as TOML gave it, read as the kind of `key`. `path` names the key, for its possible range."""
    return READERS[key.kind](value, key, path, units)


def _amount(value: Any, key: Key, path: str, units: str | None) -> Amount:
    measure = key.measure or "percent"
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        raise Wrong("bare_number")
    amount = read_amount(_text(value), measure, units=units)
    if measure == "percent":
        if not 0 <= amount.number <= 100:
            raise Wrong("beyond_percent")
        return amount
    if amount.number < 0 or (amount.number == 0 and not key.may_be_zero):
        raise Wrong("not_positive")
    _within_possible(amount, measure, path)
    return amount


def _within_possible(amount: Amount, measure: str, path: str) -> None:
    """Stop an amount that no care plan can mean: a slip of the decimal point, a rate in the place of a volume."""
    plain = ".".join(part for part in path.split(".") if not part.isdigit())
    possible = words()["possible"]
    span = possible.get(plain, possible.get(measure))
    low, high = (read_amount(span[end], measure) for end in ("low", "high"))
    number = amount.number if measure != "time" else minutes(amount)
    least, most = (end.number if measure != "time" else minutes(end) for end in (low, high))
    if number > most or (number < least and number != 0):
        raise Wrong("beyond_possible", low=span["low"], high=span["high"])


def minutes(amount: Amount) -> Decimal:
    """A length of time in minutes."""
    return amount.number * {"min": 1, "h": 60, "day": 1440}[amount.unit]


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise Wrong("not_words")
    if not value.strip():
        raise Wrong("empty")
    if len(value) > LONGEST_WORDS:
        raise Wrong("too_long", most=LONGEST_WORDS)
    if any(unicodedata.category(sign) in {"Cc", "Cf", "Zl", "Zp"} for sign in value):
        raise Wrong("hidden_sign")
    return value


def _words(value: Any, key: Key, path: str, units: str | None) -> str:
    return _text(value).strip()


def _phone(value: Any, key: Key, path: str, units: str | None) -> str:
    if isinstance(value, int) and not isinstance(value, bool):
        raise Wrong("phone_unquoted", suggestion=f'"{value}"')
    text = _text(value).strip()
    if not re.search(r"[0-9]", text):
        raise Wrong("phone")
    return text


def _count(value: Any, key: Key, path: str, units: str | None) -> int:
    if isinstance(value, str) and re.fullmatch(r"[0-9]{1,6}", value.strip()):
        raise Wrong("count", suggestion=value.strip())
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= 100_000:
        raise Wrong("count")
    return value


def _yes_no(value: Any, key: Key, path: str, units: str | None) -> bool:
    if isinstance(value, bool):
        return value
    answer = {"yes": "true", "true": "true", "no": "false", "false": "false"}.get(str(value).casefold())
    raise Wrong("yes_no", suggestion=answer)


def _choice(value: Any, key: Key, path: str, units: str | None) -> str:
    if isinstance(value, str) and value in key.choices:
        return value
    near = nearest(str(value), key.choices)
    raise Wrong("choice", choices=", ".join(key.choices), suggestion=f'"{near}"' if near else None)


def _choices(value: Any, key: Key, path: str, units: str | None) -> frozenset[str]:
    if not isinstance(value, list):
        raise Wrong("choices", choices=", ".join(key.choices))
    return frozenset(_choice(each, key, path, units) for each in value)


def _flush_times(value: Any, key: Key, path: str, units: str | None) -> FlushTimes:
    if not isinstance(value, list):
        raise Wrong("flush_times", choices=", ".join(key.choices))
    every = [each for each in value if isinstance(each, str) and EVERY.fullmatch(each.strip())]
    if len(every) > 1:
        raise Wrong("two_intervals")
    when = frozenset(_choice(each, key, path, units) for each in value if each not in every)
    if not every:
        return FlushTimes(when)
    shape = EVERY.fullmatch(every[0].strip())
    assert shape is not None
    return FlushTimes(when, _amount(shape[1], Key("amount", "time"), f"{path}.every", units))


def _of_time(read: Callable[[Any], Any]) -> Callable[[Any, Key, str, str | None], Any]:
    """A reader of plan_times, which needs neither the key nor the units."""
    return lambda value, key, path, units: read(value)


READERS: dict[str, Callable[[Any, Key, str, str | None], Any]] = {
    "amount": _amount, "percent": _amount, "count": _count, "words": _words, "phone": _phone, "yes_no": _yes_no,
    "choice": _choice, "choices": _choices, "flush_times": _flush_times,
    "date": _of_time(read_date), "clock": _of_time(read_clock), "moment": _of_time(read_moment),
    "zone": _of_time(read_zone),
}
