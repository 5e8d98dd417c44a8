"""How much of everyday talk that has nothing to do with feeding would be taken for a question of ours.

    python tests/benchmarks/peers/outside.py FILE.json      {"part": [["sentence", ...], ...]}, such as CLINC150
The file is read, never fitted on. Small talk (hello, thanks, yes, stop, help ...) and reminders are no feeding answer.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from assistant.hear.plain import plain
from assistant.understand import DANGER_FROM, danger, rank

TALK = frozenset({"out_of_scope", "greet", "thanks", "yes", "no", "stop", "help", "repeat", "slower", "undo",
                  "next_step", "previous_step", "remind", "cancel_reminder", "explain"})


def main(path: str) -> None:
    parts = json.loads(Path(path).read_text(encoding="utf-8"))
    lines = sorted({plain(entry[0]) for part in parts.values() for entry in part})
    taken: dict[float, list[tuple[str, str]]] = {at: [] for at in (0.42, 0.5, 0.6, 0.7, 0.8, 0.9)}
    for line in lines:
        best = rank(line)[0] if rank(line) else None
        for least, found in taken.items():
            if best and best.intent not in TALK and best.p >= least:
                found.append((f"{best.intent}:{best.card or ''}", line))
    for least, found in taken.items():
        share = len(found) / len(lines)
        print(f"first label is a feeding one at p >= {least}: {len(found)} of {len(lines)} ({share:.2%})")
    print(f"danger alarms: {sum(danger(line) >= DANGER_FROM for line in lines)}")
    print(Counter(label for label, _ in taken[0.6]).most_common(12))
    for label, line in taken[0.8][:25]:
        print(f"  {label}  {line}")


if __name__ == "__main__":
    main(sys.argv[1])
