"""The same message said another way: what stands beside a sum, and how it is typed, must change no figure.

    python tests/said_another_way.py [SEED]

The first turns of tests/conversations that give figures, each with a sentence about other things before or after it,
and in other forms (greeting, thanks, capitals, no stop marks, a slip of the finger, a sound between the words).
Printed: the figures that stayed, what was asked about instead, what was written down, and what came out **different**.
"""

from __future__ import annotations

import hashlib
import random
import re
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1]))

from test_conversations import conversations, open_session

ASIDES = (
    "My sister is 34.", "The bus is at 8:15.", "It's 23 degrees in here.", "There are 4 of us in the house.",
    "I rang the clinic twice.", "I've been up since 5.", "The match ended 3-1.", "Parking cost me 12.",
    "We live at 27 Mill Lane.", "The shop shuts at nine.", "My shift starts at 7.", "The dog is 12.",
    "I slept 3 hours.", "My phone is at 18 percent.", "I had two coffees.", "The heating is set to 21.",
    "We waited 90 minutes in casualty.", "The parcel has 24 nappies.", "I'm 61 and tired.",
    "The school rang at half two.", "It rained for 3 days.", "My husband left at six.",
    "Page 3 of the leaflet is torn.",
    "Physio is 30 minutes on Thursday.", "Our street number is 60.", "The lift is stuck on floor 7.",
)
GREETINGS = ("Hi there, ", "Hello! ", "Good evening. ", "Sorry to bother you, ", "Me again. ", "I was just wondering, ")
THANKS = (" Thanks!", " ta", " Thank you so much.", " cheers x", " Much obliged.")
SOUNDS = ("um", "er", "ehm", "uh")


def _slip(text: str, pick: random.Random) -> str:
    """One word of five letters or more with two of its inner letters the wrong way round."""
    words = text.split()
    long = [at for at, word in enumerate(words) if len(word) > 4 and word.isalpha()]
    if not long:
        return text
    at = pick.choice(long)
    word, where = words[at], pick.randrange(1, len(words[at]) - 2)
    words[at] = word[:where] + word[where + 1] + word[where] + word[where + 2 :]
    return " ".join(words)


def _left_out(text: str, pick: random.Random) -> str:
    """One word of six letters or more without one of its inner letters."""
    words = text.split()
    long = [at for at, word in enumerate(words) if len(word) > 5 and word.isalpha()]
    if not long:
        return text
    at = pick.choice(long)
    where = pick.randrange(1, len(words[at]) - 1)
    words[at] = words[at][:where] + words[at][where + 1 :]
    return " ".join(words)


def _sound(text: str, pick: random.Random) -> str:
    words = text.split()
    at = pick.randrange(1, max(2, len(words)))
    return " ".join((*words[:at], pick.choice(SOUNDS), *words[at:]))


def _after(text: str) -> str:
    return text.rstrip() + ("" if text.rstrip()[-1:] in ".?!" else ".")


WAYS: dict[str, Callable[[str, random.Random], str]] = {
    "an aside before": lambda text, pick: f"{pick.choice(ASIDES)} {text}",
    "an aside after": lambda text, pick: f"{_after(text)} {pick.choice(ASIDES)}",
    "greeting": lambda text, pick: pick.choice(GREETINGS) + text,
    "thanks": lambda text, pick: text.rstrip() + pick.choice(THANKS),
    "capitals": lambda text, _: text.upper(),
    "no stop marks": lambda text, _: re.sub(r"[,;!?]|\.(?!\d)", " ", text.lower()).strip(),
    "a slip": _slip,
    "a letter left out": _left_out,
    "a sound": _sound,
}


def _figures(record: dict[str, Any]) -> dict[str, str]:
    return {name: str(figure["value"]) for name, figure in record["figures"].items()}


def _draw(seed: int, case: dict[str, Any]) -> str:
    return hashlib.sha256(f"{seed} {case['id']}".encode()).hexdigest()


def measure(seed: int, most: int | None = None) -> tuple[dict[str, Counter[str]], list[str]]:
    """For each way how often the figures stayed, were asked about, written down, or came out different."""
    cases = [c for c in conversations() if c["turn"][0].get("figures")]
    drawn = sorted(cases, key=lambda case: _draw(seed, case))  # a conversation more moves no other out of its place
    found: dict[str, Counter[str]] = {way: Counter() for way in WAYS}
    different: list[str] = []
    for case in drawn[:most]:
        pick = random.Random(_draw(seed, case))
        session, now = open_session(case)
        plain = session.say(case["turn"][0]["say"], now)
        if plain["outcome"] != "answered" or not plain["figures"]:
            continue
        for way, changed in WAYS.items():
            said = changed(case["turn"][0]["say"], pick)
            session, now = open_session(case)
            record = session.say(said, now)
            kind = "asked"
            if record["outcome"] == "done":
                kind = "written"
            elif record["outcome"] == "answered" and record["figures"]:
                kind = "same" if _figures(record) == _figures(plain) else "different"
            found[way][kind] += 1
            if kind == "different":
                different.append(f"{way}: {said}")
    return found, different


def main() -> None:
    found, different = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
    for way, counts in found.items():
        total = sum(counts.values())
        print(f"{way}: " + ", ".join(f"{kind} {n} ({n / total:.1%})" for kind, n in counts.most_common()))
    print("different:", *different, sep="\n  ")


if __name__ == "__main__":
    main()
