"""What a message asks of the care plan: "what french is it", "rate??", "the morning milk, how much".

It is such a look-up where every word is at home in one (knowledge/plan_asked_en.toml): the name of a value, a feed,
small words, whom it is for. One strange word more, a number, or a word for what was done, and it is for the other
stations: a look-up never outvotes a sum.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from assistant.cards import GRAVE, card
from assistant.understand import rank
from knowledge.library import table

PARTED = re.compile(r"(?<=[.?!;])\s+|\.{2,}\s*|\s*[,;:(\n]\s*|\s+-+\s+|(?<=\w)\.\s+")
WORD = re.compile(r"[^\W\d_][\w'’]*")
LOOKED_UP = "looked up: "  # before the topics, where a question hands them on
A_FEED = "it"  # in the place of a feed's name: "when does it start"
MARKS = ("loose", "strict", "yields", "never_alone", "bare", "feed")
TAKEN = " ▪ "  # in the place of words that are spoken for
SIGN = 0.3  # from this share on a piece tells of a sign
SLIP = 4  # letters of a word that may be a slip for "one"
FEW = 8  # words of a name that stands alone


@dataclass(frozen=True)
class Topic:
    """One value of the plan and what it is called."""

    name: str
    called: re.Pattern[str]
    beside: re.Pattern[str] | None
    unless: re.Pattern[str] | None
    firm_with: re.Pattern[str] | None  # words beside which a loose one is asked of the plan
    of: str
    also: frozenset[str]  # words at home beside it
    marks: frozenset[str]  # see knowledge/plan_asked_en.toml

    def is_(self, mark: str) -> bool:
        return mark in self.marks


def _any(words: Iterable[str]) -> re.Pattern[str]:
    things = table("plan_asked_en")["things"]
    said = "|".join(words)
    for name, forms in things.items():
        said = said.replace(f"{{{name}}}", forms)
    return re.compile(rf"(?<![\w'])(?:{said})(?![\w'])", re.IGNORECASE)


@cache
def topics() -> dict[str, Topic]:
    """What can be asked, those named more closely first."""
    made = {}
    for name, one in table("plan_asked_en")["topics"].items():
        made[name] = Topic(
            name,
            _any(one["called"]),
            _any(one["beside"]) if "beside" in one else None,
            _any(one["unless"]) if "unless" in one else None,
            _any(one["firm_with"]) if "firm_with" in one else None,
            one.get("of", name),
            frozenset(one.get("also", "").split()),
            frozenset(mark for mark in MARKS if one.get(mark)),
        )
    return made


@cache
def _around(name: str) -> re.Pattern[str]:
    return re.compile(table("plan_asked_en")["around"][name], re.IGNORECASE)


@cache
def _words(name: str) -> frozenset[str]:
    return frozenset(table("plan_asked_en")["around"][name].split())


@cache
def _feed(names: tuple[str, ...]) -> re.Pattern[str]:
    """What the feeds are called: of this plan, and by families, with the words that go with it ("the night one")."""
    known = table("feed_names_en")
    forms = {form for name in known for form in (name, *known[name].get("also", ()))} | {n.lower() for n in names}
    said = "|".join(re.escape(form) for form in sorted(forms, key=len, reverse=True))
    things = table("plan_asked_en")["things"]["feed"]
    one = rf"(?:{said}|tonight)(?:'s)?(?: {things})?|next {things}(?! up\b)"
    return re.compile(rf"(?<![\w'])(?:(?:the|his|her|my) )?(?:{one})(?:'s)?(?![\w'])")


@lru_cache(maxsize=256)  # the parts of a message and the question look at the same words
def asked(
    text: str, feeds: tuple[str, ...] = (), about: tuple[str, ...] = (), *, apart: bool = False, strange: int = 0
) -> tuple[str, ...]:
    """The topics asked for, in the order said; none where it is no look-up, or may be another question.

    `feeds`: the plan's names for its feeds; `about`: the topics of the look-up just before, if it was the last answer;
    `apart`: something else is being spoken of (a sum, a question back), so that of feeds only what names plan or feed
    counts; `strange`: how many words may be strange to a look-up.
    """
    low = _bared(_spelt(text))
    if PER_KILO.search(low):
        return ()  # a sum, not a value of the plan
    if found := _of_one(low, feeds, about, apart, strange):
        return _as_topics(found)
    pieces = [p for p in PARTED.split(low) if p.strip(" .,?!")]
    each = [_of_one(_bared(p), feeds, about, apart, strange) if _asks(p) else () for p in pieces]
    others = [p for p, found in zip(pieces, each, strict=True) if not found]
    if not any(each) or any(_asks_more(p) or _around("not_plan").search(p) or of_a_sign(p) for p in others):
        return ()
    return _as_topics(tuple(name for one in each for name in one))


PER_KILO = re.compile(r"\b(?:per|each|every|a|for each) (?:kilo|kg|kilogram)s?\b|/ ?kg\b")


def same_again(text: str, feeds: tuple[str, ...], about: tuple[str, ...]) -> tuple[str, ...]:
    """ "And the dinner one?": what was just looked up of one feed, for another; none where more is said."""
    of_feeds = tuple(name for name in about if topics()[name].is_("feed"))
    low = _bared(_spelt(text))
    rest, said = _feed(feeds).subn(TAKEN, _around("again").sub("", low, count=1))
    left = [w for w in WORD.findall(rest) if w not in _words("small") and w not in _words("one")]
    slip = len(left) == 1 and len(left[0]) <= SLIP and rest.rstrip(" .?!").endswith(left[0])  # "the dinner wan"
    return of_feeds if said and (not left or slip) else ()


def firmly_named(text: str) -> tuple[str, ...]:
    """The topics that the words name beyond doubt, where it is known that the plan is asked."""
    without_feeds, feed_said = _feed(()).subn(A_FEED, _spelt(text))
    found, _ = named(without_feeds)
    of_plan = feed_said or _around("plan").search(text)
    return _as_topics(tuple(n for n in found if of_plan or not topics()[n].is_("loose")))


def _as_topics(found: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(topics()[name].of for name in found))


def _asks(piece: str) -> bool:
    return bool(_around("asks").search(piece))


def _asks_more(piece: str) -> bool:
    return bool(_around("more").search(piece)) and not _around("guess").search(piece)


def of_a_sign(piece: str) -> bool:
    """Does a piece tell of something that a card is for? It is not passed over for a look-up.

    Of a grave one the danger station has heard the same words before, and raised no alarm.
    """
    top = rank(piece)[:1]
    return any(c.card is not None and c.p >= SIGN and card(c.card)["level"] not in GRAVE for c in top)


def _spelt(text: str) -> str:
    """The words in small letters, each in one spelling."""
    spelt = table("plan_asked_en")["spelt"]
    return WORD.sub(lambda m: spelt.get(m.group(), m.group()), text.lower().replace("’", "'"))


def _bared(text: str) -> str:
    """The words without what leads up to them and follows them."""
    shorter = _around("tail").sub("", _around("lead").sub("", text.strip(" .,!")))
    return shorter if WORD.search(shorter) else text


def named(text: str) -> tuple[tuple[str, ...], str]:
    """The topics that the words name, in the order said, and the words that are left."""
    found: dict[str, int] = {}
    rest = text
    for topic in topics().values():
        if topic.beside is not None and not topic.beside.search(text):
            continue
        for match in topic.called.finditer(rest):
            outside = text[: match.start()] + TAKEN + text[match.end() :]
            if not match.group().strip() or (topic.unless is not None and topic.unless.search(outside)):
                continue
            found.setdefault(topic.name, match.start())
            rest = rest[: match.start()] + "▪".ljust(match.end() - match.start()) + rest[match.end() :]
    return tuple(sorted(found, key=lambda name: found[name])), rest


def _of_one(
    text: str, feeds: tuple[str, ...], about: tuple[str, ...], apart: bool, tolerated: int
) -> tuple[str, ...]:
    without_feeds, feed_said = _feed(feeds).subn(A_FEED, text)
    found, rest = named(without_feeds)
    in_plan = bool(_around("plan").search(text))
    by_feed = any(topics()[n].is_("feed") for n in found)
    if not found or (apart and by_feed and not (in_plan or feed_said)):
        return ()
    if _around("not_plan").search(rest) or _around("done").search(text):
        return ()
    beside = about + tuple(n for n in found if not topics()[n].is_("loose"))  # "rate and total": both of the feed
    if not all(_may_be(topics()[n], text, in_plan, bool(feed_said), beside) for n in found):
        return ()
    if all(topics()[n].is_("never_alone") or (topics()[n].is_("yields") and not in_plan) for n in found):
        return ()
    left = WORD.findall(rest)
    at_home = _words("known").union(*(topics()[n].also for n in found))
    strange = [w for w in left if w not in at_home and not w.endswith("'s") and not _around("plan").search(w)]
    firm = _asks(text) and not any(topics()[n].is_("loose") for n in found)
    if len(strange) > (tolerated if firm else 0):
        return ()
    if _asks(text):
        return found
    beside_a_name = _words("small").union(*(topics()[n].also for n in found))
    alone = all(topics()[n].is_("bare") for n in found) and not set(left) - beside_a_name and len(left) <= FEW
    return found if alone and not apart else ()


def _may_be(topic: Topic, text: str, in_plan: bool, feed_said: bool, beside: tuple[str, ...]) -> bool:
    """Is a topic that could be asked of many things asked of the plan here? `beside`: what else is, or just was."""
    if topic.is_("strict") or not topic.is_("loose") or in_plan:
        return in_plan or not topic.is_("strict")
    if topic.firm_with is not None and topic.firm_with.search(text):
        return True
    of_feed = topic.is_("feed")
    return (of_feed and feed_said) or any(topics()[name].is_("feed") == of_feed for name in beside)
