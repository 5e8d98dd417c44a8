"""What people tell beside what they ask: does every told number reach its place?

    python tests/told_and_asked.py [FOLDER] [--writers NAME,NAME] [--messages N] [--seed N] [--further] [--show WHAT]

Messages of tests/told_scenes.py (or told_further.py) are answered; FOLDER holds the parts (tests/told_parts, unless
given). Printed for each kind of sum: right, asked (back, or declined), other (another question was answered), alarm,
and **wrong**.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from datetime import datetime
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(ROOT / "tests"))

from told_composer import Scene, Wanted  # noqa: E402
from told_further import Further  # noqa: E402
from told_scenes import Scenes  # noqa: E402

from assistant.household.care_plan import CarePlan, read_plan  # noqa: E402
from assistant.session import Session, instant  # noqa: E402

PLANS = ("child_overnight_pump", "adult_jejunal_cycle", "adult_syringe", "infant_powder")
NEAR = 90  # seconds


def judged(record: dict[str, Any], wanted: Wanted) -> str:
    """right, asked, alarm, other (no such figure), or wrong (that figure with another value)."""
    if record["intent"] == "caution":
        return "alarm"
    if record["outcome"] in ("asked_back", "refused", "declined"):
        return "asked"
    names, value = wanted
    figures = record.get("figures") or {}
    found = [figures[name]["value"] for name in names.split("|") if name in figures]
    if not found:
        return "other"
    values = value if isinstance(value, tuple) else (value,)
    return "right" if any(is_right(found[0], one) for one in values) else "wrong"


def is_right(found: Any, value: Any) -> bool:
    """To the minute and a half, or to six parts in a thousand."""
    if isinstance(value, datetime):
        got = datetime.fromisoformat(found)
        return abs((got - value.replace(tzinfo=got.tzinfo)).total_seconds()) <= NEAR
    if isinstance(value, bool):
        return bool(found == value)
    return abs(float(found) - value) <= max(0.006 * abs(value), 0.02)


def played(scene: Scene, plan: CarePlan) -> list[tuple[str, dict[str, Any]]]:
    """Each turn's judgement and record, up to the first that is not right: what follows leans on it."""
    session, now, found = Session(plan), instant(scene.now.isoformat(), plan), []
    for turn in scene.turns:
        reply = session.say(turn.text, now)
        record = getattr(reply, "record", reply)
        found.append((judged(record, turn.wanted), record))
        if found[-1][0] != "right":
            break
    return found


def counted(composer: Scenes, messages: int, show: frozenset[str] = frozenset()) -> dict[str, Counter[str]]:
    """The judgements by kind of sum; those of `show` are printed with the conversation."""
    plans = {name: read_plan(ROOT / "demo" / f"{name}.toml") for name in PLANS}
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for _ in range(messages):
        scene = composer.scene()
        for at, (verdict, record) in enumerate(played(scene, plans[scene.plan])):
            counts[scene.kind if at == 0 else "follow-up"][verdict] += 1
            if verdict in show:
                shown(scene, at, verdict, record)
    return counts


def shown(scene: Scene, at: int, verdict: str, record: dict[str, Any]) -> None:
    name, value = scene.turns[at].wanted
    print(f"[{verdict}] {scene.plan} {scene.now:%a %H:%M} {scene.kind}, want {name} {value}")
    print("\n".join(f"   > {turn.text}" for turn in scene.turns[: at + 1]))
    figures = {key: str(found["value"])[:19] for key, found in (record.get("figures") or {}).items()}
    used = {key: (str(found.get("value"))[:19], found.get("from")) for key, found in (record.get("used") or {}).items()}
    print(f"   {record['intent']}/{record['outcome']} {figures}\n   used {used}\n   {record['text'][:160]!r}")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("folder", type=Path, nargs="?", default=ROOT / "tests" / "told_parts")
    options.add_argument("--writers", default="", help="only these, with commas between")
    options.add_argument("--messages", type=int, default=300)
    options.add_argument("--further", action="store_true", help="scenes of other sums than a run's")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--show", default="", help="judgements to show, such as wrong,asked")
    given = options.parse_args()
    writers = tuple(filter(None, given.writers.split(",")))
    composer = (Further if given.further else Scenes)(given.folder, writers, given.seed)
    counts = counted(composer, given.messages, frozenset(given.show.split(",")))
    total: Counter[str] = sum(counts.values(), Counter())
    for kind, found in sorted(counts.items()):
        print(f"{kind:28} {dict(found)}")
    shares = ", ".join(f"{name} {found / total.total():.1%}" for name, found in total.most_common())
    print(f"{total.total()} turns: {shares}")


if __name__ == "__main__":
    main()
