"""What an answer may rest on besides the words: care plan, feed log and instant. All given, nothing fetched."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from functools import cache, cached_property, lru_cache
from typing import Any

from assistant.household.care_plan import CarePlan, Feed
from assistant.language.spelling import familiar
from knowledge.library import table
from rules.clock import before, later
from rules.feed_state import Event, FeedState, feed_state
from rules.hang_limit import hang_limit
from rules.outcome import CannotAnswer
from rules.quantity import Quantity, number
from rules.running import Running, running
from rules.steps import rate_at

TONIGHT = re.compile(r"\b(?:tonight|tonite|2nite|this evening|tn|tnite)\b")
#: ... in a list of feeds: "teatime, tonight and breakfast"
TONIGHT_TOO = re.compile(r"(?:,|\band|&) ?(?:tonight|the night one)\b(?!'s)\s*(?:,|\band\b|&|$|[?.!])")
#: "six in the morning", "at noon": a time of day, not the feed of that name
BEFORE_AN_HOUR = ("this", "tomorrow", "last", "good", "at", "by", "since")
NO_FEED = "".join(rf"(?<!\b{words} )" for words in BEFORE_AN_HOUR)
HOURS = re.compile(r"\b(?:mornings?|evenings?|nights?|afternoons?|day|middle|small hours)$")  # "in the" these: a time
DAYS = ("all", "whole", "full", "entire", "one", "a", "per", "each", "every", "next", "other", "same")
A_DAY = "".join(rf"(?<!\b{words} )" for words in DAYS) + r"day(?!s\b)"  # "how much a day" names no feed called "day"
EVENING, SMALL_HOURS = 17, 4  # a feed that starts between these is tonight's
SHORTEST_NAME = 3  # letters
JEJUNAL = frozenset({"jejunostomy", "gastrojejunal", "nasojejunal"})


@dataclass(frozen=True)
class Night:
    plan: CarePlan | None
    now: datetime
    events: tuple[Event, ...] = ()
    reminders: tuple[dict[str, str], ...] = field(default=())
    counted: frozenset[str] = frozenset()  # the numbers with which an earlier ask of the same message counted
    talked_of: str | None = None  # the feed that the conversation is about, where the words name none

    @property
    def today(self) -> date:
        return self.now.date()

    @cached_property
    def infant(self) -> bool:
        return bool(self.plan and self.plan.person.is_infant(self.today))

    @cached_property
    def jejunal(self) -> bool:
        return bool(self.plan and self.plan.route in JEJUNAL)

    def noted(self, note: str) -> bool:
        return bool(self.plan and note in self.plan.person.notes)

    @cached_property
    def state(self) -> FeedState | None:
        """The feed that runs, or ran last, by the log."""
        if not self.events:
            return None
        found = feed_state(self.events, self.now, **self.plan_of_feed(self.now))
        return found if found.started is not None or found.last_flush is not None else None

    @cached_property
    def running(self) -> Running | None:
        """The running state in one look: given, left, end, discard time, next flush; None without any feed."""
        if self.state is None or self.state.started is None:
            return None
        every = self.plan.flushes.every if self.plan else None
        return running(
            self.events, self.now, hang_limit=self.hangs_for, flush_every=every, **self.plan_of_feed(self.now)
        )

    @cached_property
    def hangs_for(self) -> Quantity | None:
        """How long the plan's formula may hang; None where neither plan nor published figure says."""
        if self.plan is None:
            return None
        try:
            form, limit = self.plan.formula.form, self.plan.limits.hang_time
            return hang_limit(form, self.infant, self.noted("weak_immunity"), limit).limit
        except CannotAnswer:
            return None

    def plan_of_feed(self, at: datetime) -> dict[str, Any]:
        """What the plan orders for the feed that the log has as on at that time."""
        started = [e for e in self.events if e.kind == "feed_started" and e.at <= at]
        name = started[-1].feed if started else None
        feed = next((f for f in self.feeds if f.name == name), self.feeds[0] if len(self.feeds) == 1 else None)
        by_pump = feed is None or feed.method == "pump"  # an ordered step is a pump's rate
        return {
            "plan_rate": feed_rate(feed) if feed else None,
            "plan_volume": feed.volume if feed else None,
            "steps": self.plan.ordered_steps if self.plan and by_pump else (),
            "priming": self.plan.equipment.priming_volume if self.plan and by_pump else None,
        }

    def unnamed(self, text: str) -> str:
        """The words with the plan's person called "it", so that no name is taken for another word."""
        name = self.plan.person.nickname if self.plan else None
        if not name or not name.replace(" ", "").isalpha() or len(name) < SHORTEST_NAME:
            return text
        lowered = "" if name.lower() in familiar() else "(?i)"  # "rose", "may" in small letters are no name
        return re.sub(rf"{lowered}(?<![\w'-]){name}(?![\w-])", "it", text)

    @property
    def feeds(self) -> tuple[Feed, ...]:
        return self.plan.feeds if self.plan else ()

    @cached_property
    def ordered_rates(self) -> tuple[Decimal, ...]:
        """The rates of the plan's feeds, in mL/h."""
        return tuple(number(rate, "mL/h") for rate in map(feed_rate, self.feeds) if rate is not None)

    @cached_property
    def ordered_volumes(self) -> tuple[Decimal, ...]:
        """The amounts of the plan's feeds, in mL."""
        return tuple(number(volume, "mL") for volume in map(feed_volume, self.feeds) if volume is not None)

    @property
    def logged(self) -> tuple[str, ...]:
        """The kinds of the log's entries, in order."""
        return tuple(event.kind for event in self.events)

    @property
    def feed_names(self) -> tuple[str, ...]:
        return tuple(feed.name for feed in self.feeds)

    def feeds_named(self, text: str) -> tuple[Feed, ...]:
        """The plan's feeds that the words name, by their own name or a family's word for that time of day."""
        text = text.lower()
        called = _named(self.feed_names, text)
        named = tuple(feed for feed in self.feeds if feed.name in called)
        if named and TONIGHT_TOO.search(text) and len(tonight := self.tonight(text)) == 1:
            return tuple(feed for feed in self.feeds if feed in (*named, *tonight))
        if named or not TONIGHT.search(text):
            return named
        tonight = self.tonight(text)
        return tonight if len(tonight) == 1 else ()

    def unknown_feed(self, text: str) -> str | None:
        """A family's word for a feed that this plan does not have; with one feed only, it is that one."""
        if len(self.feeds) < 2 or self.feeds_named(text) or self.tonight(text):
            return None
        said = next((m for name in table("feed_names_en") if (m := _own(name).search(text.lower()))), None)
        return said.group() if said else None

    def tonight(self, text: str) -> tuple[Feed, ...]:
        """The plan's evening and night feeds, where the words speak of tonight."""
        if not TONIGHT.search(text.lower()):
            return ()
        return tuple(f for f in self.feeds if f.start and (f.start.hour >= EVENING or f.start.hour < SMALL_HOURS))

    def feed_for(self, text: str) -> Feed | None:
        """The one feed the words can mean: named, the only one, or the one that runs now; None where it is unsure."""
        named = self.feeds_named(text)
        if len(named) == 1:
            return named[0]
        if named:
            return None
        if len(self.feeds) == 1:
            return self.feeds[0]
        state = self.state
        on = state is not None and (state.running or state.paused_since is not None)
        name = state.feed if state is not None and on else self.talked_of
        return next((f for f in self.feeds if f.name == name), None)


@lru_cache(maxsize=256)  # asked of the same words by every station: a millisecond of a message otherwise
def _named(names: tuple[str, ...], text: str) -> frozenset[str]:
    own = "|".join(re.escape(name.lower()) for name in names if name.lower() in text)
    rest = re.sub(rf"(?<!\w)(?:{own})s?(?!\w)", "_", text) if own else text  # "dinner" is that feed, and no other
    return frozenset(name for name in names if _own(name).search(text) or _called(name).search(rest))


@cache
def _own(name: str) -> re.Pattern[str]:
    """A feed's own name."""
    return _forms((name.lower(),))


@cache
def _called(name: str) -> re.Pattern[str]:
    """What families call a feed of this name."""
    return _forms((name.lower(), *table("feed_names_en").get(name.lower(), {}).get("also", ())))


def _forms(forms: tuple[str, ...]) -> re.Pattern[str]:
    # "after-school", "afterschool"
    said = "|".join(map(_form, forms))
    hours = "|".join(_form(form) for form in forms if HOURS.search(form))
    thing = r"(?=[ -](?:feed|bag|one|bottle|lot|run|pump|syringe|bolus|milk)s?\b)"  # "left in the night bag"
    at = "(?:[ -]?time)?"  # "at dinnertime"
    no_hour = rf"(?!(?<=\bin the )(?:{hours})(?!\w))" if hours else ""  # "calories in the overnight": the feed
    bare = rf"{NO_FEED}(?<!\w){no_hour}(?:{said}){at}s?(?!\w)"
    overnight = r"|(?<!\w)overnight(?!\w)" if "overnight" in forms else ""  # "... to run at overnight": no hour
    return re.compile(rf"(?<!\w)(?:{said})s?{thing}|{bare}{overnight}")


def _form(form: str) -> str:
    return A_DAY if form == "day" else re.escape(form).replace(r"\ ", "[ -]?")


def feed_rate(feed: Feed) -> Quantity | None:
    """The rate a feed is ordered at: written, or its volume over its time."""
    if feed.rate is not None:
        return feed.rate
    if feed.volume is not None and feed.over is not None:
        return (feed.volume / feed.over).to("mL/h")
    return None


def feed_time(feed: Feed) -> Quantity | None:
    if feed.over is not None:
        return feed.over
    if feed.rate is not None and feed.volume is not None:
        return (feed.volume / feed.rate).to("h")
    return None


def rate_on(feed: Feed, plan: CarePlan | None, at: datetime) -> Quantity | None:
    """The rate a feed is ordered at on that instant: of an increase by steps, the one that is on (a pump's)."""
    steps = plan.ordered_steps if plan is not None and feed.method == "pump" else ()
    return rate_at(steps, at, feed_rate(feed))


def time_on(feed: Feed, plan: CarePlan | None, start: datetime) -> Quantity | None:
    """The written time of a feed that starts then; None where a step makes its rate another than the written one.

    Whether the amount or the time stays is not written: neither is made up.
    """
    written = feed_time(feed)
    if written is None or plan is None or feed.method != "pump" or not plan.steps:
        return written
    ends = later(start, written)
    on_the_way = any(before(start, at) and before(at, ends) for at, _ in plan.ordered_steps)
    return None if on_the_way or rate_on(feed, plan, start) != feed_rate(feed) else written


def feed_volume(feed: Feed) -> Quantity | None:
    if feed.volume is not None:
        return feed.volume
    if feed.rate is not None and feed.over is not None:
        return (feed.rate * feed.over).to("mL")
    return None
