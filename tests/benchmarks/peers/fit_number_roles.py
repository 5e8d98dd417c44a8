"""Fit the weights for what a number is about (knowledge/weights/number_roles.tsv.gz). Development only: scikit-learn.

    python tests/benchmarks/peers/fit_number_roles.py            fit on all of tests/told_parts and write the table
    python tests/benchmarks/peers/fit_number_roles.py two six    fit without these writers and judge by them; no table
    python tests/benchmarks/peers/fit_number_roles.py voice_8    the same, with files of tests/numbers_marked
    python tests/benchmarks/peers/fit_number_roles.py unseen     judge by the writers who are never fitted

The lines are whole messages as they arrive, each number marked by hand (tests/numbers_marked; they count most);
messages put together by tests/told_scenes.py, so that each number's role is known; and phrases and conversations of the
project, each number with the role that the words beside it say plainly, or `other`.
"""

from __future__ import annotations

import gzip
import json
import re
import sys
import tomllib
from collections import Counter
from collections.abc import Collection, Iterator
from datetime import datetime
from pathlib import Path

from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(ROOT / "tests"))

from told_composer import ROLES, Turn  # noqa: E402
from told_further import Further  # noqa: E402
from told_scenes import Scenes  # noqa: E402

from assistant.hear import hear  # noqa: E402
from assistant.hear.plain import plain  # noqa: E402
from assistant.language.number_roles import features  # noqa: E402
from assistant.message import Amount  # noqa: E402
from assistant.numbers.said import by_words  # noqa: E402

PARTS = ROOT / "tests" / "told_parts"
UNSEEN = ROOT / "tests" / "unseen" / "told_parts"
MARKED = ROOT / "tests" / "numbers_marked"
PHRASES = ROOT / "knowledge" / "phrases"
TABLE = ROOT / "knowledge" / "weights" / "number_roles.tsv.gz"
MESSAGES = 200                      # a writer
OFTEN = 3                           # how much a number marked by hand counts
UNMARKED = "skip"                   # the program split it, or nobody could tell
LEAST = 3                           # lines that must hold a feature
COST = 2.0
SLIGHT, NOUGHT = 6, 3              # hundredths: a feature that says less of every role, a weight that says nothing
NOTHING, OTHER = "noise", "other"   # of another story; of the feed, but none of these roles
UNSAID = frozenset({"remark", "out_of_scope", "caution"})    # numbers that play no part, whatever the words beside them
PLAIN = 2000                        # phrases
PLAINLY = 0.9                       # so strongly the words speak for a role
MISREAD_BY_WORDS = frozenset({"told_beside_the_question"})  # what the words alone take for another role
COMPOSED = frozenset(map(str, range(51, 69)))               # the phrases that were put together from the same parts
OF_OTHER_THINGS = frozenset({       # questions whose numbers play none of these roles
    "containers", "supply", "battery", "flush", "drops", "syringe", "convert", "advance", "mix", "strength", "prime",
    "per_kg", "plan_lookup", "log_lookup", "contact",
})
LABELS = frozenset(role for told in ROLES.values() for role in told.values()) | {NOTHING}
KINDS = frozenset({"number", "volume", "rate", "clock", "time"})
Line = tuple[frozenset[str], str]


def is_value(amount: Amount, told: int | datetime) -> bool:
    """Is this number the one that was told?"""
    for reading in amount.readings:
        if isinstance(told, datetime):
            if reading.kind == "clock" and int(reading.value) % 720 == (told.hour * 60 + told.minute) % 720:
                return True
        elif reading.kind in KINDS - {"clock"}:
            hours = reading.kind == "time" and reading.unit == "h"  # told in hours, or in minutes
            if float(reading.value) == told or (hours and float(reading.value) * 60 == told):
                return True
    return False


def lines_of(turn: Turn) -> Iterator[Line]:
    """Each number of a message with its role; one that could be two of those told is left out."""
    heard = hear(plain(turn.text))
    for index, amount in enumerate(heard.amounts):
        roles = {role for value, role in turn.told if is_value(amount, value)}
        if len(roles) <= 1 and amount.readings[0].kind in KINDS:
            yield features(heard, index), next(iter(roles), NOTHING)


def composed(
    writers: Collection[str], messages: int, seed: int, folder: Path = PARTS, *, chatty: bool = False
) -> list[Line]:
    composer = Scenes(folder, writers, seed, chatty=chatty)
    further = Further(folder, writers, seed, chatty=chatty)
    scenes = [composer.scene() for _ in range(messages)] + [further.scene() for _ in range(messages // 2)]
    mixed = [further.mixed() for _ in range(messages // 2)]
    turns = [turn for scene in scenes for turn in scene.turns] + mixed
    return [line for turn in turns for line in lines_of(turn)]


def marked(files: Collection[Path]) -> list[Line]:
    """The numbers of whole messages with the roles that a reader gave them; one heard otherwise is left out."""
    found: list[Line] = []
    for row in (json.loads(line) for file in files for line in file.read_text("utf-8").splitlines()):
        heard, marks, at = hear(plain(row["text"])), row["numbers"], 0
        for index, amount in enumerate(heard.amounts):
            here = next((n for n in range(at, len(marks)) if _same(marks[n][0], amount.text)), None)
            if here is None or amount.readings[0].kind not in KINDS:
                continue
            at = here + 1
            if marks[here][1] != UNMARKED:
                found.append((features(heard, index), marks[here][1]))
    return found


def _same(said: str, heard: str) -> bool:
    """Is a number as it stands in the message the one that was heard?"""
    one, other = (re.sub(r"[^a-z0-9:.]", "", text.lower()) for text in (plain(said), heard))
    return bool(one and other) and (one in other or other in one)


def by_the_words() -> list[Line]:
    """The numbers of phrases and conversations with the role that the words give them plainly; of phrases that ask
    other things (supplies, kit, flushes ...), `other`."""
    rows = [row for path in sorted(PHRASES.glob("*.jsonl")) if path.stem not in COMPOSED
            for row in map(json.loads, path.read_text("utf-8").splitlines()) if row["intent"] not in UNSAID]
    rows = [row for row in rows if any(mark.isdigit() for mark in row["text"])]
    texts = [(row["text"], row["intent"] in OF_OTHER_THINGS) for row in rows[:: max(1, len(rows) // PLAIN)]]
    texts += [(text, False) for text in _conversations()]
    return [line for text, other in texts for line in _words_of(text, other)]


def _conversations() -> list[str]:
    found: list[str] = []
    for path in sorted((ROOT / "tests" / "conversations").glob("*.toml")):
        if path.stem in MISREAD_BY_WORDS:
            continue
        for case in tomllib.loads(path.read_text("utf-8"))["conversation"]:
            found += [turn["say"] for turn in case["turn"]]
    return found


def _words_of(text: str, other: bool) -> Iterator[Line]:
    heard = hear(plain(text))
    for one in by_words(heard):
        if one.amount not in heard.amounts or one.amount.readings[0].kind not in KINDS:
            continue
        ranked = sorted(((strength, role) for role, strength in one.roles.items()), reverse=True) or [(0.0, OTHER)]
        strength, role = ranked[0]
        alike = len(ranked) > 1 and ranked[1][0] == strength  # the words do not say which
        if (strength >= PLAINLY and not alike) or other:
            yield features(heard, heard.amounts.index(one.amount)), role if role in LABELS and not other else OTHER


def fitted(made: list[Line], by_hand: list[Line]) -> tuple[DictVectorizer, LogisticRegression]:
    lines = made + by_hand
    seen = Counter(feature for found, _ in lines for feature in found)
    kept = [dict.fromkeys((f for f in found if seen[f] >= LEAST), 1) for found, _ in lines]
    vectorizer, often = DictVectorizer(), [1] * len(made) + [OFTEN] * len(by_hand)
    model = LogisticRegression(C=COST, max_iter=300)
    return vectorizer, model.fit(vectorizer.fit_transform(kept), [role for _, role in lines], often)


def write(vectorizer: DictVectorizer, model: LogisticRegression) -> None:
    """The table as text: roles, their bias, then one feature a line with its weights in hundredths."""
    rows = []
    for name, column in sorted(vectorizer.vocabulary_.items()):
        weights = [(at, round(weight * 100)) for at, weight in enumerate(model.coef_[:, column])]
        if max(abs(weight) for _, weight in weights) >= SLIGHT:
            rows.append("\t".join((name, *(f"{at}:{weight}" for at, weight in weights if abs(weight) >= NOUGHT))))
    heads = ("\t".join(("roles", *model.classes_)), "\t".join(("bias", *(f"{b:.2f}" for b in model.intercept_))))
    text = "\n".join((*heads, f"features\t{len(rows)}", *rows)) + "\n"
    with TABLE.open("wb") as file, gzip.GzipFile("", "wb", 9, file, mtime=0) as packed:
        packed.write(text.encode("utf-8"))
    print(f"{len(rows)} features, {TABLE.stat().st_size // 1024} kB")


def judge(vectorizer: DictVectorizer, model: LogisticRegression, lines: list[Line]) -> None:
    shares = model.predict_proba(vectorizer.transform([dict.fromkeys(found, 1) for found, _ in lines]))
    best = [(model.classes_[row.argmax()], row.max(), role) for row, (_, role) in zip(shares, lines, strict=True)]
    for least in (0.0, 0.8, 0.95):
        sure = [(said, role) for said, share, role in best if share >= least]
        right = sum(said == role for said, role in sure)
        print(f"at {least:.2f} or more: {len(sure) / len(best):.1%} of {len(best)} numbers,"
              f" right {right / len(sure):.1%}")
    for role in model.classes_:
        sure = [truth for said, share, truth in best if said == role and share >= 0.8]
        print(f"  taken for {role:10} {len(sure):5}  {Counter(sure).most_common(4)}")


def main() -> None:
    writers = sorted(path.stem for path in PARTS.glob("*.jsonl"))  # the writers of further parts are some of the others
    files = sorted(MARKED.glob("*.jsonl"))
    apart = sys.argv[1:]
    fit_on = [name for name in writers if name.removeprefix("further_") not in apart]
    several = MESSAGES * len(fit_on)
    made = composed(fit_on, several, 1) + composed(fit_on, several, 3, chatty=True) + by_the_words()
    vectorizer, model = fitted(made, marked([file for file in files if file.stem not in apart]))
    if apart == ["unseen"]:
        judge(vectorizer, model, composed((), 800, 2, UNSEEN))
        print("with many asides, of a writer of asides who is never fitted either:")
        judge(vectorizer, model, composed((), 800, 4, UNSEEN, chatty=True))
    elif by_hand := [file for file in files if file.stem in apart]:
        judge(vectorizer, model, marked(by_hand))
    elif apart:
        judge(vectorizer, model, composed(apart, 800, 2))
    else:
        write(vectorizer, model)


if __name__ == "__main__":
    main()
