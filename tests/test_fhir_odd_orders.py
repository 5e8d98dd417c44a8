"""`bagside plan import`: what is no plain order, is spoilt at random, or hostile, is refused in words."""

from __future__ import annotations

import copy
import random
from pathlib import Path
from typing import Any

import pytest
from fhir_orders import EXAMPLES, RELEASES, REPEAT, A, Capture, F, Import, changed, example

from assistant.channels.plan_commands import main
from assistant.household import read_plan


@pytest.mark.parametrize(("path", "to", "says"), [
    (("resourceType",), "Patient", "kind Patient"),
    (("resourceType",), None, "kind -"),
    (("status",), "draft", "status of the order is draft"),
    (("status",), "entered-in-error", "entered-in-error"),
    (("intent",), "proposal", "intent is proposal"),
    (("modifierExtension",), [{"url": "http://example.org/not", "valueBoolean": True}], "change the sense"),
    (("implicitRules",), "http://example.org/rules", "change the sense"),
    ((F,), None, "no feed by tube"),
    ((F, "administration"), None, "how much or how fast"),
    (("subject",), {"reference": "Patient/2"}, "mixes fields"),
    ((*A, "quantity", "comparator"), "<", "comparison"),
    ((*A, "quantity", "value"), 0, "not more than zero"),
    ((*A, "quantity", "value"), -240, "not more than zero"),
    ((*A, "quantity", "value"), "240", "not written as FHIR"),
    ((*A, "quantity", "value"), True, "not written as FHIR"),
    ((*A, "quantity", "value"), 1e300, "number beyond"),
    ((*A, "quantity", "code"), "g", "not known here"),
    ((*A, "quantity"), None, "one amount or one rate"),
    ((*REPEAT, "dayOfWeek"), ["mon"], "cannot hold"),
    ((*REPEAT, "boundsPeriod", "end"), "2014-09-20", "cannot hold"),
    ((*REPEAT, "period"), 5, "other times each day"),
    ((*REPEAT, "periodUnit"), "wk", "times of a day"),
    ((*REPEAT, "boundsPeriod", "start"), "2014-13-01T00:00:00Z", "not written as FHIR"),
    ((F, "maxVolumeToDeliver", "value"), 1439, "1440 mL a day"),
    ((F, "caloricDensity", "value"), 15, "no feed can hold"),
    ((F, "administrationInstruction"), "x" * 3000, "too long"),
    ((F, "administration"), {}, "not written as FHIR"),
])
def test_what_is_no_plain_order_is_one_clear_line(path: tuple[Any, ...], to: Any, says: str, imported: Import) -> None:
    order = changed(example("r4", "enteralbolus"), *path, to=to)
    assert imported(order, "America/Chicago", "1", "1", "1", "3", "1", "1") == 2
    last = imported.out.splitlines()[-1]
    assert says in last and "Nothing was written" in last and not imported.plan.exists()


ODD = [None, True, 0, -1, 1, 1000, "", "x", "2014-09-17", "active", "mL", [], {}, [1], {"value": 1}, [{}], "\x1b[2J"]


@pytest.mark.parametrize("seed", range(120))
def test_a_spoilt_order_is_refused_or_asked_about_in_words(seed: int, imported: Import) -> None:
    """Three entries at random taken away, doubled or put out of shape: an exit code and words, nothing half written."""
    chance = random.Random(seed)
    name = chance.choice(["enteralbolus", "enteralcontinuous", "infantenteral"])
    order = example(chance.choice(RELEASES), name)
    for _ in range(3):
        place: Any = order
        for _ in range(chance.randrange(1, 8)):
            inner = [value for value in (place.values() if isinstance(place, dict) else place)
                     if isinstance(value, (dict, list)) and value]
            if not inner:
                break
            place = chance.choice(inner)
        key = chance.choice(list(place) if isinstance(place, dict) else range(len(place)))
        place[key] = copy.deepcopy(chance.choice(ODD))
    code = imported(order, "America/Chicago", *(chance.choice("12345") for _ in range(20)), "08:00", "30 min", "1", "1")
    assert code in (0, 2) and imported.out.strip() and "\x1b" not in imported.out
    assert imported.plan.exists() == (code == 0)
    if code == 0:
        read_plan(imported.plan)


@pytest.mark.parametrize(("data", "says"), [
    (b"", "JSON"), (b"{", "JSON"), (b"[]", "no FHIR resource"), (b"null", "no FHIR resource"),
    (b"[" * 100_000, "nested deeper"), (b'{"a":' * 60 + b"1" + b"}" * 60, "nested deeper"),
    (b'{"resourceType":"NutritionOrder","a":' + b'{"a":' * 60 + b"1" + b"}" * 61, "nested deeper"),
    (b'{"status":"active","status":"revoked"}', "stands in it twice"),
    (b'{"a":NaN}', "number beyond"), (b'{"a":1e999999999}', "number beyond"), (b'{"a":' + b"9" * 5000 + b"}",
                                                                              "number beyond"),
    ('{"resourceType":"NutritionOrder"}'.encode("utf-16"), "UTF-8"), (b"\xff\xfe\x00", "UTF-8"),
    (b'{"resourceType":"NutritionOrder","x":[' + b"1," * 5000 + b"1]}", "more entries"),
    (b'{"resourceType":"\\u001b[2J\\ud800"}', "kind ?[2J?"),
])
def test_a_hostile_file_is_one_clear_line(data: bytes, says: str, imported: Import) -> None:
    assert imported(data) == 2
    assert says in imported.out and imported.out.count("\n") == 1 and "\x1b" not in imported.out
    assert sorted(path.name for path in imported.folder.iterdir()) == ["order.json"]


def test_a_file_of_fifty_megabytes_is_not_read(tmp_path: Path, capsys: Capture) -> None:
    big = tmp_path / "big.json"
    with big.open("wb") as out:
        out.truncate(50_000_000)
    assert main(["import", str(big), str(tmp_path / "plan.toml")]) == 2
    assert "too large" in capsys.readouterr().out and not (tmp_path / "plan.toml").exists()


def test_a_missing_file_a_folder_and_a_place_that_is_none(tmp_path: Path, capsys: Capture) -> None:
    order = str(EXAMPLES / "r5" / "enteralbolus.json")
    for argv in (["none.json"], [str(tmp_path)], [order, str(tmp_path)], [order, str(tmp_path / "no" / "plan.toml")]):
        assert main(["import", *argv]) == 2
        assert len(capsys.readouterr().out.splitlines()) == 1
