"""Whole messages with their numbers marked by a reader: each mark names what a number can be about."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from told_composer import ROLES

FILES = sorted((Path(__file__).parent / "numbers_marked").glob("*.jsonl"))
KNOWN = {role for told in ROLES.values() for role in told.values()} | {"noise", "other", "skip"}


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_mark_is_known(file: Path) -> None:
    rows = [json.loads(line) for line in file.read_text("utf-8").splitlines()]
    assert rows
    for row in rows:
        assert row.keys() == {"text", "numbers"} and row["text"].strip() and row["numbers"], row
        assert all(said.strip() and role in KNOWN for said, role in row["numbers"]), row


def test_no_message_is_marked_twice() -> None:
    texts = [json.loads(line)["text"] for file in FILES for line in file.read_text("utf-8").splitlines()]
    assert len(texts) == len(set(texts))
