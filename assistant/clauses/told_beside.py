"""A message that tells what was done and asks beside it ("we put it to 55 at midnight, how much is in?"), parted."""

from __future__ import annotations

import re
from typing import NamedTuple

from assistant.asked.plausible import weigh
from assistant.follow.turns import pattern
from assistant.hear import hear
from assistant.message import Heard
from assistant.numbers.said import Said, said
from assistant.told.acts import acts_told
from assistant.understand import Candidate, rank

OF_THE_RUN = ("delivered", "remaining", "finish_at", "bag_duration", "intake", "catch_up")  # of the feed that is on
ASKS = re.compile(
    r"(?:how|hows|what|whats|wots|wot|when|whens|which|will|would|can|could|is|are|am|does|do|did|should|any|has|have)"
    r"(?:'s|'ve|'ll|'d)?"
)
STOPS = frozenset({".", "!", ";", ",", "?"})
PLAIN = 0.42  # from this share on the part that asks is plain by itself


class Parted(NamedTuple):
    """`first`: the place of the first word of what is told in the whole message."""

    first: int
    told: Said
    asks: str


def parted(whole: Said) -> Parted:
    """The words before the first that asks, or after the question."""
    tokens = whole.heard.tokens
    asks = next((i for i, t in enumerate(tokens) if ASKS.fullmatch(t) and (i == 0 or _begins(tokens, i))), None)
    if asks:
        return _part(tokens, 0, asks)
    ends = next((i for i, token in enumerate(tokens[:-1]) if token == "?"), None)
    if ends is not None:
        return _part(tokens, ends + 1, len(tokens))
    stop = max((i for i, token in enumerate(tokens[:-1]) if token in STOPS), default=0)
    return _part(tokens, 0, stop)  # "at 50 since eleven, total so far?"


def _part(tokens: tuple[str, ...], begins: int, ends: int) -> Parted:
    asks = " ".join((*tokens[:begins], *tokens[ends:])).strip(" ,.;")
    return Parted(begins, said(hear(" ".join(tokens[begins:ends]))), asks)


def _begins(tokens: tuple[str, ...], at: int) -> bool:
    """Does this word ask, and not tell ("it is at 70", "she has been on")? After a stop or a joining word it may."""
    return tokens[at - 1] in STOPS or tokens[at - 1] in ("and", "so", "now", "but") or tokens[at][:1] in "wh"


def of_the_run(heard: Heard, logged: tuple[str, ...]) -> tuple[Candidate, ...]:
    """The ranking of what is asked of the feed that is on, beside a change of its rate that is told; else empty."""
    if "feed_started" not in logged:
        return ()
    if not heard.amounts:
        goes = pattern("how_goes_it").fullmatch(heard.text.strip(" .?!"))  # "how's it going", with a feed in the log
        return (Candidate("delivered", None, 1.0),) if goes else ()
    _, told, asks = parted(said(heard))
    acts = acts_told(told) if asks else ()
    if not acts or any(act.what != "rate" or act.rate is None or act.clock is None for act in acts):
        return ()
    ranked = weigh(rank(asks), said(hear(asks)))
    plain = bool(ranked) and ranked[0].intent in OF_THE_RUN and ranked[0].p >= PLAIN
    return ranked if plain else ()
