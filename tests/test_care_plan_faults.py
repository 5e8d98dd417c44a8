"""Every fault of a care plan is found, with its place and what is allowed; a file that is no plan says why."""

from __future__ import annotations

from pathlib import Path

import pytest
from plan_texts import GOOD, SMALLEST, changed, faults_of

from assistant.household import PlanFaults, read_plan

ONE_FAULT = [
    # old, new, key, code, suggestion
    ('route = "jejunostomy"\n', "", "route", "missing", None),
    ('timezone = "Europe/Oslo"\n', "", "timezone", "missing", None),
    ('energy = "1.1 kcal/mL"\n', "", "formula.energy", "missing", None),
    ('"jejunostomy"', '"jejunostomie"', "route", "choice", '"jejunostomy"'),
    ('"Europe/Oslo"', '"Europe/Olso"', "timezone", "zone", '"Europe/Oslo"'),
    ('"Europe/Oslo"', '"Oslo"', "timezone", "zone", '"Europe/Oslo"'),
    ('"Europe/Oslo"', '"CET"', "timezone", "zone", None),
    ('"Europe/Oslo"', '"../../etc/passwd"', "timezone", "zone", None),
    ('units = "metric"', 'unitz = "metric"', "unitz", "unknown_key", "units"),
    ('weight = "31 kg"', 'wieght = "31 kg"', "person.wieght", "unknown_key", "weight"),
    ('units = "metric"', 'nickname = "Lark"', "nickname", "unknown_key", "person.nickname"),
    ('nickname = "Lark"', "nickname = 4", "person.nickname", "not_words", None),
    ('nickname = "Lark"', 'nickname = " "', "person.nickname", "empty", None),
    ('nickname = "Lark"', 'nickname = "La\\u202Erk"', "person.nickname", "hidden_sign", None),
    ('"31 kg"', "31", "person.weight", "bare_number", None),
    ('"31 kg"', "31.5", "person.weight", "bare_number", None),
    ('"31 kg"', '"31"', "person.weight", "no_unit", None),
    ('"31 kg"', '"31 mL"', "person.weight", "wrong_measure", None),
    ('"31 kg"', '"31,5 kg"', "person.weight", "decimal_comma", None),
    ('"31 kg"', '"31 oz"', "person.weight", "two_meanings", None),
    ('"31 kg"', '"31 kgs"', "person.weight", "unknown_unit", '"31 kg"'),
    ('"31 kg"', '"about 31 kg"', "person.weight", "not_an_amount", None),
    ('"31 kg"', '"0 kg"', "person.weight", "not_positive", None),
    ('"31 kg"', '"-31 kg"', "person.weight", "not_positive", None),
    ('"31 kg"', '"3100 kg"', "person.weight", "beyond_possible", None),
    ('"1.1 kcal/mL"', '"11 kcal/mL"', "formula.energy", "beyond_possible", None),
    ('bag = "800 mL"', 'bag = "800 ML"', "equipment.bag", "unknown_unit", '"800 mL"'),
    ('bag = "800 mL"', 'bag = "1,092 mL"', "equipment.bag", "decimal_comma", None),
    ('bag = "800 mL"', 'bag = "27 fl oz"', "equipment.bag", "us_only", None),
    ('"82 %"', '"120 %"', "formula.free_water", "beyond_percent", None),
    ('"82 %"', '"-1 %"', "formula.free_water", "beyond_percent", None),
    ('"82 %"', "0.82", "formula.free_water", "bare_number", None),
    ("issued = 2026-04-01", 'issued = "1 April 2026"', "issued", "date", None),
    ("issued = 2026-04-01", 'issued = "2026-02-30"', "issued", "no_such_day", None),
    ("issued = 2026-04-01", "issued = 2026-04-01T10:00:00", "issued", "date", None),
    ('start = "20:00"', "start = 20:00:00", "feeds.1.start", "clock_unquoted", '"20:00"'),
    ('start = "20:00"', 'start = "8 pm"', "feeds.1.start", "clock", None),
    ('start = "20:00"', 'start = "24:00"', "feeds.1.start", "clock", None),
    ('start = "20:00"', 'start = "8:00"', "feeds.1.start", "clock", None),
    ('name = "snack"', 'name = "Night"', "feeds.2.name", "same_name", None),
    ('volume = "120 mL"\n', "", "feeds.2", "feed_without_volume", None),
    ('rate = "70 mL/h"\nvolume = "700 mL"', 'volume = "700 mL"', None, None, None),
    ('volume = "700 mL"', 'volume = "708 mL"', "feeds.1.volume", "does_not_add_up", None),
    ('lowest_rate = "50 mL/h"', 'lowest_rate = "95 mL/h"', "limits.lowest_rate", "lowest_above_highest", None),
    ('rate = "70 mL/h"\nvolume = "700 mL"', 'rate = "91 mL/h"\nvolume = "910 mL"',
     "feeds.1.rate", "above_highest", None),
    ('rate = "70 mL/h"\nvolume = "700 mL"', 'volume = "910 mL"', "feeds.1.volume", "above_highest", None),
    ('from = 2026-04-09T20:00:00\nrate = "70 mL/h"', 'from = 2026-04-09T20:00:00\nrate = "99 mL/h"',
     "steps.2.rate", "above_highest", None),
    ('lowest_rate = "50 mL/h"', 'lowest_rate = "75 mL/h"', "feeds.1.rate", "below_lowest", None),
    ('"300 mL/h"', '"84 mL/h"', "limits.catch_up.highest_rate", "above_kit", None),
    ('"85 mL/h"', '"91 mL/h"', "limits.catch_up.highest_rate", "above_highest", None),
    ("review_by = 2026-10-01", "review_by = 2026-03-31", "review_by", "review_before_issue", None),
    ("placed = 2026-01-15", "placed = 2014-01-15", "tube.placed", "placed_before_born", None),
    ("2026-04-09T20", "2026-04-02T20", "steps.2.from", "steps_out_of_order", None),
    ("2026-04-02T20:00:00", "2026-03-29T02:30:00", "steps.1.from", "no_such_time", "2026-03-29T03:30:00"),
    ("2026-04-09T20:00:00", "2026-10-25T02:30:00", "steps.2.from", "time_twice", None),
    ("2026-04-09T20:00:00", '"soon"', "steps.2.from", "moment", None),
    ("2026-04-09T20:00:00", "2026-04-09", "steps.2.from", "moment", None),
    ('form = "powder"', 'form = "closed_bag"', "formula.recipe", "recipe_without_powder", None),
    ('makes = "240 mL"', 'makes = "190 mL"', "formula.recipe.makes", "makes_less_than_water", None),
    ('scoop = "10 g"', 'scoop = "60 g"', "formula.recipe.scoop", "scoop_above_powder", None),
    ('priming_volume = "20 mL"', 'priming_volume = "800 mL"', "equipment.priming_volume", "priming_above_bag", None),
    ('bag = "800 mL"', 'pump_accuracy = "100 %"', "equipment.pump_accuracy", "accuracy_of_all", None),
    ('bag = "800 mL"', 'battery = {lasts = "9 h"}', "equipment.battery.at", "missing", None),
    ('bag = "800 mL"', 'battery = "9 h"', "equipment.battery", "a_table", None),
]


@pytest.mark.parametrize(("old", "new", "key", "code", "suggestion"), ONE_FAULT, ids=lambda part: str(part)[:30])
def test_one_fault_is_found_and_is_the_only_one(old: str, new: str, key: str | None, code: str | None,
                                                 suggestion: str | None) -> None:
    text = changed(old, new)
    if key is None:                 # a control: volume and time without a rate are enough for a pump feed
        assert read_plan(text).feeds[0].rate is None
        return
    found = faults_of(text)
    assert [(fault.key, fault.code, fault.suggestion) for fault in found] == [(key, code, suggestion)]
    assert "\n" not in found[0].line() and key in found[0].line()


@pytest.mark.parametrize(("old", "new", "key", "code"), [
    ('rate = "70 mL/h"', 'volume = "700 mL"', "feeds.1", "pump_feed_without_rate"),
    ('method = "pump"\n', "", "feeds.1.method", "missing"),
    ("[[feeds]]", "[feeds]", "feeds", "list_of_tables"),
    ('[[feeds]]\nmethod = "pump"\nrate = "70 mL/h"\n', "", "feeds", "missing_feed"),
    ('route = "gastrostomy"', 'route = "gastrostomy"\nperson = "Lark"', "person", "a_table"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[contacts]\nemergency = 112', "contacts.emergency", "phone_unquoted"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[contacts]\nsupplier = "ask Jo"', "contacts.supplier", "phone"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[equipment]\npump_highest_rate = "60 mL/h"', "feeds.1.rate", "above_kit"),
    ('timezone', 'issued = 2026-04-01\nperson.born = 2026-04-02\ntimezone', "person.born", "born_after_issue"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[supplies]\nbags = "12"', "supplies.bags", "count"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[supplies]\nbags = -1', "supplies.bags", "count"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[supplies]\nbags = true', "supplies.bags", "count"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[limits]\nfamily_may_change_rate = "yes"',
     "limits.family_may_change_rate", "yes_no"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[person]\nnotes = "insulin"', "person.notes", "choices"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[person]\nnotes = ["insulim"]', "person.notes", "choice"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[flushes]\nwhen = "every 4 h"', "flushes.when", "flush_times"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[flushes]\nwhen = ["every 4 h", "every 6 h"]',
     "flushes.when", "two_intervals"),
    ('rate = "70 mL/h"', 'rate = "70 mL/h"\n[flushes]\nwhen = ["every 4"]', "flushes.when", "no_unit"),
    ('rate = "70 mL/h"', f'rate = "70 mL/h"\n[tube]\nkind = "{"x" * 300}"', "tube.kind", "too_long"),
])
def test_one_fault_in_the_smallest_plan(old: str, new: str, key: str, code: str) -> None:
    assert [(fault.key, fault.code) for fault in faults_of(SMALLEST.replace(old, new))] == [(key, code)]


def test_many_faults_come_at_once() -> None:
    text = (GOOD.replace('"jejunostomy"', '"stomach"').replace('"31 kg"', "31").replace('"82 %"', '"182 %"')
            .replace('start = "20:00"', 'start = "late"').replace("[limits]", '[limits]\nhang = "4 h"')
            .replace("2026-10-01", "2026-01-01").replace('name = "snack"', 'name = "night"'))
    assert {fault.key for fault in faults_of(text)} == {
        "route", "person.weight", "formula.free_water", "feeds.1.start", "limits.hang", "review_by", "feeds.2.name"}


@pytest.mark.parametrize(("data", "code", "says"), [
    (b'route = "gastrostomy"\nunits = \nissued = 2026-01-01\n', "not_toml", "line 2"),
    (b'route = "gastrostomy"\nroute = "gastrostomy"\n', "not_toml", "line 2"),
    (b'route = "gastrostomy\n', "not_toml", "line 1"),
    (b'route = "gastrostomy"\nunits = "m\xe9tric"\n', "not_utf8", "line 2"),
    ("route = 'gastrostomy'\n".encode("utf-16"), "nul", "NUL"),
    (b'route = "x"\0\n', "nul", "NUL"),
    (b"x = " + b"[" * 5000 + b"\n", "not_a_plan", "nested"),
    (b"x = " + b"9" * 5000 + b"\n", "not_a_plan", "numbered"),
    (b"#" * 300_000, "too_large", "too large"),
])
def test_a_file_that_is_no_plan_says_why(tmp_path: Path, data: bytes, code: str, says: str) -> None:
    file = tmp_path / "plan.toml"
    file.write_bytes(data)
    with pytest.raises(PlanFaults) as caught:
        read_plan(file)
    assert [fault.code for fault in caught.value.faults] == [code]
    assert says in caught.value.lines()[0] and str(file) in caught.value.lines()[0]


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path: Path) -> None:
    file = tmp_path / "plan.toml"
    file.write_bytes(b"\xef\xbb\xbf" + SMALLEST.replace("\n", "\r\n").encode())
    assert read_plan(file).route == "gastrostomy"


def test_a_folder_and_a_missing_file_are_faults(tmp_path: Path) -> None:
    (tmp_path / "plan_of_lark.toml").write_text(SMALLEST)
    for path, code in ((tmp_path, "a_folder"), (tmp_path / "plan_of_lrk.toml", "no_file")):
        with pytest.raises(PlanFaults) as caught:
            read_plan(str(path))
        assert caught.value.faults[0].code == code
    assert caught.value.faults[0].suggestion == str(tmp_path / "plan_of_lark.toml")
