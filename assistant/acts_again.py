"""What was told before and could not be written down, told again with the answer to what was asked about it."""

from __future__ import annotations

from decimal import Decimal

from assistant.act_times import untimed
from assistant.acts import acts_told
from assistant.said import Said
from knowledge.library import table

BACK = ("ago", "earlier", "back", "before now")


def with_time(told: Said, answer: Said) -> str | None:
    """The words told with the time that was missing put beside its act; None where the answer is no time."""
    acts = acts_told(told)
    missing = untimed(acts)
    said = [s.amount.text for s in answer.spoken if s.reading("clock", "time", "number")]
    when = f"at {said[0]}" if len(said) == 1 else "now" if answer.has("now", "just now") and not said else None
    if when is None or len(missing) != 1:
        return None
    if answer.spoken and answer.spoken[0].reading("time"):
        when = f"{said[0]} {'ago' if answer.has(*BACK) else 'later'}"
    tokens, at = told.heard.tokens, acts[missing[0]].told
    return " ".join([*tokens[:at], when, *tokens[at:]])


def with_amount(told: Said, answer: Said) -> str | None:
    """The words told with how much of the feed went in; None where the answer is no amount."""
    if answer.has(*table("acts_en")["words"]["whole"], "all") and not answer.spoken:
        return f"{told.heard.text.rstrip(' .!')}, all of it"
    said = [s.amount.text for s in answer.spoken if s.reading("number", "volume")]
    return f"{told.heard.text.rstrip(' .!')}, {said[0]} went in" if len(said) == 1 else None


def with_number(told: Said, slipped: str, answer: Said) -> str | None:
    """The words told with another number in place of the one that was doubted; None where it is the same one."""
    anew = [s.amount.text for s in answer.spoken if (r := s.reading("number", "rate", "volume"))
            and r.value != Decimal(slipped)]
    doubted = [s.amount for s in told.spoken if any(str(r.value) == slipped for r in s.amount.readings)]
    if len(anew) != 1 or len(doubted) != 1:
        return None
    tokens = told.heard.tokens
    return " ".join([*tokens[: doubted[0].start], anew[0], *tokens[doubted[0].end :]])
