"""`bagside export --calendar`: read back by a parser that did not write it (vobject), and by RFC 5545's own rules.

Halifax changes its clocks on 1 November 2026 (back, 02:00 to 01:00) and 14 March 2027 (forward, 02:00 to 03:00): IANA
time zone database. Expected times are worked out by hand.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO

from assistant.cli import main
from assistant.household.home import Home, open_home, use_plan

pytest.importorskip("icalendar", reason="the extra [calendar] is not installed")
vobject = pytest.importorskip("vobject", reason="vobject, the second parser, is not installed")
Capture = pytest.CaptureFixture[str]
PLAN = """
route = "gastrostomy"
timezone = "America/Halifax"
issued = 2026-10-01
{more}
[formula]
name = "standard"
energy = "1 kcal/mL"
container = "250 mL"
form = "closed_bag"
[[feeds]]
name = "{name}"
method = "pump"
start = "{start}"
rate = "60 mL/h"
over = "9 h"
[flushes]
volume = "30 mL"
when = ["before_feed", "after_feed", "every 3 h"]
[supplies]
containers = 100
counted = 2026-10-30
reorder_lead = "7 days"
"""


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return open_home(tmp_path / "home")


def export(home: Home, now: str, *more: str, start: str = "20:00", name: str = "night", plan_more: str = "") -> bytes:
    plan = home.folder.parent / "plan.toml"
    plan.write_text(PLAN.format(start=start, name=name, more=plan_more), encoding="utf-8")
    use_plan(home, plan)
    file = home.folder.parent / "feeds.ics"
    assert main(["export", "--calendar", str(file), "--home", str(home.folder), "--now", now, *more]) == 0
    return file.read_bytes()


def events(data: bytes) -> list[tuple[str, datetime, datetime | None]]:
    """Title, start and end in UTC of every timed entry, by the second parser."""
    found = []
    for event in vobject.readOne(data.decode()).vevent_list:
        if isinstance(event.dtstart.value, datetime):
            ends = event.dtend.value.astimezone(UTC) if hasattr(event, "dtend") else None
            found.append((event.summary.value, event.dtstart.value.astimezone(UTC), ends))
    return found


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def test_a_plain_day(home: Home) -> None:
    """20:00 to 05:00 in winter (UTC-4), a flush of 30 mL before, each 3 h (23:00, 02:00), and after."""
    found = events(export(home, "2026-11-20T12:00", "--days", "1"))
    assert found == [
        ("Flush 30 mL before night", utc("2026-11-21T00:00"), None),
        ("Start night: 540 mL", utc("2026-11-21T00:00"), utc("2026-11-21T09:00")),
        ("Flush 30 mL during night", utc("2026-11-21T03:00"), None),
        ("Flush 30 mL during night", utc("2026-11-21T06:00"), None),
        ("Flush 30 mL after night", utc("2026-11-21T09:00"), None),
    ]


@pytest.mark.parametrize(("now", "offset", "clock_of_end"), [
    ("2026-10-31T12:00", -3, "04:00"),      # back: nine real hours after 20:00 ADT is 04:00 AST
    ("2027-03-13T12:00", -4, "06:00"),      # forward: nine real hours after 20:00 AST is 06:00 ADT
])
def test_nine_hours_stay_nine_hours_when_the_clocks_change(home: Home, now: str, offset: int,
                                                           clock_of_end: str) -> None:
    found = events(export(home, now, "--days", "1"))
    title, start, ends = found[1]
    assert title.startswith("Start") and ends is not None and ends - start == timedelta(hours=9)
    assert start == utc(f"{now[:10]}T20:00") - timedelta(hours=offset)
    assert [at - start for title, at, _ in found if "during" in title] == [timedelta(hours=3), timedelta(hours=6)]
    after = utc("2026-11-01T08:00") if offset == -3 else utc("2027-03-14T09:00")    # 04:00 AST, 06:00 ADT
    assert ends == after and clock_of_end in ("04:00", "06:00")


def test_the_second_of_two_equal_times_is_written_in_utc(home: Home) -> None:
    """Started at 19:30 ADT (22:30 UTC): six hours on is 04:30 UTC, 01:30 ADT; from 22:30 each 3 h lies at 01:30 and
    04:30 UTC. With a start at 20:30 ADT (23:30 UTC) the flush at 05:30 UTC is 01:30 AST, the second 01:30."""
    data = export(home, "2026-10-31T12:00", "--days", "1", start="20:30")
    assert b"DTSTART:20261101T053000Z" in data
    assert utc("2026-11-01T05:30") in [at for title, at, _ in events(data) if "during" in title]
    first = export(home, "2026-10-31T12:00", "--days", "1", start="19:30")
    assert b"DTSTART;TZID=America/Halifax:20261101T013000" in first
    assert utc("2026-11-01T04:30") in [at for title, at, _ in events(first) if "during" in title]


def test_a_time_that_the_clocks_skip_is_the_time_on_the_clock(home: Home) -> None:
    """02:30 on 14 March 2027 does not exist: 02:30 by the clock before (UTC-4) is 06:30 UTC, which reads 03:30."""
    data = export(home, "2027-03-13T20:00", "--days", "1", start="02:30")
    assert b"T023000" not in data and b"DTSTART;TZID=America/Halifax:20270314T033000" in data
    assert utc("2027-03-14T06:30") in [at for _, at, _ in events(data)]


def test_the_zone_rules_are_in_the_file(home: Home) -> None:
    """A calendar without a zone database of its own finds both offsets (RFC 5545, 3.6.5)."""
    zone = vobject.readOne(export(home, "2026-10-31T12:00").decode()).vtimezone
    found = {(part.name, part.tzoffsetto.value) for part in zone.components()}
    assert ("STANDARD", "-0400") in found and ("DAYLIGHT", "-0300") in found
    assert zone.tzid.value == "America/Halifax"


def lines_of(data: bytes) -> list[bytes]:
    assert data.endswith(b"\r\n") and b"\n" not in data.replace(b"\r\n", b"")
    return data.split(b"\r\n")


def test_lines_are_folded_and_text_is_escaped(home: Home) -> None:
    """RFC 5545, 3.1 (75 octets a line, CRLF) and 3.3.11 (comma, semicolon and backslash escaped)."""
    name = "Nacht; Größe „groß“, der lange Name einer Mahlzeit 漢字 " + "é" * 60
    data = export(home, "2026-11-20T12:00", name=name)
    assert max(map(len, lines_of(data))) <= 75
    for line in lines_of(data):
        line.decode("utf-8")                    # no sign is cut in two
    assert b"Nacht\\; Gr" in data and b"\\, der" in data.replace(b"\r\n ", b"")
    assert any(name in title for title, _, _ in events(data))


def test_every_entry_has_an_alarm_and_an_id_of_its_own(home: Home) -> None:
    """Alarms: fifteen minutes before a feed and at its end, at the moment of everything else (RFC 5545, 3.6.6)."""
    def ids(data: bytes) -> list[str]:
        return [event.uid.value for event in vobject.readOne(data.decode()).vevent_list]

    data = export(home, "2026-11-20T12:00")
    found = vobject.readOne(data.decode()).vevent_list
    for event in found:
        starts = [alarm.trigger.value for alarm in event.valarm_list]
        assert all(alarm.action.value == "DISPLAY" and alarm.description.value for alarm in event.valarm_list)
        if event.summary.value.startswith("Start"):
            assert starts == [timedelta(minutes=-15), timedelta(0)]
            assert event.valarm_list[1].trigger.params["RELATED"] == ["END"]
        elif not event.summary.value.startswith("Order"):
            assert starts == [timedelta(0)]
    assert len(set(ids(data))) == len(ids(data)) == len(found)
    assert ids(export(home, "2026-11-20T12:00")) == ids(data)


def whole_days(data: bytes) -> list[Any]:
    return [event.dtstart.value for event in vobject.readOne(data.decode()).vevent_list
            if not isinstance(event.dtstart.value, datetime)]


def test_the_day_to_order(home: Home) -> None:
    """540 mL a day from closed bags of 250 mL opens 3 a day: 100 last 33 days from 30 October, to 2 December; less
    seven days is 25 November. Past that day it stands on today; beyond the calendar's end it is not in it."""
    assert whole_days(export(home, "2026-11-20T12:00")) == [date(2026, 11, 25)]
    assert whole_days(export(home, "2026-11-27T12:00")) == [date(2026, 11, 27)]
    assert whole_days(export(home, "2026-11-20T12:00", "--days", "2")) == []


def test_the_set_is_changed_a_day_after_the_last_change(home: Home) -> None:
    """At least every 24 h (knowledge/figures/hang_time.toml, with its source)."""
    export(home, "2026-11-20T12:00")
    at = utc("2026-11-20T15:00")
    home.store().add_event(at=at, kind="set_changed", recorded_at=at)
    found = events(export(home, "2026-11-20T12:00", "--days", "3"))
    assert [start for title, start, _ in found if "set" in title] == [at + timedelta(days=n) for n in (1, 2, 3)]


def test_a_rate_that_is_being_stepped_has_no_end(tmp_path: Path, home: Home, capsys: Capture) -> None:
    """Until 17 November the demo's child runs slower than 72 mL/h, so its nine hours are not the plan's."""
    use_plan(home, DEMO / "child_overnight_pump.toml")
    for now, stepped in (("2026-11-05T12:00", True), ("2026-11-20T12:00", False)):
        file = tmp_path / "c.ics"
        assert main(["export", "--calendar", str(file), "--home", str(home.folder), "--now", now, "--days", "2"]) == 0
        night = [ends for title, _, ends in events(file.read_bytes()) if title.startswith("Start overnight")]
        assert len(night) == 2 and all((ends is None) == stepped for ends in night)
        assert ("being stepped: overnight" in capsys.readouterr().out) == stepped


def test_the_calendar_ends_with_the_day_of_review(home: Home, capsys: Capture) -> None:
    data = export(home, "2026-11-20T12:00", plan_more="review_by = 2026-11-22")
    assert max(start for _, start, _ in events(data)) == utc("2026-11-23T03:00")     # 23:00 on the 22nd
    assert "ends on 2026-11-22" in capsys.readouterr().out
    export(home, "2026-11-24T12:00", plan_more="review_by = 2026-11-22")
    assert "was to be reviewed by 2026-11-22" in capsys.readouterr().out


@pytest.mark.parametrize("more", [["--days", "0"], ["--days", "61"]])
def test_wrong_usage_gives_two(home: Home, more: list[str], tmp_path: Path, capsys: Capture) -> None:
    export(home, "2026-11-20T12:00")
    out = tmp_path / "no.ics"
    assert main(["export", "--calendar", str(out), "--home", str(home.folder), *more]) == 2 and not out.exists()
    assert capsys.readouterr().err.count("\n") == 1


def test_without_a_plan_or_without_times_it_says_so(tmp_path: Path, capsys: Capture) -> None:
    empty, out = open_home(tmp_path / "empty"), tmp_path / "no.ics"
    assert main(["export", "--calendar", str(out), "--home", str(empty.folder)]) == 2 and not out.exists()
    assert "no care plan" in capsys.readouterr().err
    plan = tmp_path / "p.toml"
    plan.write_text(PLAN.format(start="20:00", name="n", more="").replace('start = "20:00"\n', ""))
    use_plan(empty, plan)
    assert main(["export", "--calendar", str(out), "--home", str(empty.folder)]) == 2 and not out.exists()
    assert "no times of day" in capsys.readouterr().err


def test_nobody_is_named(home: Home) -> None:
    use_plan(home, DEMO / "child_overnight_pump.toml")
    file = home.folder.parent / "c.ics"
    assert main(["export", "--calendar", str(file), "--home", str(home.folder), "--now", "2026-11-20T12:00"]) == 0
    assert b"Juniper" not in file.read_bytes() and str(home.folder).encode() not in file.read_bytes()
