"""How often a plain danger is heard beside a clause that tells of another thing, in every order and with every joint.

    python tests/danger_beside.py [how many unheard ones to show]

The words are our own and were mended on: seen. Each danger is heard where it stands alone.
"""

from __future__ import annotations

import datetime
import random
import sys
from collections import Counter
from pathlib import Path

from assistant.hear.plain import plain
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.triage import triage

DANGERS = (
    "he's choking", "she can't breathe", "her lips are blue", "he won't wake up", "she's having a seizure",
    "the tube has come out", "he's vomiting blood", "she's bleeding heavily from the hole", "she's gone limp",
    "he has a fever of 39.9 and is shaking", "there's milk coming out of his nose and he's coughing",
    "her face is swelling up", "he swallowed a button battery", "she pulled the peg out", "I gave the medicine twice",
    "he's vomiting green", "the cord is round her neck", "her breathing is really fast", "he is turning grey",
    "dad has collapsed", "she won't rouse", "he drank bleach", "mum is slurring and her face drooped",
    "he is jerking all over and won't stop", "gran has had a fall and hit her head", "the button popped out",
    "she is vomiting every ten minutes", "he can hardly speak for breath", "the feed went in his trachy",
)
BESIDE = (
    "it was his birthday on Saturday", "the nurse came this morning and all was well", "the pump is fine",
    "I changed the dressing yesterday", "last week he was grand", "it's probably nothing", "the dog is asleep",
    "my sister is a nurse", "there's 200 left in the bag", "the rate is 72", "it's snowing outside",
    "he slept well last night", "she was fine an hour ago", "no temperature though",
    "he was laughing a minute ago", "we've been to clinic on Monday", "his medicine is due at 10",
    "the doctor says he is doing well", "everything else is normal", "the book says to wait",
    "I read about it online", "he did this once before years ago", "the ambulance was here last month",
    "what rate should it be at", "when does the feed finish", "yesterday she was bouncing off the walls",
    "he ate a biscuit last Christmas", "she got her flu jab last week", "we changed the button in March",
    "no sign of a rash", "my neighbour had the same", "it all went well this morning", "my phone is nearly dead",
    "his bloods were fine last month", "he was discharged yesterday", "everyone else is asleep",
    "his sister is giggling", "our Molly starts school in September", "the decorators were in last week",
    "can I give the next feed",
)
JOINED = ("{danger} and {other}", "{other}, {danger}", "{danger}. {other}", "{other} but {danger}", "{other}. {danger}",
          "{other} {danger}")
HOME = Path(__file__).parent.parent / "demo" / "child_overnight_pump.toml"


def main(shown: int) -> None:
    night = Night(plan=read_plan(HOME), now=datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC))
    unheard = [
        (danger, other, text)
        for danger in DANGERS for other in BESIDE for joint in JOINED
        if not triage(plain(text := joint.format(danger=danger, other=other)), night)
    ]
    total = len(DANGERS) * len(BESIDE) * len(JOINED)
    print(f"{total} messages, danger heard in {total - len(unheard)} ({1 - len(unheard) / total:.1%})")
    print("beside:", Counter(other for _, other, _ in unheard).most_common(6))
    print("dangers:", Counter(danger for danger, _, _ in unheard).most_common(6))
    for _, _, text in random.Random(1).sample(unheard, min(shown, len(unheard))):
        print("   ", text)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 0)
