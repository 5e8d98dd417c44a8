"""What was told for the log and could not be written down: kept with the conversation until it is."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from assistant.dialogue import Talk
from assistant.follow.turns import LOG_TALK, pattern
from assistant.hear import hear
from assistant.language.features import take_apart
from assistant.night import Night

HALF_A_DAY = 720  # minutes
OF_A_RUN = frozenset({"pump", "feed", "bag", "started", "paused", "resumed", "stopped"})  # with an hour: a telling
MORE_OF_A_RUN = frozenset({"resumed", "finish", "change_rate", "delivered"})
OF_NO_RUN = frozenset({"flush", "medicine", "blood_sugar", "vomit", "fever", "water"})  # alone they move no end


def still_unwritten(
    before: Talk, after: Talk, told: str, written: Iterable[dict[str, Any]], record: dict[str, Any], night: Night
) -> str:
    """What was told for the log and could not be written down, a line each: kept until it is written, or called off.

    What is written of another time leaves it as it was: "on at six" writes nothing of the flush told of at noon. A
    start, or a whole night, told that the log holds already ("it's been on since half ten") leaves nothing open.
    """
    if after.question in ("undo", "no", "stop"):
        return ""
    left = before.unwritten.split("\n") if before.unwritten else []
    if times := [w["event"].at.hour * 60 + w["event"].at.minute for w in written if "event" in w]:
        return "\n".join(one for one in left if _clocks(one) and not _shared(_clocks(one), times))
    of_the_log = [e.at.hour * 60 + e.at.minute for e in night.events]
    starts = [e.at.hour * 60 + e.at.minute for e in night.events if e.kind == "feed_started"]
    timed = [clocks for a in hear(told).amounts if (clocks := [int(r.value) for r in a.readings if r.kind == "clock"])]
    starts_only = bool(timed) and all(_shared(clocks, starts) for clocks in timed)
    told_again = len(timed) > 1 and all(_shared(clocks, of_the_log) for clocks in timed)
    held = (starts_only and record["intent"] in ("log_start", "unclear")) or told_again
    if held or not _not_taken_down(record, told):
        return before.unwritten
    kept = [one for one in left if not _shared(_clocks(one), _clocks(told))]  # said again in other words
    return "\n".join([*kept, " ".join(told.split())])


def of_the_run(unwritten: str) -> list[str]:
    """Of what was told, the lines that may change a run: a start, a pause, an amount; no flush or sign alone."""
    return [line for line in unwritten.split("\n") if line and _may_change_a_run(line)]


def _may_change_a_run(line: str) -> bool:
    hits = {name for name, _, _ in take_apart(line).hits}
    return bool(hits & (OF_A_RUN | MORE_OF_A_RUN)) or not hits & OF_NO_RUN


def listed(unwritten: str) -> str:
    """Several of what was told, in one line."""
    return unwritten.replace("\n", '" and "')


def _not_taken_down(record: dict[str, Any], told: str) -> bool:
    """Was this told for the log, and only asked about? Of what was not understood: an amount and its time, told.

    Of what was answered with a caution: that the feed stood still for a time ("air in the line at one, ten minutes").
    """
    if record["intent"] == "caution" and record["level"] != "emergency":
        return pattern("stood_still").search(told) is not None and any(
            r.kind in ("clock", "time") for a in hear(told).amounts for r in a.readings[:1])
    if record["outcome"] != "asked_back":
        return False
    if record["intent"] == "catch_up" and pattern("stood_still").search(told) and _clocks(told):
        return not told.rstrip().endswith("?")
    if record["intent"] != "unclear":
        return record["intent"] in LOG_TALK
    hits = {name for name, _, _ in take_apart(told).hits}
    if any(choice["intent"] in LOG_TALK for choice in (record.get("choices") or ())[:1]):
        return bool(hits & (OF_A_RUN | MORE_OF_A_RUN | OF_NO_RUN) or _clocks(told)) and not told.rstrip().endswith("?")
    kinds = {r.kind for a in hear(told).amounts for r in a.readings[:1]}
    if "clock" not in kinds or told.rstrip().endswith("?") or pattern("asks_first").search(told):
        return False
    amount = bool(kinds & {"volume", "number"}) and not pattern("question").search(told)
    return amount or bool(OF_A_RUN & hits)


def _clocks(told: str) -> list[int]:
    return [int(r.value) for a in hear(told).amounts for r in a.readings if r.kind == "clock"]


def _shared(clocks: list[int], times: list[int]) -> bool:
    return any((one - other) % HALF_A_DAY == 0 for one in clocks for other in times)
