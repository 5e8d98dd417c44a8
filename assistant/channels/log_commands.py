"""`bagside log show | add | correct`: the feed log by hand. Nothing is deleted: what is put right stays, marked."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from assistant.channels.command_line import BAD, DONE, say, words
from assistant.household.home import Home, find_home, open_home
from assistant.household.plan_faults import Wrong
from knowledge.library import table


def add_to(commands: Any, command: Callable[..., argparse.ArgumentParser]) -> None:
    show = command("show", _show, commands)
    show.add_argument("--days", type=int, default=2)
    show.add_argument("--all", action="store_true", help="with entries that were taken back or put right")
    show.add_argument("--json", action="store_true")
    add = command("add", _add, commands)
    add.add_argument("kind", choices=sorted(table("sentences_en")["log"]["kinds"]))
    add.add_argument("--feed")
    add.add_argument("--anyway", action="store_true", help="write it although it does not fit the log")
    correct = command("correct", _correct, commands)
    correct.add_argument("number", type=int)
    correct.add_argument("--take-back", action="store_true")
    for one in (add, correct):
        one.add_argument("--at", metavar="TIME", help="21:30, or 2026-11-25T21:30")
        one.add_argument("--volume", metavar="AMOUNT")
        one.add_argument("--rate", metavar="RATE")


def time_of(text: str | None, home: Home) -> datetime | None:
    """A time as it is typed: a date and time, or a clock time that was last. ValueError where it is neither."""
    from assistant.session import instant

    if text is None:
        return None
    plan = home.plan()
    now = instant(None, plan)
    if len(text) > 5:
        return instant(text, plan)
    at = instant(f"{now:%Y-%m-%d}T{text.zfill(5)}", plan)
    return at if at <= now else instant(f"{now - timedelta(days=1):%Y-%m-%d}T{text.zfill(5)}", plan)


def amount_of(text: str | None, measure: str) -> Any:
    from assistant.household.plan_amounts import read_amount
    from assistant.household.plan_file import _quantity

    if text is None:
        return None
    try:
        return _quantity(read_amount(text, measure))
    except Wrong:
        raise ValueError(words("bad_amount", found=text)) from None


def _show(args: argparse.Namespace) -> int:
    from assistant.channels.records_commands import row
    from assistant.session import instant

    home = find_home(args.home)
    plan = home.plan()
    now = instant(None, plan)
    found = home.store().events(since=now - timedelta(days=args.days), undone=args.all) if home.folder.exists() else []
    if args.json:
        say(json.dumps([row(event) for event in found], ensure_ascii=False))
        return DONE
    if not found:
        say(words("none"))
    follows = {e.replaces: e.id for e in found if e.replaces is not None}
    for event in found:
        say(_line(event, now, follows))
    return DONE


def _line(event: Any, now: datetime, follows: dict[int, int]) -> str:
    from assistant.wording.show import amount

    kinds = table("sentences_en")["log"]["kinds"]
    amounts = "".join(f", {amount(a)}" for a in (event.volume, event.rate) if a is not None)
    at = f"{event.at.astimezone(now.tzinfo):%a %d %b %H:%M}"
    line = f"{event.id:>5}  " + words("shown", at=at, what=kinds.get(event.kind, event.kind), amounts=amounts)
    if event.id in follows:
        line += words("replaced", number=follows[event.id])
    elif event.undone_at is not None:
        line += words("undone", at=f"{event.undone_at.astimezone(now.tzinfo):%a %d %b %H:%M}")
    return line + (words("replaces", number=event.replaces) if event.replaces is not None else "")


def _add(args: argparse.Namespace) -> int:
    from assistant.night import Night
    from assistant.session import instant
    from rules.feed_state import Event
    from rules.log_order import misfit

    home = open_home(args.home)
    plan, store = home.plan(), home.store()
    now = instant(None, plan)
    event = Event(time_of(args.at, home) or now, args.kind, amount_of(args.volume, "volume"),
                  amount_of(args.rate, "rate"), args.feed)
    if plan is not None and args.feed is not None and plan.feed(args.feed) is None:
        raise ValueError(words("no_feed", feed=args.feed, feeds=", ".join(f.name for f in plan.feeds)))
    log = tuple(Event(e.at.astimezone(now.tzinfo), e.kind, e.volume, e.rate, e.feed)
                for e in store.events(since=event.at - timedelta(days=9)))
    night = Night(plan, now, log)
    found = ("future", None) if event.at > now else misfit(log, event, **night.plan_of_feed(event.at))
    code, clash = found or (None, None)
    if code is not None and not args.anyway:
        from assistant import word

        question = word.Facts(night, {"clash": clash}).text(table("asks_en")[f"log_{code}"]["text"])
        say(words("misfit", question=question), sys.stderr)
        return BAD
    number = store.add_event(at=event.at, kind=event.kind, recorded_at=now, volume=event.volume, rate=event.rate,
                             feed=event.feed)
    what = table("sentences_en")["log"]["kinds"][event.kind]
    say(words("added", number=number, what=what, at=f"{event.at:%Y-%m-%d %H:%M}"))
    return DONE


def _correct(args: argparse.Namespace) -> int:
    from assistant.session import instant

    home = open_home(args.home)
    store, now = home.store(), instant(None, home.plan())
    old = next((e for e in store.events() if e.id == args.number), None)
    if old is None:
        raise ValueError(words("no_entry", number=args.number))
    kinds = table("sentences_en")["log"]["kinds"]
    if args.take_back:
        store.undo(old.id, now)
        say(words("taken_back", number=old.id, what=kinds.get(old.kind, old.kind)))
        return DONE
    at, volume, rate = time_of(args.at, home), amount_of(args.volume, "volume"), amount_of(args.rate, "rate")
    if at is None and volume is None and rate is None:
        raise ValueError(words("no_change"))
    new: dict[str, Any] = {"at": at or old.at, "kind": old.kind, "volume": volume if volume is not None else old.volume,
           "rate": rate if rate is not None else old.rate, "feed": old.feed, "note": old.note, "said": old.said}
    number = store.correct(old.id, now, **new)
    shown = f"{(at or old.at).astimezone(now.tzinfo):%Y-%m-%d %H:%M}"
    say(words("corrected", old=old.id, number=number, what=kinds.get(old.kind, old.kind), at=shown))
    return DONE
