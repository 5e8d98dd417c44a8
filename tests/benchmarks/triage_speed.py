"""How long hearing danger takes for a message of sixty words: the rules alone, and with the weights.

    python tests/benchmarks/triage_speed.py
Prints median and 99th percentile in microseconds, beside spaCy's tokenizer on the same text as a yardstick.
"""

from __future__ import annotations

import datetime
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from assistant.danger.hearing import hear
from assistant.language.features import take_apart
from assistant.night import Night
from assistant.triage import triage
from assistant.understand import _shares, rank

TEXT = (
    "quick one, we have 640 millilitres left in the bag at 78 an hour and I wanted to know when that will be done "
    "tonight, also his lips and fingernails look a sort of purple since I started it and he is breathing a bit fast, "
    "the nurse line has not picked up, what should I do now and can I flush"
)
NIGHT = Night(None, datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC))
ROUNDS = 1000


def timed(name: str, run: Callable[[], object]) -> None:
    run()
    took = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        run()
        took.append((time.perf_counter() - began) * 1e6)
    took.sort()
    print(f"{name:<34} median {statistics.median(took):7.0f} us   99 % {took[int(ROUNDS * 0.99)]:7.0f} us")


def rules() -> None:
    hear.cache_clear()
    hear(TEXT)


def whole() -> None:
    for kept in (hear, take_apart, rank, _shares):
        kept.cache_clear()
    triage(TEXT, NIGHT)


if __name__ == "__main__":
    print(f"{len(TEXT.split())} words")
    timed("rules", rules)
    timed("rules and weights (nothing kept)", whole)
    try:
        import spacy

        blank = spacy.blank("en")
        timed("spaCy tokenizer, for comparison", lambda: blank.make_doc(TEXT))
    except ImportError:
        pass
