"""How a message is heard, in the shape that Rasa's /model/parse gives: intent, ranking, entities."""

from __future__ import annotations

from typing import Any

from assistant.channels.web.household import Household
from assistant.hear import hear
from assistant.hear.plain import plain, readable
from assistant.message import Amount
from assistant.triage import triage
from assistant.understand import rank
from assistant.wording.record import plain_value

RANKED = 10


def parsed(text: str, household: Household) -> dict[str, Any]:
    """`confidence` is the share from understand.py; a danger that was heard comes first, with 1 where it is certain."""
    night, words = household.night(), plain(readable(text))
    alarms = triage(words, night)
    ranking = [{"name": f"caution/{a.card}", "confidence": 1.0 if a.certain else 0.5} for a in alarms]
    taken = {entry["name"] for entry in ranking}
    for one in rank(words):
        name = f"caution/{one.card}" if one.card else one.intent
        if name not in taken:
            ranking.append({"name": name, "confidence": round(one.p, 4)})
    heard = hear(words)
    first = ranking[0] if ranking else {"name": "unclear", "confidence": 0.0}
    entities, at = [], 0
    for amount in heard.amounts:
        found = heard.text.find(amount.text, at)
        at = found + len(amount.text) if found >= 0 else at
        entities.append(_entity(amount, found))
    return {"text": readable(text), "intent": first, "entities": entities, "intent_ranking": ranking[:RANKED]}


def _entity(amount: Amount, start: int) -> dict[str, Any]:
    """The first reading as the value; with several, all of them stand in `readings`. Places are in the plain words."""
    readings = [{"entity": r.kind, "value": plain_value(r.value)["value"], "unit": r.unit} for r in amount.readings]
    entry: dict[str, Any] = {**readings[0], "text": amount.text, "extractor": "bagside"}
    if start >= 0:
        entry.update(start=start, end=start + len(amount.text))
    return entry if len(readings) == 1 else {**entry, "readings": readings}
