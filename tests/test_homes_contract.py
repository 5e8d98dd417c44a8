"""What every service of homes promises, held against each: plans, the desk's lists, and the desk's book."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO

from assistant.homes.homes import DESK, Entry, Homes, good_code, open_homes
from assistant.household.plan_faults import PlanFaults
from assistant.household.unreadable import HouseholdUnreadable

NOW = datetime(2026, 11, 25, 21, 4, tzinfo=UTC)
CHILD, ADULT = ((DEMO / f"{name}.toml").read_bytes() for name in ("child_overnight_pump", "adult_syringe"))


@pytest.fixture(params=["sqlite", "postgresql"])
def homes(request: Any, tmp_path: Path) -> Iterator[Homes]:
    where = str(tmp_path) if request.param == "sqlite" else request.getfixturevalue("cluster").new_database()
    made = open_homes(where)
    yield made
    made.close()


def refused(code: str) -> Any:
    return pytest.raises(HouseholdUnreadable, match="no home with the code") if code == "no_home" else None


def test_a_plan_is_taken_into_use_and_replaced(homes: Homes) -> None:
    homes.put_plan("k-17", CHILD, NOW)
    assert homes.plan("K-17").person.nickname == "Juniper"
    homes.put_plan("K-17", ADULT, NOW + timedelta(hours=1))
    homes.put_plan("K-17", ADULT, NOW + timedelta(hours=1))         # the same again: nothing to do
    assert homes.plan("k-17").route == "gastrostomy" and homes.plan("K-17").person.nickname == "Wren"
    assert [one.nickname for one in homes.find("")] == ["Wren"]


def test_a_bad_plan_changes_nothing(homes: Homes) -> None:
    with pytest.raises(PlanFaults):
        homes.put_plan("K-1", b'route = "gastrostomy"\n', NOW)
    assert homes.find("") == []
    homes.put_plan("K-1", CHILD, NOW)
    with pytest.raises(PlanFaults):
        homes.put_plan("K-1", b"\xff\xfe", NOW)
    assert homes.plan("K-1").person.nickname == "Juniper"


def test_homes_are_found_by_code_and_by_nickname(homes: Homes) -> None:
    for n in range(12):
        homes.put_plan(f"K-{n:02}", ADULT if n % 2 else CHILD, NOW)
    assert [one.code for one in homes.find("k-0")] == [f"K-{n:02}" for n in range(10)]
    assert {one.nickname for one in homes.find("JUN")} == {"Juniper"} and len(homes.find("jun")) == 6
    assert [one.code for one in homes.find("", most=3)] == ["K-00", "K-01", "K-02"]
    for odd in ("%", "_", "\\", "'", "K-0_", "\0%", "../", "*", "K-99"):
        assert homes.find(odd) == [] or odd == "\0%", odd


@pytest.mark.parametrize("code", ["", "../K-1", "K 1", "DESK", "desk", "K-1/..", "Ä", "K" * 33, "-1", "K-1\n\0", "K.1"])
def test_what_is_no_code_is_nobodys(homes: Homes, code: str) -> None:
    homes.put_plan("K-1", CHILD, NOW)
    for use in (homes.plan, homes.store, good_code, lambda c: homes.put_plan(c, CHILD, NOW)):
        with pytest.raises(HouseholdUnreadable) as caught:
            use(code)
        assert caught.value.code == "no_home"
    assert [one.code for one in homes.find("")] == ["K-1"]


def test_nobodys_home_has_no_plan_no_log_and_no_notes(homes: Homes) -> None:
    with refused("no_home"):
        homes.plan("K-9")
    with refused("no_home"):
        homes.store("K-9").add_event(at=NOW, kind="flushed", recorded_at=NOW)
    with refused("no_home"):
        homes.write(Entry("K-9", 0, NOW, "ann", "note"))
    homes.put_plan("K-9", CHILD, NOW)
    assert homes.store("K-9").events() == [] and homes.entries("K-9") == []


def test_the_book_is_kept_by_home_newest_first(homes: Homes) -> None:
    for code in ("K-1", "K-2"):
        homes.put_plan(code, CHILD, NOW)
    words = "first 'line'\n<b>second</b> ü"
    homes.write(Entry("K-1", 0, NOW, "ann", "opened"))
    homes.write(Entry("K-1", 0, NOW, "ann", "note", text=words))
    homes.write(Entry("K-2", 0, NOW, "bo", "note", text="other"))
    homes.write(Entry(DESK, 0, NOW, "ann", "signed_in"))
    assert [(e.by, e.kind, e.text, e.at) for e in homes.entries("K-1")] == [
        ("ann", "note", words, NOW), ("ann", "opened", "", NOW)]
    assert [e.text for e in homes.entries("K-2", ("note",))] == ["other"]
    assert [e.kind for e in homes.entries("K-1", ("opened", "x"))] == ["opened"]
    assert len(homes.entries("K-1", most=1)) == 1 and [e.kind for e in homes.entries(DESK)] == ["signed_in"]


def test_calls_to_make_by_urgency_then_time_and_made_once(homes: Homes) -> None:
    homes.put_plan("K-1", CHILD, NOW)
    homes.put_plan("K-2", ADULT, NOW)
    order = [("K-2", "emergency", 60), ("K-1", "urgent", 10), ("K-2", "urgent", 30), ("K-1", "routine", 0)]
    for home, level, minutes in (order[2], order[3], order[0], order[1]):
        homes.write(Entry(home, 0, NOW, "ann", "call_back", level, "ring", NOW + timedelta(minutes=minutes)))
    found = homes.open_call_backs()
    assert [(e.home, e.level, (e.due or NOW) - NOW) for e in found] == [
        (home, level, timedelta(minutes=minutes)) for home, level, minutes in order]
    first = found[0]
    assert not homes.close_call_back("K-1", first.id, NOW, "bo")             # another home's number
    assert homes.close_call_back(first.home, first.id, NOW, "bo")
    assert not homes.close_call_back(first.home, first.id, NOW, "cy")        # bo was first
    assert len(homes.open_call_backs()) == 3 and len(homes.open_call_backs(2)) == 2
    done = next(e for e in homes.entries("K-2") if e.id == first.id)
    assert (done.done_by, done.done_at) == ("bo", NOW)


def test_a_plan_is_put_in_use_by_the_command(request: Any, tmp_path: Path, homes: Homes,
                                                      capsys: pytest.CaptureFixture[str]) -> None:
    """The command puts a plan in use for a home; what is none, too large or a bomb changes nothing."""
    from fhir_orders import EXAMPLES

    from assistant.channels.desk.command import main

    where = ["--homes", homes._link._address if hasattr(homes, "_link") else str(tmp_path)]
    good, bad, big, bomb = (tmp_path / f"{name}.toml" for name in ("good", "bad", "big", "bomb"))
    good.write_bytes(CHILD)
    assert main(["plan", "k-3", str(good), *where]) == 0 and "K-3" in capsys.readouterr().out
    bad.write_bytes(CHILD.replace(b"gastrostomy", b"teapot"))
    with big.open("wb") as out:
        out.truncate(50_000_000)
    bomb.write_text("a = " + "[" * 100_000)
    order = str(EXAMPLES / "r5" / "enteralbolus.json")                      # an order itself is no plan
    for file in (str(bad), str(big), str(bomb), order, str(tmp_path / "none.toml"), str(tmp_path)):
        assert main(["plan", "K-3", file, *where]) in (2, 3), file
        assert main(["plan", "K-4", file, *where]) in (2, 3), file
        told = capsys.readouterr()
        assert told.out == "" and "Traceback" not in told.err and told.err.strip()
    assert main(["plan", "../K-5", str(good), *where]) == 3
    assert homes.plan("K-3").person.nickname == "Juniper" and [one.code for one in homes.find("")] == ["K-3"]
    good.write_bytes(ADULT)
    assert main(["plan", "K-3", str(good), *where]) == 0
    assert homes.plan("K-3").person.nickname == "Wren"
