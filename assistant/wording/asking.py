"""Questions back, refusals, and the honest lines for what is not ours. All sentences are in knowledge/."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from typing import Any

from assistant import word
from assistant.cards import GRAVE, card
from assistant.dialogue import Talk
from assistant.night import Night
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from assistant.wording.unwritten import listed
from knowledge.library import table
from rules.outcome import CannotAnswer

DEFERRED = ("strength",)
ABOUT_NOW = ("delivered", "remaining", "finish_at", "bag_duration", "catch_up", "intake")  # of the feed that runs
HOW_MUCH_IN, OF_WHAT_WENT_IN = "how_much_in", ("intake", "energy", "protein")
LOOKED_UP = ("plan_lookup", "log_lookup", "contact")


def ask_record(intent: str, ask: Ask, slots: Slots | None, night: Night) -> dict[str, Any]:
    """The record of a question back. A slip is also a check of the settings: `matches` is false."""
    code = HOW_MUCH_IN if ask.code == "volume" and intent in OF_WHAT_WENT_IN else ask.code
    wording = table("asks_en").get(code) or table("asks_en")[ask.asks]
    facts = {n: ", ".join(v) if isinstance(v, list) else v for n, v in ask.facts.items()}
    figures = _slip_figures(ask)
    used = slots.used if slots and not figures else None
    record = word.told(intent, "asked_back", wording, night, facts, figures=figures, used=used, asks=ask.asks)
    return _deferred(record, night) if intent in DEFERRED or ask.code.startswith("which_rate") else record


def _deferred(record: dict[str, Any], night: Night) -> dict[str, Any]:
    """A question back whose answer would change the feed: the sum may follow, the decision is the care team's."""
    line = word.Facts(night, {}).text(table("sentences_en")["defers"])
    return {**record, "text": f"{record['text']}\n{line}", "defers": True}


def with_open_question(record: dict[str, Any], talk: Talk) -> dict[str, Any]:
    """An answer that came between, and the question that was asked back before it and still waits."""
    origins = {used["from"] for used in record["used"].values()}
    by_log = "feed log" in origins or (record["intent"] in ABOUT_NOW and "question" not in origins)
    read_out = record["intent"] == "log_lookup" and record["outcome"] == "answered"
    if talk.unwritten and (read_out or (record["figures"] and by_log)):  # no figure, no list leaves it out unseen
        lines = table("sentences_en")["log"]
        told = lines["not_in_the_log_yet" if read_out else "not_written_yet"]
        left = told.format(told=listed(talk.unwritten))
        first = re.split(r"(?<=[.?!])\s", record["speech"])[0]
        return {**record, "text": f"{record['text']}\n{left}", "speech": f"{first} {lines['not_written_yet_speech']}"}
    came_between = record["outcome"] == "answered" and record["intent"] != talk.question
    if talk.asks in (None, "which_question", "sure") or not came_between:
        return record
    if not record["figures"] and record["intent"] not in LOOKED_UP:
        return record
    wording = table("asks_en").get(talk.code or talk.asks) or table("asks_en").get(talk.asks)
    if wording is None or "{" in wording["text"]:
        return record  # its wording needs more than words
    still = table("sentences_en")["still_open"].format(question=wording["text"])
    return {**record, "text": f"{record['text']}\n{still}"}


def _slip_figures(ask: Ask) -> dict[str, Any]:
    from rules.outcome import Figure
    from rules.quantity import qty

    if not ask.code.startswith("slip_"):
        return {}
    made: dict[str, Any] = {"matches": Figure(False)}
    if ask.facts.get("factor") is not None:
        made["factor"] = Figure(qty(ask.facts["factor"], "1"))
    return made


def refusal(refused: CannotAnswer) -> Ask:
    """A calculator's refusal as a question back."""
    return Ask(refused.facts.get("name") or refused.code, code="refused_" + refused.code, **refused.facts)


def _line(name: str) -> dict[str, str]:
    """One of the general sentences, as it is shown and as it is spoken."""
    general = table("sentences_en")
    return {"text": general[name], "speech": general[f"{name}_speech"]}


def unclear(choices: list[dict[str, Any]], night: Night) -> dict[str, Any]:
    if not choices:
        return word.told("unclear", "asked_back", _line("unclear"), night, asks="which_question")
    which = _line("which" if len(choices) > 1 else "which_one")
    lines = [which["text"], *_numbered(choices)]
    facts = word.Facts(night, {"labels": "; or ".join(c["label"].lower() for c in choices)})
    return word.record(
        intent="unclear",
        outcome="asked_back",
        text="\n".join(lines),
        speech=facts.speech(which["speech"]),
        asks="which_question",
        choices=choices,
    )


def suspicion(choices: Iterable[dict[str, Any]], night: Night) -> dict[str, Any]:
    """A worry that names no sign, asked back: what to look at and whom to call, then what it may be."""
    offered = list(choices)
    record = word.told(
        "unclear", "asked_back", _line("suspicion"), night, level="urgent", asks="which_question", choices=offered,
        defers=True,
    )
    if not offered:
        return record
    which = _line("which" if len(offered) > 1 else "which_one")["text"]
    return {**record, "text": "\n".join((record["text"], which, *_numbered(offered)))}


def _numbered(choices: list[dict[str, Any]]) -> list[str]:
    return [f"{n}. {c['label']}" for n, c in enumerate(choices, 1)]


def offers_danger(record: dict[str, Any]) -> bool:
    """Is a grave card among the choices offered?"""
    return any(c.get("card") and card(c["card"])["level"] in GRAVE for c in record.get("choices") or ())


def with_worry(record: dict[str, Any], night: Night) -> dict[str, Any]:
    """The answer with whom to call added to it: its words hint at danger, but not enough for an alarm."""
    facts, general = word.Facts(night, {}), table("sentences_en")
    text = f"{record['text']}\n{facts.text(general['worry'])}"
    if len(re.findall(r"[.?!](?:\s|$)", record["speech"])) > 1:
        return {**record, "text": text}  # two sentences are the most that is spoken
    return {**record, "text": text, "speech": f"{record['speech']} {facts.speech(general['worry_speech'])}"}


def with_left_out(record: dict[str, Any], numbers: Iterable[str]) -> dict[str, Any]:
    """The answer with the numbers that stood beside its question, said back so that nothing is dropped unseen."""
    numbers = tuple(numbers)
    if not numbers or record["outcome"] != "answered" or record["intent"] == "caution":
        return record
    line = table("sentences_en")["left_out"].format(amounts=", ".join(numbers))
    return {**record, "text": f"{record['text']}\n{line}"}


def label_of(intent: str, card: str | None) -> str:
    if card:
        return str(table(f"cautions/{card}")["name_for_people"])
    if table("labels_en").get(intent):
        return str(table("labels_en")[intent])
    return str(table(f"questions/en/{intent}")["label"])


def out_of_scope(night: Night) -> dict[str, Any]:
    return word.told("out_of_scope", "declined", _line("out_of_scope"), night, defers=True)


def not_ours(text: str, night: Night) -> dict[str, Any] | None:
    """An empty message, or one in another language; None where the words are ours to answer."""
    if not re.search(r"\w", text):
        return word.told("unclear", "asked_back", _line("empty"), night, asks="which_question")
    tongue = language(text)
    if tongue is None:
        return None
    line = _line("other_language")
    if tongue == "es":
        line["text"] += "\n" + table("sentences_en")["other_language_es"]
    return word.told("out_of_scope", "declined", line, night, defers=True)


@cache
def _common_words() -> dict[str, frozenset[str]]:
    """The commonest words of each language that is told apart."""
    return {name: frozenset(listed) for name, listed in table("languages").items()}


def language(text: str) -> str | None:
    """Another language, told by its commonest words or its script; None for English or where it is unsure."""
    letters = [c for c in text if c.isalpha()]
    if letters and sum(ord(c) > 0x24F for c in letters) > len(letters) / 2:
        return "other"
    words = set(re.findall(r"[^\W\d_]+", text.lower()))
    counts = {name: sum(map(listed.__contains__, words)) for name, listed in _common_words().items()}
    english = counts.pop("en")
    name, most = max(counts.items(), key=lambda kv: kv[1])
    return name if most >= 2 and most > english else None


def is_fault(record: dict[str, Any]) -> bool:
    """Whether an answer is the one sentence for a fault of ours."""
    return bool(record["speech"] == _line("fault")["speech"])


def fault(heard: str, night: Night) -> dict[str, Any]:
    """One fixed sentence for a fault of ours; never a half answer."""
    return {"heard": heard, **word.told("unclear", "asked_back", _line("fault"), night, asks="which_question")}
