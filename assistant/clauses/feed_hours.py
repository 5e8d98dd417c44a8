"""A feed called by its hour ("the 12 o'clock feed", "her half past four one"), called by its name in the plan."""

from __future__ import annotations

import re
from datetime import datetime

from assistant.hear import hear
from assistant.household.care_plan import Feed
from assistant.numbers.said import NOONS

NEAR, APART = 45, 30  # minutes: from its ordered start; nearer than any other feed by so much
HALF_DAY, DAY = 720, 1440
A_PAIR, NEAR_NOW = 2, 180  # minutes
_HOUR = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\d{1,2}(?:[:.]\d\d)?)"
_CLOCK = (
    rf"(?:(?:half|quarter|five|ten|twenty|twenty[ -]five|\d{{1,2}})(?: past| to| after| till)? )?{_HOUR}"
    r"(?: ?o'? ?clock)?(?: ?[ap]\.?m\b\.?)?"
)
_WHOSE = r"(?:the|her|his|my|our|their|this|that|today's|tonight's|tomorrow's|\w+'s|for \w+s)"
_CALLED = re.compile(rf"\b({_WHOSE}) ({_CLOCK}) (feed|feeding|bolus|bottle|meal|one)\b", re.IGNORECASE)
_AT_FIRST = re.compile(rf"^({_CLOCK}) (feed|bolus)\b", re.IGNORECASE)  # "8pm feed, dry set"
_BY_HOUR_ALONE = re.compile(
    rf"\b(her|his|my|their|(?:for|4) (?:the|\w+'?s)) ({_HOUR} ?o'? ?clock)"
    r"(?=\s*(?:$|[?.,!;]|(?:is|was|takes?|went|needs?)\b))",
    re.IGNORECASE,
)
_OTHER_ONES = re.compile(
    r"\b(?:remind\w*|reminder\w*|alarm\w*|cancel\w*|meds?|medicine\w*|dose\w*|tablets?|flush\w*|bags?|nurse\w*"
    r"|appointments?|bus|train|call|visit)\b",
    re.IGNORECASE,
)


def with_feed_names(text: str, feeds: tuple[Feed, ...], now: datetime | None = None) -> str:
    """`text` with each hour that stands for one feed of the plan as that feed's name; as it is where none or two do.

    Of one at three in the night and one at three in the afternoon, the one that is much nearer to `now` is meant.
    """

    def named(met: re.Match[str]) -> str:
        noun = met[3].lower() if met.re is _CALLED else "feed"
        of = None if noun == "one" and _OTHER_ONES.search(text) else _due_at(met[2], feeds, now)
        whose = re.sub(r"^4 ", "for ", met[1])
        return met.group() if of is None else f"{whose} {of.name} {'feed' if noun == 'one' else noun}"

    for name in {feed.name for feed in feeds} & NOONS:
        alone = rf"\bfor {name}\b(?! (?:{name}|feed|one|bag|milk|bottle|bolus|tonight|tomorrow)\b)"
        text = re.sub(alone, f"for the {name} feed", text, flags=re.IGNORECASE)
    first = _AT_FIRST.sub(lambda met: f"the {met.group()}", text)
    text = text if _CALLED.sub(named, first) == first else first
    return _BY_HOUR_ALONE.sub(named, _CALLED.sub(named, text))


def hour_of_none(text: str) -> str | None:
    """The hour by which a feed is called, after `with_feed_names`: this plan has none that is due then."""
    called = next((m for m in _CALLED.finditer(text) if m[3].lower() != "one"), None)
    told = hear(called[2]).amounts if called is not None else ()
    return called.group() if called and len(told) == 1 and told[0].readings[0].kind == "clock" else None


def _due_at(hour: str, feeds: tuple[Feed, ...], now: datetime | None) -> Feed | None:
    """The one feed whose ordered start is that hour, or near it: of either half of the day, unless it is told."""
    amounts = hear(re.sub(r"(?<=\d)\.(?=\d\d\b)", ":", hour)).amounts  # "the 4.15 one"
    if len(amounts) != 1 or amounts[0].readings[0].kind != "clock":
        return None  # "the 110 feed" is called by its amount
    told = [r for r in amounts[0].readings if r.kind == "clock"]
    gaps = sorted(
        (min(_gap(feed, int(r.value), DAY if r.unit == "24h" else HALF_DAY) for r in told), at)
        for at, feed in enumerate(feeds)
        if feed.start is not None
    )
    if not gaps or gaps[0][0] > NEAR:
        return None
    if len(gaps) > 1 and gaps[1][0] - gaps[0][0] < APART:
        minute = now.hour * 60 + now.minute if now is not None else None
        near = [at for gap, at in gaps if gap <= NEAR and minute is not None]
        both = sorted((_gap(feeds[at], int(minute or 0), DAY), at) for at in near)
        alike = len(both) == A_PAIR and both[0][0] <= NEAR_NOW and both[1][0] - both[0][0] >= HALF_DAY // 2
        return feeds[both[0][1]] if alike else None
    return feeds[gaps[0][1]]


def _gap(feed: Feed, minutes: int, around: int) -> int:
    start = 0 if feed.start is None else feed.start.hour * 60 + feed.start.minute
    apart = abs(start - minutes) % around
    return min(apart, around - apart)
