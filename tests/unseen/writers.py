"""Two writers whom the weights have never met: which question, which danger. Only ever run, never fitted or tuned on.

    python tests/unseen/writers.py
`right`: the first label is the line's (or one that carries the same help, as in by_writer.py).
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "benchmarks" / "peers")]

from by_writer import SAME  # noqa: E402

from assistant.cards import card  # noqa: E402
from assistant.hear.plain import plain  # noqa: E402
from assistant.night import Night  # noqa: E402
from assistant.triage import triage  # noqa: E402
from assistant.understand import rank  # noqa: E402

NIGHT = Night(None, datetime(2026, 11, 25, 2, 10, tzinfo=UTC))


def count(path: Path) -> Counter[str]:
    found: Counter[str] = Counter()
    for line in path.read_text(encoding="utf-8").splitlines():
        entry = json.loads(line)
        text = plain(entry["text"])
        label = f"caution:{entry['card']}" if entry["intent"] == "caution" else entry["intent"]
        wanted = {label}.union(*(same for same in SAME if label in same))
        first = [f"caution:{c.card}" if c.card else c.intent for c in rank(text)[:3]]
        grave = entry["intent"] == "caution" and card(entry["card"])["level"] in ("urgent", "emergency")
        kind = "danger" if grave else "calm card" if entry["intent"] == "caution" else "calm"
        found.update({"lines": 1, kind: 1, f"{kind} alarmed": int(bool(triage(text, NIGHT)))})
        found.update({"right": int(first[:1] != [] and first[0] in wanted), "three": int(bool(wanted & set(first)))})
    return found


def main() -> None:
    for path in sorted(Path(__file__).parent.glob("writer_*.jsonl")):
        one = count(path)
        print(f"{path.stem}: {one['lines']} lines, right {one['right'] / one['lines']:.1%}, in first three "
              f"{one['three'] / one['lines']:.1%}; danger heard {one['danger alarmed']} of {one['danger']}, "
              f"calm alarms {one['calm alarmed']} of {one['calm']}")


if __name__ == "__main__":
    main()
