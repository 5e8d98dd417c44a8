"""List the words that spelling repair may mend towards (knowledge/weights/vocabulary.txt), from knowledge/phrases.

Kept are real English words that two writers use, and others (ward shorthand, trade words) that five writers use often.
Run before fit_language.py when phrases were added. Development only.
"""

from __future__ import annotations

import json
import sys
from collections import Counter, defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))

from assistant.hear.plain import plain  # noqa: E402
from assistant.language.features import tokens  # noqa: E402
from assistant.language.spelling import VOCABULARY, english  # noqa: E402

SHORTEST = 3
ENGLISH_LINES, ENGLISH_WRITERS = 4, 2
OTHER_LINES, OTHER_WRITERS = 12, 5


def main() -> None:
    said: Counter[str] = Counter()
    ours: Counter[str] = Counter()
    users: defaultdict[str, set[str]] = defaultdict(set)
    for path in sorted((ROOT / "knowledge" / "phrases").glob("[A-Za-z].jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            entry = json.loads(line)
            for word in tokens(plain(entry["text"])):
                if word.isalpha() and word.isascii() and len(word) >= SHORTEST:
                    said[word] += 1
                    ours[word] += entry["intent"] != "out_of_scope"
                    users[word].add(path.stem)
    kept = [
        (word, count) for word, count in sorted(said.items())
        if (word in english() and count >= ENGLISH_LINES and len(users[word]) >= ENGLISH_WRITERS)
        or (count >= OTHER_LINES and len(users[word]) >= OTHER_WRITERS)
    ]
    listed = "".join(f"{word}\t{count}\t{ours[word]}\n" for word, count in kept)
    (ROOT / "knowledge" / "weights" / VOCABULARY).write_text(listed, encoding="utf-8")
    print(f"{len(kept)} words")


if __name__ == "__main__":
    main()
