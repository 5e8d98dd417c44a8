"""What every store promises, held against each of them: SQLite in a folder, and a service's PostgreSQL."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from conftest import DEMO
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.homes.homes import Homes, open_homes
from assistant.household.store import Store
from assistant.household.unreadable import HouseholdUnreadable
from rules.quantity import qty

NOW = datetime(2026, 11, 25, 21, 4, 7, 123456, tzinfo=UTC)
PLAN = (DEMO / "child_overnight_pump.toml").read_bytes()


@pytest.fixture(params=["sqlite", "postgresql"])
def homes(request: Any, tmp_path: Path) -> Iterator[Homes]:
    """Two homes, K-1 and K-2, in each kind of place."""
    where = str(tmp_path) if request.param == "sqlite" else request.getfixturevalue("cluster").new_database()
    made = open_homes(where)
    for code in ("K-1", "K-2"):
        made.put_plan(code, PLAN, NOW)
    yield made
    made.close()


@pytest.fixture
def store(homes: Homes) -> Iterator[Store]:
    made = homes.store("K-1")
    yield made
    made.close()


def test_events_come_back_exactly_and_in_order_of_happening(store: Store) -> None:
    late = datetime(2026, 11, 25, 23, 0, tzinfo=ZoneInfo("America/Halifax"))
    store.add_event(at=late, kind="stopped", recorded_at=NOW, volume=qty("62.5", "mL"), note="set change")
    store.add_event(at=NOW, kind="feed_started", recorded_at=NOW, rate=qty("1.5", "mL/min"), feed="night", said="go")
    store.add_event(at=NOW + timedelta(hours=1), kind="poured", recorded_at=NOW, volume=qty(1, "floz_us"))
    events = store.events()
    assert [event.kind for event in events] == ["feed_started", "poured", "stopped"]
    assert (events[0].at, events[2].at) == (NOW, late)
    assert events[0].at.utcoffset() == timedelta(0)
    assert (events[0].rate, events[1].volume) == (qty(90, "mL/h"), qty("29.5735295625", "mL"))
    assert (events[0].feed, events[0].said, events[2].note) == ("night", "go", "set change")
    assert [event.kind for event in store.events(since=NOW + timedelta(hours=1), until=late)] == ["poured", "stopped"]
    assert [event.kind for event in store.events(kind="poured")] == ["poured"]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(said=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=60),
       hundredths=st.integers(0, 10**9))
def test_any_words_and_any_amount_come_back(store: Store, said: str, hundredths: int) -> None:
    volume = qty(f"{hundredths // 100}.{hundredths % 100:02}", "mL")
    number = store.add_event(at=NOW, kind="flushed", recorded_at=NOW, said=said, volume=volume)
    found = next(event for event in store.events() if event.id == number)
    assert (found.said, found.volume) == (said, volume)
    store.save_turn(said or "-", {"said": said}, NOW)
    assert store.turn(said or "-") == {"said": said}


def test_a_sign_that_says_nothing_fails_nothing(store: Store) -> None:
    store.add_event(at=NOW, kind="flushed", recorded_at=NOW, said="a\0b")
    assert str(store.events()[0].said).startswith("a")


def test_what_was_taken_back_stays_marked(store: Store) -> None:
    first, last = (store.add_event(at=NOW - timedelta(minutes=m), kind="flushed", recorded_at=NOW) for m in (30, 10))
    assert (first, last) == (1, 2)
    assert store.undo(last, NOW) and not store.undo(last, NOW) and not store.undo(99, NOW)
    assert [event.id for event in store.events()] == [first]
    assert [event.undone_at for event in store.events(undone=True)] == [None, NOW]


def test_a_correction_takes_the_place_of_one_entry_once(store: Store) -> None:
    old = store.add_event(at=NOW, kind="flushed", recorded_at=NOW, volume=qty(20, "mL"))
    new = store.correct(old, NOW, at=NOW, kind="flushed", volume=qty(30, "mL"))
    with pytest.raises(HouseholdUnreadable) as caught:
        store.correct(old, NOW, at=NOW, kind="flushed", volume=qty(40, "mL"))
    assert caught.value.code == "gone"
    assert [(e.id, e.volume, e.replaces) for e in store.events()] == [(new, qty(30, "mL"), old)]
    assert [e.id for e in store.events(undone=True)] == [old, new]


def test_all_of_a_transaction_or_nothing(store: Store) -> None:
    class Stop(Exception):
        pass

    with pytest.raises(Stop), store.transaction():
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
        store.save_turn("phone", {"a": 1}, NOW)
        raise Stop
    assert (store.events(), store.turn("phone")) == ([], None)
    with store.transaction():
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
        with store.transaction():
            store.add_event(at=NOW, kind="poured", recorded_at=NOW)
    assert len(store.events()) == 2


def test_an_instant_without_a_zone_and_a_negative_amount_are_not_written(store: Store) -> None:
    with pytest.raises(ValueError, match="zone"):
        store.add_event(at=datetime(2026, 11, 25), kind="flushed", recorded_at=NOW)
    with pytest.raises(ValueError, match="0 or more"):
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW, volume=qty(-1, "mL"))
    assert store.events() == []
    store.check()


def test_a_conversation_is_kept(homes: Homes, store: Store) -> None:
    store.save_turn("phone", {"pending": "rate"}, NOW)
    store.save_turn("phone", {"pending": None, "said": "é"}, NOW)
    assert homes.store("K-1").turn("phone") == {"pending": None, "said": "é"}
    assert store.turn("kitchen") is None and homes.store("K-2").turn("phone") is None


def test_a_request_is_answered_once(store: Store) -> None:
    assert store.answered("r1") is None
    store.keep_answer("r1", {"text": "ü"}, NOW)
    assert store.answered("r1") == {"text": "ü"}
    with pytest.raises(HouseholdUnreadable), store.transaction():
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
        store.keep_answer("r1", {"text": "again"}, NOW)
    assert store.answered("r1") == {"text": "ü"} and store.events() == []
    store.keep_answer("r2", {"text": "later"}, NOW + timedelta(days=2))
    assert store.answered("r1") is None


def test_reminders_come_due_and_close_once(store: Store) -> None:
    later = store.add_reminder(due=NOW + timedelta(hours=2), what="change the set", clock_time=False)
    first = store.add_reminder(due=NOW, what="flush", clock_time=True)
    assert [reminder.id for reminder in store.reminders()] == [first, later]
    assert [(due.what, due.clock_time) for due in store.reminders(due_by=NOW)] == [("flush", True)]
    assert store.close_reminder(first, NOW) and not store.close_reminder(first, NOW)
    assert [(reminder.id, reminder.due) for reminder in store.reminders()] == [(later, NOW + timedelta(hours=2))]


def test_the_marks_tell_what_was_written_by_whomever(homes: Homes, store: Store) -> None:
    """The log's mark grows with every change of the log and with nothing else; a conversation's with its own turns."""
    other, marks = homes.store("K-1"), [store.marks("phone")]
    event = store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
    reminder = other.add_reminder(due=NOW, what="turn", clock_time=False)
    for change in (lambda: other.correct(event, NOW, at=NOW, kind="poured"), lambda: store.undo(2, NOW),
                   lambda: other.close_reminder(reminder, NOW)):
        marks.append(store.marks("phone"))
        change()
    marks.append(other.marks("phone"))
    assert all(before[0] < after[0] and before[1] == after[1] for before, after in pairwise(marks))
    store.save_turn("phone", {}, NOW)
    other.save_turn("kitchen", {}, NOW)
    store.keep_answer("r", {}, NOW)
    assert store.marks("phone") == other.marks("phone") == (marks[-1][0], 1)
    store.save_turn("phone", {}, NOW)
    assert (other.marks("phone"), other.marks("attic")) == ((marks[-1][0], 2), (marks[-1][0], 0))
    assert homes.store("K-2").marks("phone") == (0, 0)
    other.close()


def test_no_home_reaches_another(homes: Homes, store: Store) -> None:
    other = homes.store("K-2")
    number = store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
    reminder = store.add_reminder(due=NOW, what="turn", clock_time=False)
    store.keep_answer("r", {}, NOW)
    assert not other.undo(number, NOW) and not other.close_reminder(reminder, NOW)
    assert (other.events(), other.reminders(), other.answered("r")) == ([], [], None)
    assert other.add_event(at=NOW, kind="poured", recorded_at=NOW) == number        # each home counts for itself
    assert [event.kind for event in store.events()] == ["flushed"]
    other.close()


def test_many_threads_write_to_one_home(homes: Homes) -> None:
    def write() -> None:
        mine = homes.store("K-1")
        for _ in range(10):
            mine.add_event(at=NOW, kind="flushed", recorded_at=NOW)
        mine.close()
        homes.close()

    threads = [threading.Thread(target=write) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [event.id for event in homes.store("K-1").events()] == list(range(1, 41))


def test_a_session_on_each_store_logs_and_goes_on(homes: Homes) -> None:
    """What a household says is written, undone and remembered the same in each."""
    from assistant.household.kept import Kept
    from assistant.session import Session

    plan, now = homes.plan("K-1"), datetime(2026, 11, 26, 2, 10, tzinfo=ZoneInfo("America/Halifax"))
    first = Session(plan, kept=Kept(homes.store("K-1")), now=now)
    assert first.say("the overnight feed started at 20:45 yesterday", now, "r1")["outcome"] == "done"
    assert first.say("the overnight feed started at 20:45 yesterday", now, "r1")["outcome"] == "done"    # sent again
    second = Session(plan, kept=Kept(homes.store("K-1")), now=now)
    told = second.say("how much has gone in", now)
    assert round(told["figures"]["delivered"]["value"]) == 390                 # 5 h 25 min at 72 mL/h
    assert second.say("undo", now)["outcome"] == "done"
    assert first.night(now).state is None                                      # the first sees what the second did
    assert [event.kind for event in homes.store("K-1").events(undone=True)] == ["feed_started"]
