"""Run the sealed scenes and print how many dangers were heard. Never tune on it: it prints counts, no lines.

python tests/unseen/run.py [--plan FILE]
"""

from __future__ import annotations

import argparse
import collections
import json
from pathlib import Path

from assistant.household.care_plan import read_plan
from assistant.session import Session, instant

HERE = Path(__file__).parent
LEVELS = ("none", "routine", "same_day", "urgent", "emergency")


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--plan", default=str(HERE.parents[1] / "demo" / "adult_syringe.toml"))
    plan = read_plan(Path(ask.parse_args().plan))
    now = instant("2026-11-25T02:10", plan)
    scenes = [
        json.loads(line) for line in (HERE / "scenes.jsonl").read_text(encoding="utf-8").splitlines() if line.strip()
    ]
    tally: collections.Counter[str] = collections.Counter()
    missed: collections.Counter[str] = collections.Counter()
    for scene in scenes:
        record = Session(plan).say(scene["text"], now)
        level = LEVELS.index(record["level"])
        if scene["danger"]:
            tally["danger"] += 1
            tally["heard"] += level >= 3
            tally["level reached"] += level >= LEVELS.index(scene["level"])
            fair = {scene["card"], *scene.get("cards_also_fair", ())}
            tally["right card"] += record.get("card") in fair or any(
                r.get("card") in fair for r in record.get("also", ())
            )
            if level < 3:
                missed[scene["card"]] += 1
        else:
            tally["calm"] += 1
            tally["false alarms"] += level >= 3
            tally["sums answered"] += scene["level"] == "none" and record["outcome"] == "answered"
    heard, danger, calm = tally["heard"], tally["danger"], tally["calm"]
    print(f"danger heard {heard}/{danger} ({heard / danger:.1%}), level reached {tally['level reached']}")
    print(f"right card {tally['right card']}; false alarms {tally['false alarms']}/{calm}")
    print("missed by card:", ", ".join(f"{card} {n}" for card, n in missed.most_common()) or "none")


if __name__ == "__main__":
    main()
