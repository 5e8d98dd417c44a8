"""Plain tellings of a feed, in a closed vocabulary: "gave him the lunch one at 12, all 250", "stopped it for his bath".

The fitted weights hear an alarm in some of them. Every word has to be one of the few that say who, which feed, how much
and when; a word more ("again", "wrong", "out", "limp") and nothing here applies. Rules over signs are not touched.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

from assistant.danger.here_and_now import found, told
from assistant.danger.words import fold
from assistant.night import Night, feed_volume
from rules.quantity import number

TOO_MUCH = Decimal("1.5")  # times the ordered amount: above it a telling may be of an overfeed
LED_BY_A_RATE = r"(?:(?<=rate )|(?<=rate of )|(?<=rate is )|(?<=pump at )|(?<=pump on ))"
FEVER_FROM, FEVER_TO = Decimal(37), Decimal(43)  # °C
CLOCK = Decimal(24)  # a number up to this may be an hour

_CLOCKS = re.compile(r"\b\d{1,2}[:.]\d\d\b|\b\d{1,2} ?(?:am|pm)\b", re.IGNORECASE)
_SENTENCES = re.compile(
    r"(?<=[.?!;])\s+|\s*\n\s*|,\s+(?=(?:and |so )?(?:when|what|how|which)(?:'?s)?\b)", re.IGNORECASE
)


def nothing_else(text: str, night: Night, harmless: Callable[[str], bool]) -> bool:
    """Is every sentence a plain telling, or harmless by itself? One at least has to be a telling."""
    rest = [s for s in _SENTENCES.split(night.unnamed(text)) if s.strip() and not _calm(s, night)]
    if len(rest) == len([s for s in _SENTENCES.split(text) if s.strip()]):
        return False
    return all((harmless(s) or told("next_asked", s)) and not told("once_more", s) for s in rest)


def with_its_unit(text: str, night: Night) -> str:
    """`text` with "mL/h" after a rate of the plan that could be read as a fever: "dad's put it right, 38.5 now".

    Where heat is spoken of, only right after a word for the rate.
    """
    for rate in night.ordered_rates:
        figure = f"{rate.normalize():f}"
        if FEVER_FROM <= rate < FEVER_TO and figure in text:
            led = LED_BY_A_RATE if told("of_heat", text) else ""
            alone = rf"{led}(?<![\d.,]){re.escape(figure)}(?![\d]|[.,]\d| ?(?:°|deg|c\b|ml))"
            text = re.sub(alone, f"{figure} mL/h", text)
    return text


def mark_in_place(text: str, night: Night) -> bool:
    """Is the tube's mark read off at the care plan's own length and told as it should be, and nothing else of it?"""
    length = night.plan.tube.outside_length if night.plan is not None else None
    read = found("mark_read", text)
    if length is None or read is None or told("mark_off", text.replace(read[0], " ")):
        return False
    return Decimal(read["n"].replace(",", ".")) == number(length, "cm")


MOVED_BY, BOTH = Decimal(1), 2  # cm; numbers
_LENGTHS = re.compile(
    r"(?<![\d.,:/])(\d{1,2}(?:[.,]\d)?)(?![\d:/]|[.,]\d| ?(?:ml|mls|h\b|hours?|min|am|pm|%|kcal|kg|o'?clock))"
)


def mark_moved(text: str, night: Night) -> bool:
    """ "NG mark at nose 52 in the plan, now 60": the mark is read off at another length than meant.

    The plan's length (cm) or one told as meant, and another one told as it is now; of a mark, and of nothing that is
    asked or only to be.
    """
    length = night.plan.tube.outside_length if night.plan is not None else None
    met = found("mark_named", text)
    if met is None or "?" in text[met.start() : met.end() + MARK_REACH] or told("mark_put_right", text):
        return False
    near = text[met.start() : met.end() + MARK_REACH]
    told_ones = [Decimal(n.replace(",", ".")) for n in _LENGTHS.findall(near)]
    if len(told_ones) == BOTH and told("mark_then_now", near):
        return abs(told_ones[0] - told_ones[1]) >= MOVED_BY
    one = told_ones[0] if len(told_ones) == 1 and told("mark_now", near) else None
    return length is not None and one is not None and abs(one - number(length, "cm")) >= MOVED_BY


MARK_REACH = 45  # characters


def _calm(sentence: str, night: Night) -> bool:
    """A telling (or a plan for later, with its reason) in the closed vocabulary, with amounts as they are ordered."""
    all_in = told("of_a_meal", sentence)
    calm = all_in or (told("calm", sentence) and told("of_a_feed", sentence))
    if not calm or told("named_twice", sentence):
        return False
    if told("later_on", sentence) and not told("its_reason", sentence):
        return False
    if told("lasting", sentence) and not told("stopped_then", sentence):
        return False  # "all of it, five minutes": a span is of a pause, or it may be how fast it went in
    return _amounts_fit(sentence, night)


def _amounts_fit(sentence: str, night: Night) -> bool:
    """Is no number above what is ordered; where times are told as meant and as they were, is every one a time?"""
    feeds = night.feeds_named(sentence.lower())
    volumes = [number(v, "mL") for v in map(feed_volume, feeds or night.feeds) if v is not None]
    most = TOO_MUCH * (max(volumes) if feeds else min(volumes)) if volumes else CLOCK
    most = CLOCK if told("meant_then", sentence) else max(most, CLOCK)
    words = fold(_CLOCKS.sub(" ", sentence))
    after = (*words.raw[1:], "")
    of_a_span = [unit.startswith("min") for unit in after]
    return all(n is None or n <= most or span for n, span in zip(words.number, of_a_span, strict=True))
