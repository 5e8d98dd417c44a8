"""The words of a message beside its numbers that carry something, and whether they name a feed."""

from __future__ import annotations

from functools import cache

from assistant.message import Heard
from knowledge.library import table


@cache
def _filler() -> frozenset[str]:
    words = table("turns_en")["words"]
    return frozenset(f"{words['filler']} {words['put_right']}".split())


def own_words(heard: Heard) -> list[str]:
    """The words beside the numbers that are no filler."""
    inside = {i for a in heard.amounts for i in range(a.start, a.end)}
    beside = (t for i, t in enumerate(heard.tokens) if i not in inside)
    return [t for t in beside if t not in _filler() and any(c.isalnum() for c in t)]


def only_a_feed(heard: Heard, feeds: tuple[str, ...] = ()) -> bool:
    """A feed named and nothing else ("and in dinner?"): the last question, for that feed. `feeds`: the plan's names."""
    own, named = set(own_words(heard)), named_feeds(feeds)
    return not heard.amounts and bool(own & named) and own <= named | {"feed", "feeds"}


def named_feed(heard: Heard, feeds: tuple[str, ...]) -> bool:
    """Is a feed named among the words?"""
    return bool(set(own_words(heard)) & named_feeds(feeds))


def named_feeds(feeds: tuple[str, ...]) -> frozenset[str]:
    """What feeds are called, by families and by the plan."""
    return _feed_words() | {w for name in feeds for w in name.lower().split()}


@cache
def _feed_words() -> frozenset[str]:
    names = table("feed_names_en")
    return frozenset(w for name in names for form in (name, *names[name].get("also", ())) for w in form.split())
