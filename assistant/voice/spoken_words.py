"""What people say about feeding, as the recognisers need it: sentences with numbers in words, and a prompt.

Everything comes from knowledge/: nothing is listed here by hand.

    python -m assistant.voice.spoken_words        writes knowledge/voice/trigram.arpa.gz anew (development only)
"""

from __future__ import annotations

import gzip
import json
import random
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from assistant.voice.trigram import Gram, arpa
from assistant.wording.speak import whole_in_words
from knowledge.library import FOLDER, load, table

MODEL = FOLDER / "voice" / "trigram.arpa.gz"
OUTSIDE = ("out_of_scope",)
LEAST = 3  # a word that fewer spoken phrases hold is left to the big dictionary of typed talk
VARIED = 5  # each phrase with a number is also said with so many others: people's numbers differ more than their words
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)?|\d+(?:\.\d+)?")
_NUMBERS = frozenset((*(whole_in_words(n) for n in range(20)), *(whole_in_words(n) for n in range(20, 100, 10)),
                      "hundred", "thousand", "point"))


def phrases() -> Iterator[str]:
    """The spoken phrases of knowledge/phrases that are about feeding, in their files' order."""
    for path in sorted((FOLDER / "phrases").glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            phrase = json.loads(line)
            if phrase["register"] == "spoken" and phrase["intent"] not in OUTSIDE:
                yield phrase["text"]


def words_of(text: str) -> Gram:
    """`text` as it is said: lower case, digits in words, the dictionary's spellings."""
    spelt = table("voice_en")["spelt_as"]
    said: list[str] = []
    for word in _WORD.findall(text.lower().replace("-", " ")):
        said.extend(_digits(word) if word[0].isdigit() else str(spelt.get(word, word)).split())
    return tuple(said)


def _digits(word: str) -> list[str]:
    whole, _, part = word.partition(".")
    said = whole_in_words(int(whole)).replace(" and ", " ").split()
    return said + (["point", *(whole_in_words(int(d)) for d in part)] if part else [])


def sentences(known: Iterable[str]) -> Iterator[Gram]:
    """What the model is made from. Words that are not `known` end a stretch: the recogniser could never say them."""
    heard = [words_of(text) for text in phrases()]
    often = {word for word, count in Counter(w for line in heard for w in line).items() if count >= LEAST}
    usable = often & set(known) | _NUMBERS
    dice = random.Random(1)  # the same model from the same phrases
    for line in heard:
        if all(word in usable for word in line):
            yield line
            for _ in range(VARIED if any(w in _NUMBERS for w in line) else 0):
                yield _other_numbers(line, dice)


def _other_numbers(line: Gram, dice: random.Random) -> Gram:
    """The line with every number in it another one of about its length, as people say them."""
    made: list[str] = []
    run: list[str] = []
    for word in (*line, ""):
        if word in _NUMBERS:
            run.append(word)
            continue
        if run:
            made.extend(_other(run, dice))
            run = []
        made.append(word)
    return tuple(made[:-1])


def _other(run: list[str], dice: random.Random) -> list[str]:
    if len(run) == 1:
        return whole_in_words(dice.randint(1, 99)).split()
    if "hundred" in run:
        return whole_in_words(dice.choice((dice.randrange(100, 1000, 5), dice.randint(100, 999)))).replace(
            " and ", dice.choice((" and ", " "))).split()
    if "point" in run:
        return [*whole_in_words(dice.randint(0, 9)).split(), "point", whole_in_words(dice.randint(1, 9))]
    first, second = dice.randint(1, 12), dice.randint(10, 59)
    return whole_in_words(first).split() + whole_in_words(second).split()


def prompt() -> str:
    """Words that prime a recogniser: how amounts are written, what is asked, and the names of the grave cards."""
    grave = [name for name, card in load("cautions").items() if card["level"] in ("emergency", "urgent")]
    named = ", ".join(name.replace("_", " ") for name in grave)
    return f"{' '.join(table('voice_en')['prompt']['begins'])} {named[:1].upper()}{named[1:]}."


def model_text(known: Iterable[str]) -> str:
    """The trigram model of everything above."""
    return arpa(sentences(known))


def write(known: Iterable[str], path: Path = MODEL) -> None:
    """The model, packed the same way each time."""
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(gzip.compress(model_text(known).encode(), mtime=0))


if __name__ == "__main__":
    from assistant.voice.sphinx import dictionary

    write(dictionary())
