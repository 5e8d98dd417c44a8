"""Whatever is typed: one clear message or a question back. Never a traceback, never a number from nonsense."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from conftest import DEMO
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.household.care_plan import CarePlan, read_plan
from assistant.session import Session
from knowledge.library import table

FAULT = str(table("sentences_en")["fault"])[:20]
PLANS = (None, "child_overnight_pump", "infant_powder", "adult_syringe", "adult_jejunal_cycle")
NOW = datetime(2026, 11, 25, 22, 0, tzinfo=ZoneInfo("America/Halifax"))


@cache
def plan(name: str | None) -> CarePlan | None:
    return read_plan(DEMO / f"{name}.toml") if name else None


def say(text: str, name: str | None = "child_overnight_pump") -> dict[str, Any]:
    """One message to a fresh session; the fixed sentence for a fault of ours is never the answer."""
    record = Session(plan(name)).say(text, NOW)
    assert FAULT not in record["text"], text[:200]
    json.dumps(record)
    return record


NONSENSE = {
    "empty": "",
    "spaces": " \t \n ",
    "one NUL": "\x00",
    "NULs in words": "a\x00b\x00c",
    "a bell": "\x07\x08\x1b[31m",
    "a lone surrogate": "\ud800",
    "surrogates in words": "hel\udcfflo \udfffworld",
    "right to left": "\u202egniht\u202c",
    "joiners": "\u200d\u200b\ufeff",
    "emoji": "🍼🍼🍼 👶🏽",
    "a table dropped": '"; DROP TABLE events; --',
    "markup": "<script>alert(1)</script>",
    "a template": "{rate} {0} {__class__} %s %(x)s",
    "a path": "../../../../etc/passwd",
    "a regular expression": "(((((((((a+)+)+)+)+)+)+)+)+$",
    "punctuation": "?!?!... ,,, ;;; ---",
    "a keyboard": "asdkjh qwlekjh zxmcnb",
    "Spanish": "¿Cuánto tiempo dura la bolsa de la niña?",
    "French": "combien de temps dure la poche de ma fille",
    "German": "wie lange reicht der Beutel bei meiner Tochter noch",
    "Arabic": "كم تدوم الحقيبة",
    "Chinese": "这个袋子能用多久",
    "Russian": "на сколько хватит пакета",
    "ten thousand letters": "a" * 10_000,
    "ten thousand spaces": " " * 10_000,
    "ten thousand question marks": "?" * 10_000,
    "long noise": "blah " * 2_000,
}


@pytest.mark.parametrize("text", NONSENSE.values(), ids=NONSENSE.keys())
@pytest.mark.parametrize("name", PLANS)
def test_nonsense_gives_no_number(text: str, name: str | None) -> None:
    record = say(text, name)
    if "\udcff" in text and record["outcome"] == "answered":
        pytest.xfail("words broken by surrogates are repaired into a danger sign")
    assert record["outcome"] in ("asked_back", "declined"), record["text"][:200]
    assert not record["figures"] and not record.get("also")


@pytest.mark.parametrize("text", ["Spanish", "French", "German", "Arabic", "Chinese", "Russian"])
def test_another_language_is_told_whom_to_call(text: str) -> None:
    assert "902-555-0117" in say(NONSENSE[text])["text"]


LONG = {
    "digits": "7" * 10_000,
    "numbers": "12 " * 3_333,
    "the same ask": "how long will 360 mL last at 72 mL/h? " * 263,
    "times": "at 9:15 pm " * 909,
    "number words": "twenty five " * 833,
    "one danger far in": "we went to the shops and then " * 300 + "she is not breathing",
}


@pytest.mark.parametrize("text", LONG.values(), ids=LONG.keys())
def test_ten_thousand_characters_are_read_to_the_end_or_asked_about(text: str) -> None:
    record = say(text)
    if "breathing" in text:
        assert record["level"] == "emergency"
    else:
        assert not record["figures"]


@pytest.mark.parametrize(
    "text",
    [
        "how long will 360\u200b mL last at\u00a072 mL/h?",
        "\u202ahow long will 360 mL last at 72 mL/h?\u202c",
        "🍼 how long will 360 mL last at 72 mL/h? 🙏",
        "HOW LONG WILL 360 ML LAST AT 72 ML/H???",
        "how long will ３６０ mL last at ７２ mL/h?",
        "how long will ٣٦٠ mL last at ٧٢ mL/h?",
    ],
)
def test_marks_and_other_digits_do_not_change_the_number(text: str) -> None:
    record = say(text)
    assert record["figures"]["duration"]["value"] == 5          # 360 / 72


@pytest.mark.parametrize(
    "text",
    [
        "how long will 360 mL last at 0 mL/h?",
        "how long will 0 mL last at 72 mL/h?",
        "how long will -360 mL last at 72 mL/h?",
        "how long will 360 mL last at 72 bananas?",
        "how long will 99999999999999999999 mL last at 72 mL/h?",
        "how long will 1e400 mL last at 72 mL/h?",
        "how long will 3.6.0 mL last at 72 mL/h?",
        "how long will 360 kg last at 72 mL/h?",
        "how long will it last at?",
    ],
)
def test_an_impossible_or_unreadable_number_is_asked_about(text: str) -> None:
    record = say(text)
    assert "duration" not in record["figures"] and record["outcome"] in ("asked_back", "declined")


@pytest.mark.parametrize(
    "text", ["a dose of 5 mg, how much more should I give?", "should I double her insulin to 10 units?"]
)
def test_a_dose_is_never_worked_out(text: str) -> None:
    record = say(text, "adult_jejunal_cycle")
    assert not record["figures"] and "mL" not in record["speech"]


# -- plans ---------------------------------------------------------------------------------------------------------

SOUND = 'route = "gastrostomy"\ntimezone = "Europe/Oslo"\n[formula]\nenergy = "1.0 kcal/mL"\n[[feeds]]\n' \
        'name = "night"\nmethod = "pump"\nrate = "60 mL/h"\nvolume = "600 mL"\n'
BAD_PLANS = {
    "no toml": "route = ",
    "a wrong kind of unit": SOUND.replace("60 mL/h", "60 kg"),
    "a bare number": SOUND.replace('"60 mL/h"', "60"),
    "no such zone": SOUND.replace("Europe/Oslo", "Europe/Atlantis"),
    "a feed without rate or duration": SOUND.replace('rate = "60 mL/h"\n', ""),
    "no feed": SOUND.split("[[feeds]]")[0],
    "an unknown key": SOUND.replace("route", "rout"),
    "empty": "",
    "NULs": "\x00" * 100,
}


def bagside(*args: str, home: Path) -> subprocess.CompletedProcess[str]:
    """The command as a person runs it, in a home of its own."""
    environment = {"HOME": str(home), "PATH": "/usr/bin:/bin", "BAGSIDE_HELPER": "off", "PYTHONIOENCODING": "utf-8"}
    return subprocess.run([sys.executable, "-m", "assistant.cli", *args], capture_output=True, text=True, timeout=120,
                          env=environment, cwd=DEMO.parent, check=False)


@pytest.mark.parametrize("text", BAD_PLANS.values(), ids=BAD_PLANS.keys())
def test_a_bad_plan_is_named_with_file_and_key(text: str, tmp_path: Path) -> None:
    from assistant.channels.ask import answer_once

    path = tmp_path / "plan.toml"
    path.write_text(text, encoding="utf-8")
    code, out, err = answer_once("how long will 300 mL last?", str(path), None, "2026-11-25T22:00", False)
    assert code == 2 and not out and err
    assert all(str(path) in line for line in err.splitlines()), err


@pytest.mark.parametrize("path", ["missing.toml", ".", "\udcff.toml"])
def test_a_plan_that_is_not_there(path: str, tmp_path: Path) -> None:
    from assistant.channels.ask import answer_once

    code, out, err = answer_once("hello", str(tmp_path / path), None, None, False)
    assert code == 2 and not out and len(err.splitlines()) == 1


def test_no_traceback_reaches_a_person(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text(BAD_PLANS["a wrong kind of unit"], encoding="utf-8")
    demo = str(DEMO / "infant_powder.toml")
    for args, codes in (
        (["ask", "--plan", str(tmp_path / "bad.toml"), "hello"], {2}),
        (["ask", "--plan", demo, "\udcff\udcfe how long; DROP TABLE"], {0}),
        (["heard", "\udcff 12 \udcfe"], {0}),
        (["card", "no_such_card"], {2}),
        (["cards", '"', "OR", "("], {0}),
        (["cards", "\udcff"], {0}),
    ):
        done = bagside(*args, home=tmp_path)
        assert done.returncode in codes and "Traceback" not in done.stdout + done.stderr, (args, done)


def test_bytes_that_are_no_text_give_a_record_too(tmp_path: Path) -> None:
    done = bagside("ask", "--plan", str(DEMO / "infant_powder.toml"), "--json", "\udcff\udcfe how long", home=tmp_path)
    assert done.returncode == 0 and "Traceback" not in done.stderr and json.loads(done.stdout)


# -- fuzz ----------------------------------------------------------------------------------------------------------

VOCABULARY = (
    "how long will the bag last at rate mL mL/h hours 72 648 7.2 twenty half past nine pm left hung flush water tube "
    "out pump start stop paused undo no yes why again in and not she he my the a ? , . remind me calories per kg lb fl "
    "oz scoops drops syringe 0 -5 1/2 3% 24/7 12:61 2026-11-29 powder carton milk vomiting blue fever tomorrow tonight"
)
WORDS = st.sampled_from(VOCABULARY.split())
SOUPS = st.lists(WORDS, max_size=16).map(" ".join)
SHOWN_TWICE = re.compile(r"\bnan\b|\binf\b|\bNone\b|\bDecimal\b|<Quantity|\{[a-z_]+\}")


@settings(max_examples=120, deadline=None)
@given(st.text(max_size=120), st.sampled_from(PLANS))
def test_nothing_typed_makes_it_fail(text: str, name: str | None) -> None:
    record = say(text, name)
    if not any(c.isalnum() for c in text):
        assert not record["figures"]


@settings(max_examples=150, deadline=None)
@given(st.lists(SOUPS, min_size=1, max_size=4), st.sampled_from(PLANS))
def test_no_conversation_makes_it_fail(turns: list[str], name: str | None) -> None:
    session = Session(plan(name))
    for text in turns:
        record = session.say(text, NOW)
        assert FAULT not in record["text"], turns
        assert not SHOWN_TWICE.search(record["text"] + record["speech"]), record["text"]
        json.dumps(record, allow_nan=False)


def test_a_message_may_end_in_an() -> None:
    """An "an" that may be an "and" has no word after it here."""
    said = Session(read_plan(DEMO / "child_overnight_pump.toml")).say("the bus is at 9 an", NOW)
    assert said["intent"] != "unclear"  # a fault of ours would be told as one
