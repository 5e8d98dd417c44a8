"""Several sessions on one household, as several processes have them: no turn lost, none doubled, on each store."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from conftest import DEMO

from assistant import dialogue, session
from assistant.answer import answer
from assistant.homes.homes import Homes, open_homes
from assistant.household.kept import Kept
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import Session

NOW = datetime(2026, 11, 26, 2, 10, tzinfo=ZoneInfo("America/Halifax"))
STARTED = "the overnight feed started at 20:45 yesterday"
ASKED = "how long will it last at 60 mL/h?"             # asked back: how much is in the bag? 300 mL at 60 mL/h are 5 h


@pytest.fixture(params=["sqlite", "postgresql"])
def homes(request: Any, tmp_path: Any) -> Iterator[Homes]:
    where = str(tmp_path) if request.param == "sqlite" else request.getfixturevalue("cluster").new_database()
    made = open_homes(where)
    made.put_plan("K-1", (DEMO / "child_overnight_pump.toml").read_bytes(), NOW)
    yield made
    made.close()


def begun(homes: Homes, **more: Any) -> Session:
    return Session(homes.plan("K-1"), kept=Kept(homes.store("K-1")), now=NOW, **more)


def kinds(homes: Homes) -> list[str]:
    return [event.kind for event in homes.store("K-1").events()]


def test_a_follow_up_reaches_another_session(homes: Homes) -> None:
    """Asked back by one, answered to the other, "why" asked of the first."""
    one, two = begun(homes), begun(homes)
    assert one.say(ASKED, NOW)["outcome"] == "asked_back"
    told = two.say("300 mL", NOW)
    assert told["outcome"] == "answered" and "5 h" in told["text"]
    assert "300" in one.say("why?", NOW)["text"]
    assert "5 h" in two.say("say that again", NOW)["text"]


def test_what_nobody_changed_is_not_read_again(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    one, two = begun(homes), begun(homes, sender="kitchen-browser-0001")
    one.say(STARTED, NOW)
    two.say("how much has gone in", NOW)
    read: list[str] = []
    for of in (one, two):
        for name in ("events", "conversation"):
            was = getattr(of.kept, name)
            monkeypatch.setattr(of.kept, name, lambda *a, was=was, name=name: (read.append(name), was(*a))[1])
    one.say("how much has gone in", NOW)
    two.say("when will it be through", NOW)           # another conversation's turn is no reason to read the log
    assert read == []
    two.say("flushed with 20 mL", NOW)
    one.say("how much has gone in", NOW)
    assert read == ["events"]                           # and the log is no reason to read the conversation


def overtaking(monkeypatch: pytest.MonkeyPatch, times: int, work: Any) -> None:
    """While a message is answered, another process does `work`: the first so many times."""
    left = [times]

    def slow(*args: Any) -> Any:
        if left[0]:
            left[0] -= 1
            worker = threading.Thread(target=work)      # a connection of its own, as a process has
            monkeypatch.setattr(session, "answer", answer)
            worker.start()
            worker.join()
            monkeypatch.setattr(session, "answer", slow)
        return answer(*args)

    monkeypatch.setattr(session, "answer", slow)


def test_overtaken_it_answers_from_what_is_true_now(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    """While one works out what has gone in, another logs the start: the answer counts with it, and nothing is lost."""
    one = begun(homes)

    def other() -> None:
        two = begun(homes, sender="kitchen-browser-0001")
        assert two.say(STARTED, NOW)["outcome"] == "done"
        homes.close()

    overtaking(monkeypatch, 1, other)
    told = one.say("how much has gone in", NOW)
    assert round(told["figures"]["delivered"]["value"]) == 390           # 5 h 25 min at 72 mL/h
    assert kinds(homes) == ["feed_started"]


def test_the_same_thing_told_to_two_at_once_is_written_once(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    one = begun(homes)

    def other() -> None:
        assert begun(homes, sender="kitchen-browser-0001").say(STARTED, NOW)["outcome"] == "done"
        homes.close()

    overtaking(monkeypatch, 1, other)
    assert one.say(STARTED, NOW)["outcome"] == "asked_back"              # it runs already: asked about, not doubled
    assert kinds(homes) == ["feed_started"]


def test_overtaken_again_and_again_it_makes_the_others_wait(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    """In one conversation, too: each of the others' turns stands, and this one comes after them."""
    one, amounts = begun(homes), iter((300, 360, 420))

    def other() -> None:
        begun(homes).say(f"how long will {next(amounts)} mL last at 60 mL/h", NOW)
        homes.close()

    overtaking(monkeypatch, 2, other)
    told = one.say("and at 72?", NOW)
    assert "5 h" in told["text"] and told["outcome"] == "answered"       # 360 / 72: the last of the others' turns
    log, turns = homes.store("K-1").marks("household")
    assert (log, turns) == (0, 3)


def test_the_same_request_to_two_at_once_is_one_turn(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    one, records = begun(homes), []

    def other() -> None:
        records.append(begun(homes).say("flushed with 20 mL", NOW, "r1"))
        homes.close()

    overtaking(monkeypatch, 1, other)
    records.append(one.say("flushed with 20 mL", NOW, "r1"))
    assert records[0] == records[1] and kinds(homes) == ["flushed"]
    assert homes.store("K-1").marks("household") == (1, 1)


def test_a_question_sent_again_is_no_second_turn(homes: Homes) -> None:
    """The answer was lost on its way: sent again it is the same, and the question asked back is not answered twice."""
    one, two = begun(homes), begun(homes)
    one.say(ASKED, NOW, "r1")
    first = one.say("300 mL", NOW, "r2")
    assert two.say("300 mL", NOW, "r2") == first and first["outcome"] == "answered"
    assert homes.store("K-1").marks("household")[1] == 2


def test_the_same_number_with_other_words_is_another_request(homes: Homes) -> None:
    """Back in the browser, one figure changed, sent: the answer is that of the new figure, never the one kept."""
    one = begun(homes)
    assert "5 h" in one.say("how long will 300 mL last at 60 mL/h", NOW, "r1")["text"]
    assert "6 h" in one.say("how long will 360 mL last at 60 mL/h", NOW, "r1")["text"]


def test_a_conversation_that_travels_is_neither_read_nor_kept(homes: Homes) -> None:
    begun(homes, sender="rasa-1").say(ASKED, NOW)
    one = begun(homes, sender="rasa-1", travels=True)
    assert one.tracker.slots[dialogue.SLOT] is None
    one.say(ASKED, NOW, "r1")
    carried = one.tracker.slots[dialogue.SLOT]
    two = begun(homes, sender="rasa-1", travels=True)
    two.tracker.slots[dialogue.SLOT] = carried
    assert "5 h" in two.say("300 mL", NOW, "r2")["text"]
    again = begun(homes, sender="rasa-1", travels=True)   # sent again: with the thread as after it
    again.tracker.slots[dialogue.SLOT] = carried
    assert "5 h" in again.say("300 mL", NOW, "r2")["text"]
    assert again.tracker.slots[dialogue.SLOT] == two.tracker.slots[dialogue.SLOT] != carried
    assert homes.store("K-1").marks("rasa-1")[1] == 1                    # the first alone


def test_a_conversation_that_cannot_be_read_hides_no_danger(homes: Homes) -> None:
    homes.store("K-1").save_turn("household", {"question": 7}, NOW)
    told = begun(homes).say("her lips are blue", NOW)
    assert told["level"] == "emergency"


def test_the_records_fail_while_the_others_wait(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    """Overtaken twice, then the transaction cannot be ended: the answer comes, says so, and nothing is half written."""
    one, amounts = begun(homes), iter((20, 25))
    one.say(ASKED, NOW)

    def other() -> None:
        begun(homes, sender="kitchen-browser-0001").say(f"flushed with {next(amounts)} mL", NOW)
        homes.close()

    overtaking(monkeypatch, 2, other)
    assert one.kept is not None
    at_once, calls = one.kept.at_once, count()

    @contextmanager
    def fails_at_its_end() -> Iterator[None]:
        with at_once():
            yield
            raise HouseholdUnreadable("full", "here")

    monkeypatch.setattr(one.kept, "at_once", lambda: fails_at_its_end() if next(calls) == 2 else at_once())
    told = one.say("300 mL", NOW)
    assert "5 h" in told["text"] and str(HouseholdUnreadable("full", "here")) in told["text"]
    assert kinds(homes) == ["flushed", "flushed"] and homes.store("K-1").marks("household")[1] == 1
    monkeypatch.setattr(one.kept, "at_once", at_once)
    assert "5 h" in one.say("300 mL", NOW)["text"] and one.fault is None      # the question asked back still waits


def test_many_at_once_lose_and_double_nothing(homes: Homes, monkeypatch: pytest.MonkeyPatch) -> None:
    """Four conversations on one log, each telling six flushes of amounts of its own: all of it is there, once."""
    faults: list[BaseException] = []
    one_by_one = threading.Lock()                       # threads share the SDK's loop; processes do not

    def locked(*args: Any) -> Any:
        with one_by_one:
            return answer(*args)

    monkeypatch.setattr(session, "answer", locked)

    def tell(n: int) -> None:
        try:
            mine = begun(homes, sender=f"browser-{n}")
            for turn in range(6):
                assert mine.say(f"flushed with {10 + 6 * n + turn} mL", NOW)["outcome"] == "done"
        except BaseException as fault:
            faults.append(fault)
        finally:
            homes.close()

    threads = [threading.Thread(target=tell, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults, faults
    volumes = sorted(event.volume.magnitude for event in homes.store("K-1").events() if event.volume is not None)
    assert volumes == list(range(10, 34))
    assert [homes.store("K-1").marks(f"browser-{n}")[1] for n in range(4)] == [6] * 4
