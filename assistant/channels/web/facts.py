"""The facts of each page, ready for its template. Called in the household's thread."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from assistant import cards
from assistant.actions.handoff import in_words
from assistant.channels.report_commands import cells, days_of
from assistant.channels.web import shape, state
from assistant.channels.web.day_strip import day_strip
from assistant.channels.web.household import SHARED, Household
from assistant.channels.week_picture import strip
from assistant.night import Night
from assistant.paper.handover import next_carer, nurse_line
from assistant.paper.print_page import style
from assistant.paper.sheet import fits, household_sheet, today_lines
from assistant.walk import guides
from assistant.walk.guide_choice import METHODS
from assistant.wording.show import clock, show
from knowledge.library import table

FRESH = timedelta(minutes=15)  # an older answer is not shown when the page is opened: its times have moved on


def words() -> Mapping[str, Any]:
    return table("page_en")


def frame(household: Household) -> dict[str, Any]:
    """What every page has: the list of what can be wrong, and whom to call."""
    night = household.night()
    known = night.plan.contacts if night.plan else None
    numbers = {name: getattr(known, name, None) for name in ("emergency", "nurse_line")}
    return {
        "groups": _wrong(household, night),
        "numbers": {n: v and {"shown": v, "to": shape.to_dial(v)} for n, v in numbers.items()},
        "now": show(night.now, night.now, twelve(night)),
    }


def _wrong(household: Household, night: Night) -> list[dict[str, Any]]:
    """The danger cards by group, made once a day and plan. Those for another kind of plan are left out."""
    kept: Any = household.cards_made
    if kept is None or kept[0] != (night.plan, night.today):
        made = []
        for group in words()["wrong"]["groups"]:
            entries = [
                {"name": name, "title": cards.card(name)["name_for_people"],
                 **shape.answers(cards.card_record(name, night), night)[0]}
                for name in group["cards"] if night.plan is None or fits(name, night)
            ]
            made.append({"title": group["title"], "cards": entries})
        kept = household.cards_made = ((night.plan, night.today), made)
    found: list[dict[str, Any]] = kept[1]
    return found


def home(household: Household) -> dict[str, Any]:
    """The strip, what can be written down, reminders, and the day."""
    night = household.night()
    made = state.state_of(night, household.fault())
    on = made["strip"]["on"]
    return {
        "state": made,
        "buttons": [_button(b, night) for b in words()["log"]["buttons"] if on in b["when"]],
        "reminds": [b for b in words()["reminders"]["buttons"] if on in b["when"]],
        "starts": _starts(night) if on in ("", "ended") else [],
        "today": today_lines(night) if night.plan else [],
        "picture": day_strip(night),
        "has_plan": night.plan is not None,
        "now": show(night.now, night.now, twelve(night)),
    }


def _button(button: Mapping[str, Any], night: Night) -> Mapping[str, Any]:
    """A flush with the plan's amount, where the plan has one."""
    flush = night.plan.flushes.volume if night.plan else None
    if flush is None or "with_amount" not in button:
        return button
    return {name: text.format(flush=show(flush, night.now)) for name, text in button["with_amount"].items()}


def _starts(night: Night) -> list[dict[str, str]]:
    lines = words()["log"]
    return [{n: lines[w].format(feed=feed.name) for n, w in (("label", "start"), ("says", "start_says"))}
            for feed in night.feeds]


def asked(household: Household, talk: str, text: str, number: str | None) -> dict[str, Any]:
    """One message, answered, as the page shows it."""
    household.session(talk)
    now = household.now()
    record = household.say(talk, text, now, None if number is None else f"{talk}:{number}")
    return _shown(household, talk, record, text)


def opened(household: Household, talk: str, card: str) -> dict[str, Any] | None:
    """A card of the list was opened: the conversation takes it as said. None for a card that is not in the list."""
    listed = {one["name"]: one["title"] for group in _wrong(household, household.night()) for one in group["cards"]}
    if card not in listed:
        return None
    record = household.say(talk, listed[card], household.now(), None, card)
    return _shown(household, talk, record, listed[card])


def last_answer(household: Household, talk: str) -> dict[str, Any] | None:
    """The conversation's last answer, while its times still hold or a walk-through is on."""
    session, now = household.session(talk), household.now()
    session.night(now)
    kept = session.talk(now)
    if kept.last is None or kept.at is None or now - kept.at > FRESH:
        return None
    return _shown(household, talk, kept.last, kept.text)


def _shown(household: Household, talk: str, record: Mapping[str, Any], text: str) -> dict[str, Any]:
    session, now = household.session(talk), household.now()
    night, kept = session.night(now), session.talk(now)
    hint = table("sentences_en")["log"]["undo_hint"]
    undo = hint in record["text"].split("\n")
    shown = {**record, "text": record["text"].replace(f"\n{hint}", "")} if undo else record
    parts = shape.answers(shown, night)
    guide = kept.guide is not None and not any(part["choices"] for part in parts)
    return {
        "mind": _mind(record, night), "heard": text.strip(),
        "at": show(kept.at or now, now, twelve(night)), "parts": parts, "undo": undo,
        "guide": guide and record["intent"] in (*guides.INTENTS, "repeat", "slower", "explain"),
        "speech": record["speech"],
    }


def _mind(record: Mapping[str, Any], night: Night) -> str:
    """Beside an answer about how long a feed goes on: when what hangs must go, if that is past or comes first."""
    lines = words()["answer"]
    found = night.running
    if record["outcome"] != "answered" or record["intent"] not in lines["hanging"] or found is None:
        return ""
    rows = [row for row in state.strip(night, found)["rows"] if row["name"] == "discard" and row["late"]]
    return lines["mind"].format(**rows[0]) if rows else ""


def walk_throughs(household: Household) -> dict[str, Any]:
    """The walk-throughs that fit the plan, each with the words that open it; one for each feed."""
    night, lines = household.night(), words()["guides"]
    found = [
        {"label": lines["feed"]["label"].format(feed=feed.name), "says": lines["says"]["feed"].format(feed=feed.name)}
        for feed in night.feeds
        if not guides.refusal_of(next(g for g, method in METHODS.items() if method == feed.method), night)
    ]
    found += [{"label": guides.guide(name)["title"], "says": says} for name, says in lines["says"].items()
              if name != "feed" and not guides.refusal_of(name, night)]
    return {"guides": found}


def log(household: Household) -> dict[str, Any]:
    return {"rows": state.log_rows(household.night()), **home(household)}


def week(household: Household) -> dict[str, Any]:
    days = days_of(household.night())
    lines = table("handover_en")["week"]
    heads = [head for i, head in enumerate(lines["columns"]) if i != 1]
    rows = [[cell for i, cell in enumerate(cells(day)) if i != 1] for day in reversed(days)]
    return {"svg": strip(days), "heads": heads, "rows": rows, "note": lines["by_start"]}


def handoff(household: Household) -> dict[str, Any]:
    """The two handovers as texts; what the conversation was about stands in the nurse line's."""
    night = household.night()
    session = household.session(SHARED)
    asked_last = session.talk(household.now()).text or None
    empty = table("handover_en")["titles"]["empty"]
    carer = next_carer(night)
    return {"texts": [
        {"name": "next_carer", "text": in_words(carer, night, False) if carer else empty},
        {"name": "nurse", "text": in_words(nurse_line(night, asked_last), night, True)},
    ]}


def sheet(household: Household) -> tuple[str, str]:
    """The household's sheet, and the hash of the style inside it (CSP)."""
    digest = base64.b64encode(hashlib.sha256(style().encode()).digest()).decode()
    return household_sheet(household.night()), f"sha256-{digest}"


def twelve(night: Night) -> bool:
    return bool(night.plan and night.plan.units == state.word_units())


def phone_name(agent: str) -> str:
    """A name for a phone from what its browser says of itself, in a few fixed words."""
    lines = words()["pair"]
    return str(next((name for mark, name in lines["kinds"].items() if mark in agent.lower()), lines["computer"]))


def away(household: Household) -> dict[str, Any]:
    """When the list that a phone keeps was fetched, by the household's clock."""
    now = household.now()
    return {"fetched": f"{now:%A} {now.day} {now:%B %Y}, {clock(now, twelve(household.night()))}"}


def nothing(_: Household) -> dict[str, Any]:
    return {}


VIEWS = {"wrong": nothing, "guides": walk_throughs, "log": log, "week": week, "handoff": handoff, "print": nothing,
         "away": away}
