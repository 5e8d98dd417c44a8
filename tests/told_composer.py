"""The parts of which messages are put together: what people tell of a feed and what they ask, by many writers.

tests/told_parts/ holds them, a file a writer, one JSON object a line ({"part": "start", "text": "pump went on at
{start}"}); the numbers are filled in here. What each number is about is known, and so is the right answer
(tests/told_scenes.py, tests/told_further.py).
"""

from __future__ import annotations

import json
import random
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

ROLES = {  # what the numbers of each part are about
    "start": {"start": "start"}, "rate": {"rate": "rate"}, "hung": {"amount": "hung"}, "left": {"left": "left"},
    "gone": {"gone": "given"}, "pause_for": {"mins": "off"}, "pause_span": {"off": "went_off", "on": "came_back"},
    "now_is": {"now": "clock_now"}, "deadline": {"by": "finish"}, "stopped": {"stop": "ended"},
    "meals": {"a": "at_a_feed", "b": "at_a_feed"}, "f_rate": {"rate": "rate"}, "f_amount": {"amount": "amount"},
    "f_correct_rate": {"rate": "rate"}, "f_correct_amount": {"amount": "amount"}, "f_correct_start": {"start": "start"},
    "f_pause": {"mins": "off"}, "flush_given": {"flush": "flush"}, "poured": {"poured": "hung"},
    "meant": {"total": "total"}, "missed": {"missed": "missed_amount"}, "spilt": {"lost": "missed_amount"},
    "f_more_missed": {"missed": "missed_amount"}, "over_hours": {"hours": "over"}, "f_other_hours": {"hours": "over"},
    "ran_for": {"hours": "ago"}, "made_at": {"made": "opened"}, "opened_at": {"opened": "opened"},
    "hung_at": {"hung": "opened"}, "screen": {"rate": "rate", "amount": "total"}, "rate_before": {"rate": "noise"},
    "changed": {"rate": "other", "at": "other"},
    "asked_amount": {"amount": "total"}, "asked_amount_rate": {"amount": "total", "rate": "rate"},
    "asked_amount_by": {"amount": "total", "by": "finish"},
    "asked_all": {"amount": "total", "rate": "rate", "by": "finish"},
    "asked_rate": {"amount": "total", "hours": "over"}, "asked_span": {"start": "start", "by": "finish"},
    "asked_share": {"total": "total", "gone": "given"},
    "amount_other": {"amount": "noise"}, "count": {"count": "other"}, "size": {"size": "container"},
    "bag_size": {"bag": "bag"}, "line_takes": {"prime": "other"}, "goal": {"goal": "goal"},
    "late": {"mins": "late"}, "keeps": {"hours": "other"}, "every": {"hours": "other"}, "last_one": {"last": "other"},
    "next_feed": {"next": "other"}, "weight": {"kg": "other"}, "syringe_size": {"size": "syringe"},
}
SIZES = {  # from what to what the numbers of a mixed message are drawn, by their place; any other is an hour of the day
    "rate": (40, 125), "mins": (15, 55), "hours": (2, 18), "count": (9, 120), "size": (20, 500), "prime": (8, 30),
    "kg": (9, 80), "goal": (900, 2400), "bag": (500, 1200), "flush": (10, 90), "lost": (20, 150), "missed": (40, 400),
    "amount": (100, 1400), "left": (60, 500), "gone": (60, 500), "poured": (100, 800), "total": (150, 1600),
    "a": (80, 400), "b": (80, 400),
}
HOURS = ("twelve", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven")
PARTS_OF_AN_HOUR = {5: "five past", 10: "ten past", 15: "quarter past", 20: "twenty past", 30: "half past",
                    40: "twenty to", 45: "quarter to", 50: "ten to", 55: "five to"}
ONES = ("", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
        "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
Told = tuple[tuple[int | datetime, str], ...]  # each number that was told, and what it is about
Wanted = tuple[str, Any]  # the figure's name ("a|b": either), and its value (a tuple: any of these)


@dataclass
class Turn:
    """One message, the figure that it must give, and what each of its numbers is about (any other: nothing of ours)."""

    text: str
    wanted: Wanted
    told: Told


@dataclass
class Scene:
    """One conversation."""

    kind: str
    plan: str
    now: datetime
    turns: list[Turn] = field(default_factory=list)


def in_words(number: int) -> str:
    """A number under 1,000 as it is said."""
    hundreds, rest = divmod(number, 100)
    tail = ONES[rest] if rest < 20 else f"{TENS[rest // 10]} {ONES[rest % 10]}".strip()
    return " ".join(filter(None, (f"{ONES[hundreds]} hundred" if hundreds else "", tail)))


def clock(at: datetime, pick: random.Random) -> str:
    """A clock time as people write it."""
    half = "am" if at.hour < 12 else "pm"
    twelve = at.hour % 12
    ways = [f"{at:%H:%M}", f"{twelve or 12}:{at:%M} {half}"]
    if at.minute == 0:
        ways += [f"{twelve or 12} {half}", f"{twelve or 12}{half}"]
    elif at.minute in PARTS_OF_AN_HOUR:
        ways.append(f"{PARTS_OF_AN_HOUR[at.minute]} {HOURS[(twelve + (at.minute > 30)) % 12]}")
    return pick.choice(ways)


class Composer:
    """Draws the parts of the writers named (all in the folder, where none is), by a seed."""

    def __init__(self, folder: Path, writers: Collection[str], seed: int, *, chatty: bool = False) -> None:
        self.pick = random.Random(seed)
        self.chatty = chatty  # up to three asides with numbers in one message; of writers of asides or tells as well
        self.parts: dict[str, list[str]] = defaultdict(list)
        for file in sorted(folder.glob("*.jsonl")):
            if not writers or file.stem in writers:
                for line in file.read_text("utf-8").splitlines():
                    row = json.loads(line)
                    self.parts[row["part"]].append(row["text"])
        more = [*(folder / "asides").glob("*.jsonl"), *(folder / "tells").glob("*.jsonl")] if chatty else []
        for file in sorted(more):
            for row in map(json.loads, file.read_text("utf-8").splitlines()):
                self.parts[row["part"]].append(row["text"])
        self.told: list[tuple[int | datetime, str]] = []
        if not self.parts:
            raise ValueError(f"no parts in {folder} (writers: {', '.join(writers) or 'any'})")

    def say(self, part: str, **values: int | datetime) -> str:
        """One text of a part with its numbers; what they are about is kept for the turn."""
        self.told += [(value, ROLES[part][name]) for name, value in values.items()]
        text = self.pick.choice(self.parts[part])
        for name, value in values.items():
            said = clock(value, self.pick) if isinstance(value, datetime) else self._number(value)
            text = text.replace(f"{{{name}}}", said)
        return text

    def _number(self, value: int) -> str:
        return in_words(value) if value < 1000 and self.pick.random() < 0.2 else str(value)

    def message(self, tells: list[str], ask: str) -> str:
        """The tells in any order, the ask last or first; an aside in half of the messages."""
        self.pick.shuffle(tells)
        if self.chatty:
            for _ in range(self.pick.choices((0, 1, 2, 3), (2, 4, 3, 1))[0]):
                tells.insert(self.pick.randrange(len(tells) + 1), self.say("aside_num"))
        elif self.pick.random() < 0.5 and self.parts["aside"]:
            tells.insert(self.pick.randrange(len(tells) + 1), self.say(self.pick.choice(("aside", "aside_num"))))
        at = self.pick.choices((len(tells), 0), (3, 1))[0]
        pieces = [*tells[:at], ask, *tells[at:]]
        text = pieces[0].rstrip()
        for piece in pieces[1:]:
            closed = text[-1:] in ".?!"
            led = closed or piece.lstrip()[:1] == "("
            text += (" " if led else self.pick.choice((". ", ". ", ", ", " and ", " - ", " "))) + piece.strip()
        return text

    def mixed(self) -> Turn:
        """Two to four tells of any kind with any ask: only what its numbers are about is known, no figure is wanted."""
        tells = [part for part in self.parts if part in ROLES and not part.startswith("f_")]
        asks = [part for part in self.parts if part.startswith("ask_")]
        said = [self.say(part, **{name: self._drawn(name) for name in ROLES[part]})
                for part in self.pick.sample(tells, self.pick.randint(2, 4))]
        turn = Turn(self.message(said, self.say(self.pick.choice(asks))), ("", None), tuple(self.told))
        self.told.clear()
        return turn

    def _drawn(self, name: str) -> int | datetime:
        if name in SIZES:
            return self.pick.randint(*SIZES[name])
        return datetime(2026, 11, 24, self.pick.randint(0, 23), 5 * self.pick.randint(0, 11))

    def turn(self, scene: Scene, text: str, wanted: Wanted) -> None:
        """One more message of a scene."""
        scene.turns.append(Turn(text, wanted, tuple(self.told)))
        self.told.clear()
