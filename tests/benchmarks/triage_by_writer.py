"""How danger is heard, writer by writer.

    python tests/benchmarks/triage_by_writer.py [LETTERS]              as the program is (its weights met these writers)
    python tests/benchmarks/triage_by_writer.py --rules [LETTERS]      plain rules alone
    python tests/benchmarks/triage_by_writer.py --held-out GROUP ...   weights fitted on all other writers
Prints counts only. Heard: an alarm at urgent or above on a line of a danger card. Right: its own card is among them.
Calm: alarms on lines that are no caution. Lower: alarms on lines of same-day and routine cards.
"""

from __future__ import annotations

import datetime
import json
import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "benchmarks" / "peers")]

from assistant import triage as station  # noqa: E402
from assistant import understand  # noqa: E402
from assistant.cards import card, names  # noqa: E402
from assistant.hear.plain import plain  # noqa: E402
from assistant.language.weights import read_table  # noqa: E402
from assistant.night import Night  # noqa: E402

NOBODY = Night(None, datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC))
GRAVE = {name for name in names() if card(name)["level"] in ("urgent", "emergency")}
PHRASES = ROOT / "knowledge" / "phrases"


def family(name: str | None) -> str | None:
    return "tube_out" if name and name.startswith("tube_out") else name


def count(writer: str) -> tuple[Counter[str], Counter[tuple[str, str]]]:
    """What was heard of one writer's lines, in all and by card."""
    found: Counter[str] = Counter()
    by_card: Counter[tuple[str, str]] = Counter()
    for line in (PHRASES / f"{writer}.jsonl").read_text(encoding="utf-8").splitlines():
        entry = json.loads(line)
        alarms = station.triage(plain(entry["text"]), NOBODY)
        wanted = {family(entry.get("card")), *(family(more.get("card")) for more in entry.get("also", ()))} - {None}
        if entry.get("card") in GRAVE:
            right = bool(wanted & {family(alarm.card) for alarm in alarms})
            found += Counter(danger=1, heard=bool(alarms), right=right)
            by_card += Counter({(entry["card"], "danger"): 1, (entry["card"], "heard"): int(bool(alarms))})
        elif entry["intent"] == "caution":
            found += Counter(lower=1, lower_raised=bool(alarms))
        else:
            found += Counter(calm=1, false=bool(alarms))
    return found, by_card


def report(name: str, found: Counter[str]) -> str:
    def share(part: str, whole: str) -> str:
        return f"{found[part]}/{found[whole]} ({found[part] / max(1, found[whole]):.1%})"

    return (
        f"{name:>6}: danger heard {share('heard', 'danger')}, right card {share('right', 'danger')}, "
        f"calm alarms {share('false', 'calm')}, same day or routine raised {share('lower_raised', 'lower')}"
    )


def without_weights() -> None:
    """Plain rules alone."""
    station.danger = lambda _: 0.0  # type: ignore[assignment]
    station.rank = lambda _: ()  # type: ignore[assignment]


def weights_without(group: str) -> None:
    """Put in weights that were fitted without the writers of `group`, for every part of the program."""
    from fit_language import as_text, fit, load_phrases

    fitted = fit([phrase for phrase in load_phrases() if phrase.writer not in group])
    known = read_table(iter(as_text(fitted, f"all but {group}").splitlines(keepends=True)))
    understand.table = lambda: known  # type: ignore[assignment]
    for kept in (understand._shares, understand._named, understand._grave, understand.rank):
        kept.cache_clear()


def main(arguments: list[str]) -> None:
    held_out = "--held-out" in arguments
    if "--rules" in arguments:
        without_weights()
    letters = [a for a in arguments if not a.startswith("--")] or ["abdeghijklmnpqrstuv"]
    total: Counter[str] = Counter()
    cards: Counter[tuple[str, str]] = Counter()
    for group in letters:
        if held_out:
            weights_without(group)
        for writer in group:
            found, by_card = count(writer)
            print(report(writer, found), flush=True)
            total += found
            cards += by_card
    print(report("all", total))
    weak = sorted(
        (cards[name, "heard"] / n, name, cards[name, "heard"], n)
        for (name, what), n in cards.items()
        if what == "danger"
    )
    print("weakest: " + ", ".join(f"{name} {heard}/{n}" for _, name, heard, n in weak[:12]))


if __name__ == "__main__":
    main(sys.argv[1:])
