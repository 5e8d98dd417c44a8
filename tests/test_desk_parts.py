"""Parts of the desk: levels after answers, lock and sign-ins over time, what cannot be noted is not opened."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO

from assistant.channels.desk.desk import Desk
from assistant.channels.desk.users import User, Users
from assistant.channels.web.household import Clock
from assistant.homes.homes import open_homes
from assistant.household.unreadable import HouseholdUnreadable
from assistant.paper.nurse_call import Asked, level_after, nurse_call

NOW = datetime(2026, 11, 26, 6, 10, tzinfo=UTC)
PASSWORD = "a lamp on the landing"


def asked(*answers: str) -> tuple[Asked, ...]:
    """Questions of an emergency card that a yes would lower to today, and a no leaves."""
    return tuple(Asked(f"x.{n}", "?", "same_day", "emergency", False, True, answer) for n, answer in enumerate(answers))


@pytest.mark.parametrize(("answers", "level"), [
    ((), "emergency"), (("",), "emergency"), (("yes",), "same_day"), (("no",), "emergency"),
    (("yes", ""), "emergency"), (("yes", "no"), "emergency"), (("yes", "yes"), "same_day"),
])
def test_a_level_is_lowered_only_by_every_answer(answers: tuple[str, ...], level: str) -> None:
    assert level_after("emergency", asked(*answers)) == level


def test_one_answer_raises_a_level() -> None:
    raising = Asked("x.0", "?", "emergency", "urgent", False, True, "yes")
    waiting = Asked("x.1", "?", "emergency", "urgent", False, True, "")
    assert level_after("urgent", (raising, waiting)) == "emergency"
    assert level_after("urgent", (waiting, waiting)) == "urgent"


@pytest.mark.parametrize("data", ["", "[]", "{}", '{"users": {"a": {"role": "boss", "salt": "00", "hash": "00"}}}',
                                  '{"users": {"a": {"role": "lead", "salt": "", "hash": "00"}}}',
                                  '{"users": {"a": {"role": "lead", "salt": "zz", "hash": "00"}}}'])
def test_a_damaged_user_file_lets_nobody_in(tmp_path: Path, data: str) -> None:
    (tmp_path / "users.json").write_text(data)
    with pytest.raises(HouseholdUnreadable):
        Users(tmp_path / "users.json").right("a", PASSWORD)


def desk(tmp_path: Path, where: str = "") -> Desk:
    homes = open_homes(where or str(tmp_path / "homes"))
    homes.put_plan("K-17", (DEMO / "child_overnight_pump.toml").read_bytes(), NOW)
    return Desk(homes, Users(tmp_path / "users.json"), Clock(NOW))


def test_what_cannot_be_noted_is_not_opened(tmp_path: Path, monkeypatch: Any) -> None:
    made = desk(tmp_path)
    nils = User("nils", "nurse")
    assert made.opened("k-17", nils)["nickname"] == "Juniper"

    def full(_: object) -> int:
        raise HouseholdUnreadable("full", "desk.db")

    monkeypatch.setattr(made.homes, "write", full)
    for opens in (lambda: made.opened("K-17", nils), lambda: made.call("K-17", nils, "she vomited twice", {})):
        with pytest.raises(HouseholdUnreadable):
            opens()


def test_a_log_that_cannot_be_read_is_said_in_the_note(tmp_path: Path) -> None:
    made = desk(tmp_path)
    (tmp_path / "homes" / "K-17" / "household.db").write_bytes(b"no database" * 500)
    call = made.call("K-17", User("nils", "nurse"), "she vomited twice since midnight", {})
    assert call["fault"] and call["made"].startswith(call["fault"]) and call["call"].level == "urgent"


def test_a_call_writes_nothing_into_the_home(tmp_path: Path) -> None:
    made = desk(tmp_path)
    made.call("K-17", User("nils", "nurse"), "flushed with 20 mL just now", {})
    night, _ = made.night("K-17")
    assert night.events == ()
    assert nurse_call("  ", night, {}).level == "none" and nurse_call("", night, {}).cards == ()


def test_the_desk_works_on_postgresql_and_says_that_it_is_down(tmp_path: Path, cluster: Any) -> None:
    made, nils = desk(tmp_path, cluster.new_database()), User("nils", "nurse")
    assert made.opened("K-17", nils)["nickname"] == "Juniper"
    made.ask_back("K-17", nils, "urgent", "2026-11-26T03:00", "how she is")
    made.keep_note("K-17", nils, "told to call now")
    home = made.opened("K-17", nils)
    assert [one["text"] for one in home["notes"]] == ["told to call now"]
    assert [(one["due"], one["late"]) for one in made.calls()["calls"]] == [("2026-11-26 03:00", False)]
    assert made.called("K-17", nils, home["calls"][0]["id"]) and not made.called("K-17", nils, home["calls"][0]["id"])
    assert len([one for one in made.audit_lines("K-17")["lines"] if one["kind"] == "opened"]) == 2
    made.homes.close()
    gone = Desk(open_homes("postgresql://nobody@127.0.0.1:9/none"), Users(tmp_path / "users.json"), Clock(NOW))
    with pytest.raises(HouseholdUnreadable, match="does not answer"):
        gone.opened("K-17", nils)
