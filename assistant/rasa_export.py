"""domain.yml, nlu.yml and rules.yml for teams that run a Rasa front end (format 3.1), from the phrases and the actions.

One intent leads to one action by one rule. The front end's guess decides nothing: each served action reads the message
itself, danger first (channels/action_server.py). YAML is written by hand, since JSON's strings are YAML's.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

import knowledge
from assistant import actions, dialogue
from knowledge.library import table

PHRASES = "phrases"
FORMAT = "3.1"
UNCLEAR, FALLBACK = "action_unclear", "nlu_fallback"
MARKUP = ("[", "]", "\\")  # these begin an entity or an escape in an example


class NoPhrases(Exception):
    """The phrases are not in this installation."""


class Files(NamedTuple):
    texts: Mapping[str, str]
    intents: int
    examples: int
    skipped: int


def rasa_files() -> Files:
    """The three files by name. Raises NoPhrases."""
    found, skipped = examples()
    served = sorted(actions.executor().actions)
    own = {name.removeprefix("action_") for name in served}
    intents = list(found)
    says = table("rasa_en")["says"]
    head = f"# {says['header']}\n# {says['safety']}\nversion: {json.dumps(FORMAT)}\n"
    return Files({"domain.yml": head + _domain(intents, served), "nlu.yml": head + _nlu(found),
                  "rules.yml": head + _rules(intents, own)},
                 len(intents), sum(map(len, found.values())), skipped)


def examples() -> tuple[dict[str, list[str]], int]:
    """Every phrase once, by its intent, in the order of the files; how many the format cannot hold."""
    folder = Path(str(knowledge.__file__)).with_name(PHRASES)
    files = sorted(folder.glob("*.jsonl"))
    if not files:
        raise NoPhrases
    found: dict[str, dict[str, None]] = {}
    skipped = 0
    for file in files:
        for line in file.read_text(encoding="utf-8").splitlines():
            entry = json.loads(line)
            text = " ".join(entry["text"].split())
            if any(sign in text for sign in MARKUP) or not text.isprintable() or not text:
                skipped += 1
            else:
                found.setdefault(entry["intent"], {}).setdefault(text)
    return {intent: list(texts) for intent, texts in sorted(found.items())}, skipped


def _list(name: str, entries: Iterable[str]) -> str:
    return f"{name}:\n" + "".join(f"  - {json.dumps(entry)}\n" for entry in entries)


def _domain(intents: list[str], served: list[str]) -> str:
    slot = (f"slots:\n  {dialogue.SLOT}:\n    type: any\n    influence_conversation: false\n"
            "    mappings:\n      - type: custom\n")
    session = "session_config:\n  session_expiration_time: 1440\n  carry_over_slots_to_new_session: true\n"
    return _list("intents", intents) + slot + _list("actions", served) + session


def _nlu(found: Mapping[str, list[str]]) -> str:
    parts = ["nlu:\n"]
    for intent, texts in found.items():
        parts.append(f"  - intent: {json.dumps(intent)}\n    examples: |\n")
        parts += [f"      - {text}\n" for text in texts]
    return "".join(parts)


def _rules(intents: list[str], own: set[str]) -> str:
    parts = ["rules:\n"]
    for intent in [*intents, FALLBACK]:
        action = f"action_{intent}" if intent in own else UNCLEAR
        parts.append(f"  - rule: {json.dumps(intent)}\n    steps:\n      - intent: {json.dumps(intent)}\n"
                     f"      - action: {json.dumps(action)}\n")
    return "".join(parts)
