"""Signing in at the desk over several processes and desks: locks, forged and ended cookies, roles; on each store."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from assistant.channels.desk.signed_in import IDLE, LOCKED, SEEN_EVERY, TRIES, WHOLE, SignedIn
from assistant.channels.desk.users import User, Users
from assistant.homes.homes import open_homes
from assistant.household.unreadable import HouseholdUnreadable

NOW = datetime(2026, 11, 26, 6, 10, tzinfo=UTC)
PASSWORD, OTHER = "a lamp on the landing", "seven grey herons"


@dataclass
class Service:
    """A user file, and desks on one place of homes; `now` is every desk's clock."""

    where: str
    file: Path
    now: datetime = NOW
    opened: list[Any] = field(default_factory=list)

    def desk(self) -> SignedIn:
        """Another desk's process: nothing is shared with the others but the database and the user file."""
        homes = open_homes(self.where)
        self.opened.append(homes)
        return SignedIn(Users(self.file), homes.sign_ins, lambda: self.now)


@pytest.fixture(params=["sqlite", "postgresql"])
def service(request: Any, tmp_path: Path) -> Iterator[Service]:
    sqlite = request.param == "sqlite"
    where = str(tmp_path / "homes") if sqlite else request.getfixturevalue("cluster").new_database()
    made = Service(where, tmp_path / "users.json")
    Users(made.file).put("nils", "nurse", PASSWORD)
    Users(made.file).put("lena", "lead", OTHER)
    yield made
    for homes in made.opened:
        homes.close()


def signed_in(desk: SignedIn, name: str = "nils", password: str = PASSWORD) -> str:
    found = desk.enter(name, password)
    assert isinstance(found, User)
    return desk.begin(found)


def who(desk: SignedIn, token: str | None) -> tuple[str, str] | None:
    found = desk.user(token)
    return found and (found.name, found.role)


def test_a_sign_in_counts_at_every_desk_until_it_is_ended_at_one(service: Service) -> None:
    one, two = service.desk(), service.desk()
    token, hers = signed_in(one), signed_in(two, "lena", OTHER)
    assert who(one, token) == who(two, token) == ("nils", "nurse")
    assert who(service.desk(), token) == ("nils", "nurse")              # a desk that began later, or began again
    two.end(token)
    assert who(one, token) is None and who(two, token) is None
    assert who(one, hers) == ("lena", "lead")                            # and nobody else's


@pytest.mark.parametrize("forged", [None, "", "x", "nils", "A" * 43, "A" * 100, "A" * 5000, "' or 1=1 --", "%s", "\0",
                                    "\ud800"])
def test_a_forged_token_is_nobodys(service: Service, forged: str | None) -> None:
    desk = service.desk()
    token = signed_in(desk)
    assert who(desk, forged) is None
    desk.end(forged)
    assert who(desk, token) == ("nils", "nurse")
    assert who(desk, token[:-1]) is None and who(desk, token + "A") is None and who(desk, token.swapcase()) is None


def test_the_database_holds_no_token(service: Service) -> None:
    token = signed_in(service.desk())
    if service.where.startswith("postgresql"):
        import psycopg

        with psycopg.connect(service.where) as raw:
            rows = raw.execute("select * from sign_ins").fetchall()
    else:
        with sqlite3.connect(Path(service.where) / "desk.db") as link:
            rows = link.execute("select * from sign_ins").fetchall()
    assert len(rows) == 1 and token not in str(rows) and "nils" in str(rows)
    assert who(service.desk(), rows[0][0]) is None                       # the hash itself is no token


def test_it_ends_after_an_hour_without_a_request_at_any_desk(service: Service) -> None:
    one, two = service.desk(), service.desk()
    token = signed_in(one)
    for desk in (one, two, one):                                         # a request at either keeps it
        service.now += IDLE
        assert who(desk, token) == ("nils", "nurse")
    service.now += IDLE + SEEN_EVERY
    assert who(two, token) is None
    service.now = NOW
    assert who(one, token) is None                                       # it does not come back


def test_it_ends_after_a_shift_whatever_comes(service: Service) -> None:
    desk = service.desk()
    token = signed_in(desk)
    while service.now < NOW + WHOLE - IDLE:
        service.now += IDLE
        assert who(desk, token) == ("nils", "nurse")
    service.now = NOW + WHOLE
    assert who(desk, token) is None
    signed_in(desk)
    service.now = NOW
    assert who(desk, token) is None


def test_another_role_or_password_or_no_entry_ends_it(service: Service) -> None:
    desk, users = service.desk(), Users(service.file)
    hers = signed_in(desk, "lena", OTHER)
    for change in (lambda: users.put("nils", "reader", PASSWORD), lambda: users.put("nils", "nurse", OTHER),
                   lambda: users.put("nils", "nurse", OTHER)):            # the same password anew has a salt of its own
        token = signed_in(desk, "nils", PASSWORD) if desk.enter("nils", PASSWORD) != "wrong" else signed_in(
            desk, "nils", OTHER)
        before = who(desk, token)
        assert before is not None
        change()
        assert who(desk, token) is None and who(service.desk(), token) is None
    users.put("nils", "reader", PASSWORD)
    assert who(desk, signed_in(desk)) == ("nils", "reader")              # signed in anew: with the role of now
    assert who(desk, hers) == ("lena", "lead")
    token = signed_in(desk)
    service.file.write_text(service.file.read_text().replace('"nils"', '"nele"'))
    assert who(desk, token) is None


def test_wrong_tries_count_over_all_desks_and_the_lock_opens_after_its_time(service: Service) -> None:
    desks = [service.desk(), service.desk()]
    for name in ("nils", "nobody"):                                      # a name that nobody has behaves alike
        for n in range(TRIES):
            assert desks[n % 2].enter(name, "no") == "wrong"
        assert [desk.enter(name, PASSWORD) for desk in (*desks, service.desk())] == ["locked"] * 3
    assert desks[0].enter(" NILS ", PASSWORD) == "locked"
    assert isinstance(desks[1].enter("lena", OTHER), User)               # others come in
    service.now += LOCKED - timedelta(seconds=1)
    assert desks[0].enter("nils", PASSWORD) == "locked"
    service.now += timedelta(seconds=2)
    assert isinstance(desks[0].enter("nils", PASSWORD), User)


def test_a_right_password_clears_the_count_everywhere(service: Service) -> None:
    one, two = service.desk(), service.desk()
    for _ in range(3):
        for _ in range(TRIES - 1):
            assert one.enter("nils", "no") == "wrong"
        assert isinstance(two.enter("nils", PASSWORD), User)


def test_tries_at_the_same_moment_are_all_counted(service: Service) -> None:
    """Twelve at once, over as many desks: five are looked at, whichever they are."""
    found: list[Any] = []

    def one_try() -> None:
        desk = service.desk()
        found.append(desk.enter("nils", "no"))
        service.opened[-1].close()

    service.desk().enter("lena", "no")                                   # the tables are there
    threads = [threading.Thread(target=one_try) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == ["locked"] * (12 - TRIES) + ["wrong"] * TRIES


def test_what_ended_is_not_kept_for_ever(service: Service) -> None:
    desk = service.desk()
    kept = service.opened[-1].sign_ins
    for n in range(5):
        signed_in(desk)
        desk.enter(f"stranger{n}", "no")
    service.now += WHOLE
    signed_in(desk)
    assert len(kept._rows("select 1 from sign_ins", [])) == 1 and kept._rows("select 1 from sign_in_tries", []) == []


def test_nobody_is_let_in_by_what_cannot_be_read(service: Service, tmp_path: Path) -> None:
    token = signed_in(service.desk())
    if service.where.startswith("postgresql"):
        service.where = "postgresql://nobody@127.0.0.1:9/none"
    else:
        for homes in service.opened:
            homes.close()
        (Path(service.where) / "desk.db").write_bytes(b"no database" * 500)
        for more in ("-wal", "-shm"):
            (Path(service.where) / f"desk.db{more}").unlink(missing_ok=True)
    desk = service.desk()
    for work in (lambda: desk.user(token), lambda: desk.enter("nils", PASSWORD), lambda: desk.end(token)):
        with pytest.raises(HouseholdUnreadable):
            work()
