"""What the log holds: the last flush, when the feed started, the reminders that are set."""

from __future__ import annotations

import re

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.reminders import reminder_list
from assistant.reminders_meant import LIST
from knowledge.library import table


class LogLookup(TurnAction):
    """What the log holds: the last flush, when the feed started, the reminders that are set."""

    intents = ("log_lookup",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        text = turn.said.heard.text.lower()
        of_reminders = re.search(r"remind|alarm|set|prompt", text) and not re.search(r"flush|feed start", text)
        if turn.question.favours == LIST or of_reminders:
            return Result(reminder_list(night), turn.talk)
        wanted = (
            "flushed"
            if re.search(r"flush|water|rinse", text)
            else "vomited"
            if re.search(r"sick|vomit|threw", text)
            else "medicine_given"
            if re.search(r"med|tablet|dose", text)
            else "paused"
            if re.search(r"pause|stop|break", text)
            else "feed_started"
            if re.search(r"start|hang|hung|feed|bag|on", text)
            else None
        )
        told = sorted(night.events, key=lambda e: e.at.timestamp())
        found = [e for e in told if wanted is None or e.kind == wanted]
        if not found:
            what = {"what": lines["kinds"].get(wanted or "", lines["anything"])}
            return Result(word.of_the_log("log_lookup", "answered", lines["not_in_log"], night, what), turn.talk)
        shown = found[-1:] if wanted else found[-6:]
        rows = []
        for e in shown:
            what = lines["kinds"].get(e.kind, e.kind)
            facts = word.Facts(night, {"at": e.at, "what": what, "volume": e.volume, "rate": e.rate})
            shape = "row_volume" if e.volume is not None else "row_rate" if e.rate is not None else "row"
            rows.append(facts.text(lines[shape]))
        facts = word.Facts(night, {"at": shown[-1].at, "what": lines["kinds"].get(shown[-1].kind, shown[-1].kind)})
        record = word.record(
            intent="log_lookup",
            outcome="answered",
            text="\n".join(rows),
            speech=facts.speech(lines["row"]),
            sources=("feed-log",),
        )
        return Result(record, turn.talk)
