"""The language layer as a whole: the same words always give the same ranking, and whatever is said, it answers."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.hear.plain import plain
from assistant.language.features import take_apart
from assistant.language.weights import table
from assistant.understand import DANGER_FROM, clauses, danger, explain, rank
from knowledge.library import load

ROOT = Path(__file__).resolve().parents[1]

ASKED = [
    ("There are 410 mL in the bag and it runs at 58. How long will that last?", "bag_duration", None),
    ("the tube has come right out, it is lying on the rug", "caution", "tube_out"),
    ("he is gasping and the skin between his ribs pulls in", "caution", "cant_breathe"),
    ("mum will not wake up, she is floppy in the chair", "caution", "unresponsive"),
    ("no wet nappy since last night and he cries without tears", "caution", "dehydration"),
    ("what is the pump rate supposed to be", "plan_lookup", None),
    ("flush done at ten", "log_flush", None),
    ("please tell me again, I did not hear", "repeat", None),
    ("who won the cup final", "out_of_scope", None),
]
DANGEROUS = [
    "his lips are a slate colour and his fingertips too",
    "she cant get her breath since i started the feed",
    "my daughter has swallowed the round battery out of the scales",
    "dark green stuff keeps coming back up",
    "i am frightened of what i might do to him",
]
CALM = ["how many cartons for a week", "log the flush", "thank you dear", "when does the feed finish", "next step"]


@pytest.mark.parametrize(("text", "intent", "card"), ASKED)
def test_plain_questions_are_understood(text: str, intent: str, card: str | None) -> None:
    assert (intent, card) in [(c.intent, c.card) for c in rank(text)[:3]]


@pytest.mark.parametrize("text", DANGEROUS)
def test_danger_raises_the_summed_probability(text: str) -> None:
    assert danger(text) >= DANGER_FROM


@pytest.mark.parametrize("text", CALM)
def test_everyday_words_raise_no_alarm(text: str) -> None:
    assert danger(text) < DANGER_FROM


def test_candidates_are_ordered_and_their_shares_are_probabilities() -> None:
    found = rank("how long will the bag last at sixty")
    shares = [c.p for c in found]
    assert shares == sorted(shares, reverse=True)
    assert 0.9 < math.fsum(shares) <= 1.0001
    assert len({(c.intent, c.card) for c in found}) == len(found)
    assert all((c.card is not None) == (c.intent == "caution") for c in found)


def test_nothing_said_gives_no_candidate() -> None:
    assert rank("") == () and danger("") == 0.0 and clauses("") == ()


def test_another_process_with_another_hash_seed_ranks_the_same() -> None:
    code = "from assistant.understand import rank; print([c.p.hex() for c in rank('bag up at nine, 300 ml at 70')])"
    said = {
        subprocess.run([sys.executable, "-c", code], cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": seed},
                       capture_output=True, text=True, check=True).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=120))
def test_no_text_is_too_odd(text: str) -> None:
    words = plain(text)
    assert all(0.0 <= c.p <= 1.0 for c in rank(words))
    assert 0.0 <= danger(words) <= 1.0001
    assert isinstance(explain(words), str)
    assert all(part in words for part in clauses(words))


def test_two_asks_are_parted_and_one_is_left_whole() -> None:
    assert len(clauses("Bag went up at nine and when does it finish? Also how much water do I flush")) >= 2
    assert clauses("he has a temperature and a cough") == ("he has a temperature and a cough",)


def test_the_scores_are_the_sum_of_the_rows_that_explain_shows() -> None:
    known, parts = table(), take_apart("the pump alarm says no flow")
    rows, amounts = known.rows(parts)
    summed = known.bias + (amounts[:, None] * known.weights[rows] * known.step).sum(axis=0)
    assert abs(summed - known.scores(parts)).max() < 1e-3
    assert "alarm" in explain("the pump alarm says no flow")


def test_every_card_that_the_weights_name_is_a_card() -> None:
    cards = set(load("cautions"))
    named = {label.partition(":")[2] for label in table().labels if label.startswith("caution:")}
    assert named <= cards, named - cards
    for file in sorted((ROOT / "knowledge" / "phrases").glob("*.jsonl")):
        for line in file.read_text(encoding="utf-8").splitlines():
            entry = json.loads(line)
            assert entry["intent"] != "caution" or entry["card"] in cards, f"{file.name}: {line}"
