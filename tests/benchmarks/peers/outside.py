"""How much of everyday talk that has nothing to do with feeding would be taken for a question of ours.

    python tests/benchmarks/peers/outside.py FILE.json [0-4]    {"part": [["sentence", ...], ...]}, such as CLINC150
The file is read, never fitted on. Small talk (hello, thanks, yes, stop, help ...) and reminders are no feeding answer.
First the likeliest label alone; then every fifth line (which fifth: the number) answered whole, on a demo plan: what
gets a figure, a card, or another feeding answer.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))

from assistant.hear.plain import plain  # noqa: E402
from assistant.household.care_plan import read_plan  # noqa: E402
from assistant.session import Session, instant  # noqa: E402
from assistant.understand import DANGER_FROM, danger, rank  # noqa: E402

PLAN = ROOT / "demo" / "child_overnight_pump.toml"

TALK = frozenset({"out_of_scope", "greet", "thanks", "yes", "no", "stop", "help", "repeat", "slower", "undo",
                  "next_step", "previous_step", "remind", "cancel_reminder", "explain", "remark"})


def answered(lines: list[str]) -> Counter[str]:
    """What the lines get as an answer: a figure, a card, another feeding answer, or none of these."""
    plan = read_plan(PLAN)
    now = instant("2026-11-25T22:00", plan)
    found: Counter[str] = Counter()
    for line in lines:
        record = Session(plan, now=now).say(line, now)
        feeding = record["outcome"] in ("answered", "done") and record["intent"] not in {*TALK, "unclear"}
        found["figure" if record["figures"] else "card" if record["card"] else "other" if feeding else "none"] += 1
    return found


def main(path: str, fifth: int) -> None:
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
    sample = lines[fifth::5]
    print(f"answered whole, {len(sample)} lines: {dict(answered(sample))}")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 0)
