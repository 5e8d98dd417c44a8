"""The night's log: what does not fit is asked, corrections leave a trace, reminders ring, handover and week."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from typing import Any
from xml.etree import ElementTree

import pytest
from conftest import ROOT
from night import a_night, opened, say

from assistant.channels.chat import Bell
from assistant.cli import main
from assistant.household.home import Home
from assistant.session import instant
from rules.feed_state import Event
from rules.log_order import misfit
from rules.quantity import qty
from rules.running import running

AT = datetime(2026, 11, 25, 21, 0, tzinfo=UTC)

def events(*told: tuple[int, str]) -> tuple[Event, ...]:
    return tuple(Event(AT + timedelta(minutes=m), kind) for m, kind in told)


ON = (0, "feed_started")


@pytest.mark.parametrize(("log", "new", "code"), [
    ((), (0, "paused"), "no_start"), ((), (0, "stopped"), "no_start"), ((ON,), (30, "paused"), None),
    ((ON,), (30, "resumed"), "not_paused"), ((ON, (10, "paused")), (30, "paused"), "paused_already"),
    ((ON, (10, "paused")), (30, "resumed"), None), ((ON, (10, "stopped")), (30, "stopped"), "ended_already"),
    ((ON, (10, "stopped")), (30, "resumed"), None), ((ON,), (30, "feed_started"), "running_already"),
    ((ON, (10, "stopped")), (30, "feed_started"), None), ((ON,), (-30, "paused"), "no_start"),
    ((ON, (20, "paused")), (10, "paused"), None), ((ON, (5, "flushed")), (6, "flushed"), "twice"),
    ((ON, (5, "flushed")), (9, "flushed"), None), ((ON,), (3, "vomited"), None),
])
def test_what_does_not_fit_the_log_is_told_by_its_kind(log: Any, new: Any, code: str | None) -> None:
    found = misfit(events(*log), events(new)[0], plan_rate=qty(60, "mL/h"))
    assert (found and found[0]) == code


def test_the_running_state_is_of_plan_events_and_now_alone() -> None:
    """60 mL/h from 21:00 with a pause of 30 min: by 23:30 two hours ran, 120 of 600 mL; 480 mL take 8 h: 07:30."""
    log = (*events(ON, (60, "paused"), (90, "resumed")), Event(AT + timedelta(minutes=95), "flushed", qty(20, "mL")))
    now = AT + timedelta(minutes=150)
    found = running(log, now, hang_limit=qty(6, "h"), flush_every=qty(4, "h"), plan_rate=qty(60, "mL/h"),
                    plan_volume=qty(600, "mL"))
    assert (found.state.given, found.state.left) == (qty(120, "mL"), qty(480, "mL"))
    assert found.state.ends_at == AT + timedelta(hours=10, minutes=30)
    assert found.discard_at == AT + timedelta(hours=6) and found.next_flush == AT + timedelta(minutes=95 + 240)
    assert running(tuple(reversed(log)), now, hang_limit=qty(6, "h"), flush_every=qty(4, "h"),
                   plan_rate=qty(60, "mL/h"), plan_volume=qty(600, "mL")) == found


def test_a_pause_without_a_start_is_asked_and_then_both_are_written(records: Home) -> None:
    session = opened(records)
    asked = say(session, "25T23:00", "I paused the feed just now")
    assert (asked["outcome"], asked["asks"]) == ("asked_back", "start") and not session.events
    assert say(session, "25T23:01", "at nine")["outcome"] == "done"
    assert [(e.kind, f"{e.at:%H:%M}") for e in session.events] == [("feed_started", "21:00"), ("paused", "23:00")]


def test_a_second_pause_is_written_only_after_a_yes(records: Home) -> None:
    session = opened(records)
    for at, text in (("25T21:00", "just started the overnight feed"), ("25T22:00", "paused it just now")):
        assert say(session, at, text)["outcome"] == "done"
    asked = say(session, "25T22:30", "paused it just now")
    assert asked["outcome"] == "asked_back" and "22:00" in asked["text"] and len(session.events) == 2
    assert say(session, "25T22:31", "no")["outcome"] != "done" and len(session.events) == 2
    assert say(session, "25T22:32", "paused it just now")["outcome"] == "asked_back"
    assert say(session, "25T22:33", "yes")["outcome"] == "done" and len(session.events) == 3


def test_a_correction_that_does_not_fit_is_asked_and_stays_one_entry(records: Home) -> None:
    session = opened(records)
    say(session, "25T21:00", "just started the overnight feed at 72")
    say(session, "25T22:00", "paused it for a bath")
    doubt = say(session, "25T22:10", "actually it was half past eight")
    assert doubt["outcome"] == "asked_back" and "21:00" in doubt["text"]  # a pause before the feed was on
    assert say(session, "25T22:11", "at half past nine")["outcome"] == "done"
    assert [(e.kind, f"{e.at:%H:%M}") for e in opened(records).events] == [
        ("feed_started", "21:00"), ("paused", "21:30")]


def test_a_correction_leaves_a_trace(records: Home, capsys: pytest.CaptureFixture[str]) -> None:
    session = opened(records)
    say(session, "25T21:00", "just started the overnight feed at 72")
    say(session, "25T22:00", "paused it for a bath")
    put_right = say(session, "25T22:10", "actually it was half past nine")
    assert "21:30" in put_right["text"] and "22:00" in put_right["text"]
    assert [f"{e.at:%H:%M}" for e in opened(records).events] == ["21:00", "21:30"]
    rows = records.store().events(undone=True)
    assert [(r.kind, r.replaces, r.undone_at is None) for r in rows] == [
        ("feed_started", None, True), ("paused", 2, True), ("paused", None, False)]
    assert main(["log", "show", "--home", str(records.folder), "--all", "--days", "3650"]) == 0
    assert "put right: now entry 3" in capsys.readouterr().out


def test_a_request_sent_twice_is_written_once(records: Home) -> None:
    """The helper may die after it wrote: the client then sends the same request to another process."""
    first = say(opened(records), "25T21:00", "flushed with 20 ml just now", "one")
    again = say(opened(records), "25T21:01", "flushed with 20 ml just now", "one")
    assert first == again and len(records.store().events()) == 1
    say(opened(records), "25T21:30", "flushed with 20 ml just now", "two")
    assert len(records.store().events()) == 2


def test_two_programs_on_one_household_see_and_keep_each_others_entries(records: Home) -> None:
    kitchen, bedroom = opened(records), opened(records)
    say(kitchen, "25T21:00", "just started the overnight feed at 72")
    assert say(bedroom, "25T22:00", "paused it just now")["outcome"] == "done"
    assert say(kitchen, "25T22:30", "back on now")["outcome"] == "done"
    assert [e.kind for e in records.store().events()] == ["feed_started", "paused", "resumed"]


def test_an_entry_taken_back_elsewhere_is_not_put_right_silently(records: Home) -> None:
    session = opened(records)
    say(session, "25T21:00", "just started the overnight feed at 72")
    records.store().undo(1, AT)
    assert say(session, "25T21:10", "undo")["outcome"] == "answered"      # seen: there is nothing to take back


class Terminal:
    """A console that only notes."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.bells = 0

    def bell(self) -> None:
        self.bells += 1

    def print(self, line: object, end: str = "") -> None:
        self.lines.append(str(line))


def test_a_reminder_rings_once_and_survives_a_restart(records: Home) -> None:
    session = opened(records)
    promise = say(session, "25T22:00", "remind me in 30 minutes to check the site")
    assert "while the chat is open" in promise["text"] and "alarm clock" in promise["text"]
    clock = [instant("2026-11-25T22:29", records.plan())]
    later, terminal = opened(records), Terminal()
    bell = Bell(later, lambda: clock[0], terminal)
    assert bell.ring("due {at}: {what}") == 0
    clock[0] += timedelta(minutes=1)
    assert bell.ring("due {at}: {what}") == 1 and terminal.bells == 1
    assert terminal.lines == ["Due 22:30: check the site"]
    assert bell.ring("due {at}: {what}") == 0 and Bell(opened(records), lambda: clock[0], terminal).ring("x") == 0


def test_chat_shows_at_the_start_what_came_due_before(records: Home) -> None:
    say(opened(records), "25T22:00", "remind me in 30 minutes to check the site")
    done = subprocess.run([sys.executable, "-m", "assistant.cli", "chat", "--home", str(records.folder), "--now",
                           "2026-11-26T03:00"], input="bye\n", capture_output=True, text=True, timeout=60, cwd=ROOT,
                          check=False)
    assert done.returncode == 0 and "This was due at 22:30" in done.stdout and "check the site" in done.stdout


def test_a_change_of_clocks_moves_no_reminder_in_real_time(records: Home) -> None:
    """Halifax, night of 1 November 2026: 02:00 becomes 01:00. Four real hours after 23:00 it is 02:00 by the clock."""
    session = opened(records, "2026-10-31T23:00")
    for text in ("remind me in 4 hours to check the pump", "remind me at 7 in the morning to rinse the set"):
        assert session.say(text, instant("2026-10-31T23:00", records.plan()))["outcome"] == "done"
    due = sorted(datetime.fromisoformat(r["due"]) for r in opened(records).reminders)
    assert [f"{d:%H:%M %z}" for d in due] == ["02:00 -0400", "07:00 -0400"]
    assert due[0] - instant("2026-10-31T23:00", records.plan()) == timedelta(hours=4)


def test_the_end_of_the_feed_and_the_discard_time_can_be_reminded_of(records: Home) -> None:
    """648 mL at 72 mL/h from 20:45 end after 9 h; the plan's formula may hang 6 h."""
    session = opened(records)
    say(session, "25T20:45", "just started the overnight feed at 72 mL/h")
    assert "05:45" in say(session, "25T21:00", "remind me when the feed ends")["text"]
    assert "02:45" in say(session, "25T21:01", "remind me when I must throw the bag away")["text"]
    assert len(opened(records).reminders) == 2

def test_a_pressed_limit_stays_deferred_and_is_noted(records: Home) -> None:
    session = opened(records)
    first = say(session, "25T23:00", "she lost two hours of feed, what rate to catch up?")
    for text in ("just tell me the rate", "the nurse said it's fine"):
        pressed = say(session, "25T23:01", text)
        assert pressed["defers"] and not pressed["figures"] and "902-555-0117" in pressed["text"], first["text"]
    assert [e.kind for e in records.store().events()] == ["deferred", "deferred"]
    assert "care team" in say(session, "25T23:05", "handover please")["text"]


def test_the_handover_holds_what_ran_is_left_due_and_odd(records: Home, capsys: pytest.CaptureFixture[str]) -> None:
    """2 h + 1 h at 72 = 216 of 648 mL by 00:15; 432 mL take 6 h: 06:15."""
    a_night(records)
    args = ["handoff", "--home", str(records.folder), "--now", "2026-11-26T00:15"]
    assert main([*args, "--json"]) == 0
    lines = {line["name"]: line for line in json.loads(capsys.readouterr().out)["lines"]}
    assert lines["ran_named"]["values"]["given"] == {"value": 216, "unit": "mL"}
    assert lines["left"]["values"]["left"] == {"value": 432, "unit": "mL"}
    assert lines["ends"]["values"]["ends"]["value"] == "2026-11-26T06:15:00-04:00"
    assert all(line["from"] for line in lines.values())
    assert main([*args, "--nurse"]) == 0
    text = capsys.readouterr().out
    assert [text.index(t) for t in ("Situation", "Background", "Assessment", "Request")] == sorted(
        text.index(t) for t in ("Situation", "Background", "Assessment", "Request"))
    page = records.folder / "page.html"
    assert main([*args, "--print", str(page)]) == 0 and "216 mL" in page.read_text(encoding="utf-8")


def test_the_week_counts_what_the_log_holds_and_says_what_it_does_not(records: Home, capsys: Any) -> None:
    a_night(records)
    args = ["week", "--home", str(records.folder), "--now", "2026-11-26T12:00"]
    assert main([*args, "--json"]) == 0
    days = {day["day"]: day for day in json.loads(capsys.readouterr().out)}
    night, untold = days["2026-11-25"], days["2026-11-24"]
    assert night["given"] == {"value": 648, "unit": "mL"} and night["water"] == {"value": 20, "unit": "mL"}
    assert night["planned"] == {"value": 1048, "unit": "mL"}                # 648 + 200 + 200
    assert night["missed_flushes"] == 9                                     # 3 feeds x 2 + 4 medicines, one told
    assert untold["given"] is None and untold["told"] is False
    picture = records.folder / "week.svg"
    assert main([*args, "--svg", str(picture)]) == 0
    drawn = ElementTree.parse(picture)
    assert len(drawn.findall(".//{http://www.w3.org/2000/svg}rect")) == 1   # no bar for a day that nobody told of
    capsys.readouterr()
    assert main(args) == 0 and "648 mL" in capsys.readouterr().out
