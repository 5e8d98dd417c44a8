"""The service's database down, slow, hanging, restarted in the middle of a write: a clear message, and nothing lost."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any

import pytest
from conftest import DEMO
from cut_line import Line
from postgres import Cluster, missing

if missing():
    pytest.skip(missing(), allow_module_level=True)

import psycopg

from assistant.homes import postgres_link
from assistant.homes.homes import Entry, open_homes
from assistant.homes.postgres import PostgresHomes
from assistant.household.unreadable import HouseholdUnreadable

NOW = datetime(2026, 11, 25, 21, 4, tzinfo=UTC)
PLAN = (DEMO / "child_overnight_pump.toml").read_bytes()


@pytest.fixture(scope="module")
def own_cluster() -> Iterator[Cluster]:
    """A database of these tests alone: they stop it."""
    made = Cluster()
    yield made
    made.remove()


def homes_at(address: str) -> PostgresHomes:
    made = open_homes(address)
    made.put_plan("K-1", PLAN, NOW)
    assert isinstance(made, PostgresHomes)
    return made


@pytest.fixture
def homes(own_cluster: Cluster) -> Iterator[PostgresHomes]:
    made = homes_at(own_cluster.new_database())
    yield made
    made.close()


def flush(homes: PostgresHomes, note: str = "") -> int:
    return homes.store("K-1").add_event(at=NOW, kind="flushed", recorded_at=NOW, note=note)


def fault_of(work: Any) -> HouseholdUnreadable:
    with pytest.raises(HouseholdUnreadable) as caught:
        work()
    assert "\n" not in str(caught.value) and "password" not in str(caught.value).lower()
    return caught.value


def test_down_is_said_and_over_when_it_is_back(own_cluster: Cluster, homes: PostgresHomes) -> None:
    flush(homes)
    own_cluster.stop()
    try:
        for work in (lambda: flush(homes), lambda: homes.plan("K-1"), lambda: homes.find(""),
                     lambda: homes.store("K-1").events(),
                     lambda: homes.write(Entry("K-1", 0, NOW, "ann", "note", text="x"))):
            assert fault_of(work).code == "down"
    finally:
        own_cluster.start()
    assert len(homes.store("K-1").events()) == 1 and homes.entries("K-1") == []
    flush(homes)                                            # the same object goes on: nobody restarts anything
    assert len(homes.store("K-1").events()) == 2


def test_a_restart_between_two_messages_is_not_noticed(own_cluster: Cluster, homes: PostgresHomes) -> None:
    flush(homes)
    own_cluster.stop("immediate")
    own_cluster.start()
    flush(homes)
    assert len(homes.store("K-1").events()) == 2


def test_a_crash_within_a_transaction_leaves_nothing_of_it(own_cluster: Cluster, homes: PostgresHomes) -> None:
    store = homes.store("K-1")

    def write() -> None:
        with store.transaction():
            store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
            own_cluster.stop("immediate")
            own_cluster.start()
            store.add_event(at=NOW, kind="poured", recorded_at=NOW)

    assert fault_of(write).code == "down"
    assert store.events() == []
    flush(homes)
    assert [event.id for event in store.events()] == [1]


def test_slow_is_said_and_not_waited_for(homes: PostgresHomes, own_cluster: Cluster,
                                         monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(postgres_link, "_SETTINGS", ("set statement_timeout = 300", "set timezone = 'UTC'"))
    homes.close()
    with psycopg.connect(homes._link._address) as other:
        other.execute("update homes set version = version where home = 'K-1'")      # held until the end of the block
        assert fault_of(lambda: flush(homes)).code == "slow"
        assert homes.store("K-1").events() == []                                    # reading goes on
    flush(homes)
    assert len(homes.store("K-1").events()) == 1


def test_a_database_that_hangs_is_let_go(own_cluster: Cluster, homes: PostgresHomes,
                                         monkeypatch: pytest.MonkeyPatch) -> None:
    homes._link._watch._seconds = 1.0
    monkeypatch.setattr(postgres_link, "CONNECT_S", 2)
    flush(homes)
    own_cluster.pause()
    try:
        assert fault_of(lambda: homes.store("K-1").events()).code == "down"
    finally:
        own_cluster.go_on()
    flush(homes)
    assert len(homes.store("K-1").events()) == 2


@pytest.mark.parametrize(("cut", "written"), [("before", False), ("after", True)])
def test_a_line_cut_in_the_commit_is_asked_about(own_cluster: Cluster, cut: str, written: bool) -> None:
    """Written or not, the answer is the true one: neither lost nor told twice."""
    line = Line(own_cluster.port)
    address = own_cluster.new_database().replace(f":{own_cluster.port}/", f":{line.port}/")
    homes = homes_at(f"{address}?sslmode=disable")
    flush(homes)
    line.cut = cut
    if written:
        assert flush(homes) == 2
    else:
        assert fault_of(lambda: flush(homes)).code == "down"
    assert [event.id for event in homes.store("K-1").events()] == ([1, 2] if written else [1])


def test_cut_in_the_commit_and_nobody_tells(own_cluster: Cluster, homes: PostgresHomes,
                                            monkeypatch: pytest.MonkeyPatch) -> None:
    """The database goes down for good in the commit: it is said that this is not known."""
    monkeypatch.setattr(postgres_link, "ASKS_FOR_S", 0.5)
    store = homes.store("K-1")
    try:
        with pytest.raises(HouseholdUnreadable) as caught, store.transaction():
            store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
            own_cluster.stop("immediate")
        assert caught.value.code == "unsure"
        assert "does not say whether" in str(caught.value)
    finally:
        own_cluster.start()
    assert store.events() == []


def test_what_was_acknowledged_survives_crashes(own_cluster: Cluster, homes: PostgresHomes) -> None:
    """A writer goes on while the database crashes again and again; every "written" is there, and there once."""
    told: list[str] = []
    over = threading.Event()

    def write() -> None:
        n = 0
        while not over.is_set():
            n += 1
            with suppress(HouseholdUnreadable):
                flush(homes, f"note {n}")
                told.append(f"note {n}")
        homes.close()

    writer = threading.Thread(target=write)
    writer.start()
    chance = random.Random(7)
    for _ in range(4):
        time.sleep(0.2 + chance.random() / 2)
        own_cluster.stop("immediate")
        own_cluster.start()
    over.set()
    writer.join()
    found = [str(event.note) for event in homes.store("K-1").events()]
    assert len(told) > 20 and set(told) <= set(found) and len(found) == len(set(found))


def test_a_newer_versions_tables_are_left_alone(own_cluster: Cluster) -> None:
    address = own_cluster.new_database()
    homes_at(address)
    with psycopg.connect(address) as raw:
        raw.execute("insert into bagside_changes (name) values ('m999_later')")
    assert fault_of(lambda: open_homes(address).plan("K-1")).code == "newer"


def test_many_begin_on_an_empty_database_at_once(own_cluster: Cluster) -> None:
    address, faults = own_cluster.new_database(), []

    def begin(n: int) -> None:
        try:
            open_homes(address).put_plan(f"K-{n}", PLAN, NOW)
        except Exception as fault:
            faults.append(fault)

    threads = [threading.Thread(target=begin, args=(n,)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    assert len(open_homes(address).find("")) == 6


def test_the_tables_are_partitioned_by_home(own_cluster: Cluster, homes: PostgresHomes) -> None:
    """One home's rows are read from one partition alone, through an index."""
    with psycopg.connect(homes._link._address) as raw:
        for table in ("events", "turns", "requests", "reminders", "desk_book"):
            seen = raw.execute("explain (costs off) select * from " + table + " where home = 'K-1'").fetchall()
            told = "\n".join(row[0] for row in seen)
            assert told.count(f"{table}_") and len({w for w in told.split() if w.startswith(f"{table}_")
                                                    and w[len(table) + 1:len(table) + 3].isdigit()}) <= 2, told
