"""Station 8: facts into a sentence to show and a sentence to speak. Sentences are data, here only filled in."""

from __future__ import annotations

import re
import string
from collections.abc import Iterable, Mapping
from typing import Any

from assistant.night import Night
from assistant.numbers.wants import Used
from assistant.wording.facts import Facts, pick
from assistant.wording.record import record
from assistant.wording.speak import limit
from knowledge.library import sources as all_sources
from knowledge.library import table
from rules.outcome import Outcome
from rules.quantity import is_amount


def told(
    intent: str,
    outcome: str,
    wording: Mapping[str, Any],
    night: Night,
    facts: Mapping[str, Any] | None = None,
    **more: Any,
) -> dict[str, Any]:
    """The record of one wording of knowledge/ (its `text` and `speech`), filled in with facts. `more`: see record."""
    filled = Facts(night, facts or {})
    text, speech = filled.text(wording["text"]), filled.speech(wording["speech"])
    return record(intent=intent, outcome=outcome, text=text, speech=speech, **more)


def of_the_log(
    intent: str, outcome: str, wording: str | Mapping[str, Any], night: Night, facts: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """The record of what the log holds or now holds; one wording may be both shown and spoken."""
    both = {"text": wording, "speech": wording} if isinstance(wording, str) else wording
    return told(intent, outcome, both, night, facts, sources=("feed-log",))


def outcome_reply(
    name: str,
    outcome: Outcome,
    used: Mapping[str, Used],
    night: Night,
    remarks: Iterable[str] = (),
    left_out: Iterable[str] = (),
    defers: bool = False,
    said_back: Iterable[str] = (),
) -> dict[str, Any]:
    """The record of an answered question. `said_back`: easily misheard numbers, digit by digit."""
    words = table(f"questions/en/{name}")
    defers = defers or outcome.defers
    codes = [*dict.fromkeys((*outcome.remarks, *remarks))]
    codes += [n if f.value else f"not_{n}" for n, f in outcome.figures.items() if isinstance(f.value, bool)]
    facts = Facts(
        night,
        {
            **{n: u.value for n, u in used.items()},
            **dict(outcome.working),
            **outcome.facts,
            **{n: f.value for n, f in outcome.figures.items()},
            **{f"{n}_low": f.low for n, f in outcome.figures.items() if f.low is not None},
            **{f"{n}_high": f.high for n, f in outcome.figures.items() if f.high is not None},
        },
        as_said=[n for n, u in used.items() if u.origin == "question" and n not in outcome.figures],
    )
    if "rows" in outcome.facts:
        facts.facts.update(_rows(words["rows"], outcome.facts["rows"], night))
    entry = pick(words["says"], facts, codes)
    assert entry is not None, f"no wording of {name} fits {sorted(facts.facts)}"
    general = table("sentences_en")
    lines = [facts.text(entry["text"])]
    lines += [
        facts.text(words.get("remarks", general["remarks"]).get(c) or general["remarks"][c])
        for c in codes
        if c in words.get("remarks", {}) or c in general["remarks"]
    ]
    lines += _accuracy(outcome, facts)
    working = _working(words, outcome, facts, codes)
    lines.append(general["working"].format(working=working))
    lines.append(_origins(used, facts))
    again = general["repeat_back"].format(digits=", ".join(said_back)) if said_back else ""
    lines.append(again)
    if left_out:
        lines.append(general["left_out"].format(amounts=", ".join(left_out)))
    lines.append(source_line(outcome.sources))
    if defers:
        lines.append(facts.text(general["defers"]))
    after = facts.speech(general["defers_speech"]) if defers else again
    speech = limit(f"{facts.speech(entry['speech'])} {after}".strip())
    return record(
        intent=name,
        outcome="answered",
        level="none",
        text="\n".join(x for x in lines if x),
        speech=speech,
        figures=outcome.figures,
        used=used,
        working=working,
        sources=outcome.sources,
        defers=defers,
    )


def _rows(wording: Mapping[str, str], rows: Iterable[Any], night: Night) -> dict[str, str]:
    """A timetable's rows as lines; for each the fullest wording whose facts are known."""
    lines, spoken = [], []
    for row in rows:
        facts = Facts(night, {**row.facts, "at": row.at})
        named = [k for k in wording if k == row.what or k.startswith(row.what + "_")]
        fits = [k for k in named if facts.has(f for _, f, _, _ in string.Formatter().parse(wording[k]) if f)]
        best = max(fits, key=lambda k: wording[k].count("{"))
        lines.append(facts.text(wording[best]))
        if row.what in ("feed_start", "feed_finish"):
            spoken.append(facts.speech(wording[row.what]) + ".")
    return {"rows": "\n".join(lines), "rows_spoken": " ".join(spoken)}


def _accuracy(outcome: Outcome, facts: Facts) -> list[str]:
    general = table("sentences_en")["accuracy"]
    for name in ("finish_at", "duration", "delivered", "remaining"):
        figure = outcome.figures.get(name)
        if figure is not None and figure.low is not None and figure.high is not None:
            return [facts.text(general.replace("LOW", f"{{{name}_low}}").replace("HIGH", f"{{{name}_high}}"))]
    return []


def _working(words: Mapping[str, Any], outcome: Outcome, facts: Facts, codes: list[str]) -> str:
    entry = pick(words.get("working", ()), facts, codes)
    if entry is not None:
        return facts.text(entry["text"])
    return "; ".join(f"{n.replace('_', ' ')} {facts.text('{' + n + '}')}" for n, v in outcome.working if v is not None)


COUNTED = re.compile(r"_\d+$")  # one of several that were said for the same slot


def _origins(used: Mapping[str, Used], facts: Facts) -> str:
    """ "You said: 640 mL. From the care plan: 80 mL/h." Each amount as it was given, so that a mishearing shows."""
    general = table("sentences_en")
    own = {n: u.value for n, u in used.items() if is_amount(u.value)}  # a figure of the same name is another amount
    facts = Facts(facts.night, {**facts.facts, **own}, [n for n, u in used.items() if u.origin == "question"])
    lines = []
    for origin, sentence in general["origins"].items():
        items = [
            f"{general['slots'].get(COUNTED.sub('', n), n.replace('_', ' '))} {facts.text('{' + n + '}')}"
            for n, u in used.items()
            if n != "to"
            and (u.words or u.origin != "question")  # "You said" only of what was said, not of what was made of it
            and u.origin == origin.replace("_", " ")
            and facts.facts.get(n) is not None
            and not isinstance(u.value, tuple)
        ]
        if items:
            lines.append(sentence.format(items=", ".join(dict.fromkeys(items))))
    return " ".join(lines)


def source_line(sources: Iterable[str]) -> str:
    known = all_sources()
    named = []
    for source in dict.fromkeys(sources):
        entry = known[source]
        by = [str(entry[k]) for k in ("publisher", "year") if entry.get(k) not in ("", "arithmetic", "not dated", None)]
        named.append(entry["title"] + (f" ({', '.join(by)})" if by else ""))
    return table("sentences_en")["source_note"].format(sources="; ".join(named)) if named else ""


def together(records: list[dict[str, Any]], night: Night) -> dict[str, Any]:
    """Several records as one: the first on top, its text and speech for all, in order; the others in `also`."""
    if len(records) == 1:
        return records[0]
    kept: list[dict[str, Any]] = []
    for one in records:  # asks whose answer another one already gave are said once
        if not any(one["intent"] == k["intent"] and one["text"] == k["text"] for k in kept):
            kept.append(one)
    spoken = " ".join(r["speech"] for r in kept)
    top = {**kept[0], "text": "\n\n".join(r["text"] for r in kept), "speech": limit(spoken)}
    if len(kept) > 1:
        top["also"] = [*top.get("also", []), *kept[1:]]
    top["defers"] = any(r["defers"] for r in kept)
    return top
