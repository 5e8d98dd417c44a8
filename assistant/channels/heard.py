"""`bagside heard TEXT`: how a message is heard, for people who extend the vocabulary."""

from __future__ import annotations

from datetime import UTC, datetime

from assistant.clauses.parts import parts
from assistant.hear import hear
from assistant.hear.plain import plain
from assistant.night import Night
from assistant.numbers.said import said
from assistant.triage import triage
from assistant.understand import explain


def main(text: str) -> int:
    """Print plain words, asks, amounts with roles, alarms, and the likeliest questions with what speaks for them."""
    words = plain(text)
    print(f"plain words  {words}")
    for alarm in triage(words, Night(None, datetime(2026, 1, 1, tzinfo=UTC))):
        print(f"alarm        {alarm.card} ({alarm.level}{'' if alarm.certain else ', suspected'})")
    for part in parts(words):
        print(f"ask          {part}")
        heard = hear(part)
        for spoken in said(heard).spoken:
            meant = " | ".join(f"{r.kind} {r.value} {r.unit}".strip() for r in spoken.amount.readings)
            roles = ", ".join(
                f"{r} {s:.1f}" for r, s in sorted(spoken.roles.items(), key=lambda kv: -kv[1])[:3] if s > 0
            )
            print(f"  amount     {spoken.amount.text!r}: {meant}   [{roles}]")
        if heard.unread:
            print(f"  unread     {', '.join(heard.unread)}")
        print(explain(part))
    return 0
