"""When a feed began, told beside a question and not for the log: it counts where a later sum asks for the start.

"The pump has been going since half nine, what time must I be up?", and two turns on "how much has he had?".
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from assistant.hear import hear
from assistant.hear.clock import resolve
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.told.acts import acts_told

AMOUNTS = ("hung", "total", "left", "given")
PLAINLY = 2.0  # how strongly the words beside an hour say that it is a start
LATE = re.compile(
    r"\b(?:(?:did|was|were|had)n'?t|never|only)(?: (?:he|she|it|we|i))? (?:start\w*|go on|went on|get (?:\w+ )?on"
    r"|put (?:\w+ )?on|hung|connect\w*)(?: (?:it|him|her|them))? (?:un)?till?\b", re.IGNORECASE,
)
RUN = re.compile(r"\b(?:start\w*|began|begun|going|running|on|hung|hooked|connected|up|off)\b[^.;!?]*$", re.IGNORECASE)
FILLED = re.compile(r"\b(?:mix\w*|made|opened|open|pour\w*|fill\w*|spik\w*)\b", re.IGNORECASE)  # another hour
A_DAY = timedelta(hours=24)
NOT_TOLD = re.compile(
    r"\b(?:if|suppos\w*|imagine|say (?:i|we)|should|tomorrow|tonight's|meant|planned|due|ordered|going to|gonna|instead"
    r"|off|stopp\w*|paus\w*|quit|break|not|or|before (?:that|then)|yesterday|last|again|back on|resum\w*"
    r"|re-?start\w*)\b|n't\b",
    re.IGNORECASE,
)


def begun_told(text: str, heard: Heard, now: datetime) -> datetime | None:
    """The past instant at which the feed is plainly told to have begun; None where it is put as a case, or in doubt."""
    if all(r.kind != "clock" for a in heard.amounts for r in a.readings):
        return None  # no hour: nearly every message
    if (at_last := LATE.sub("started at", text)) != text:
        text, heard = at_last, hear(at_last)  # "didn't go on till quarter to seven"
    if NOT_TOLD.search(text):
        return None
    spoken = said(heard)
    if any(max(s.roles.get(role, 0.0) for role in AMOUNTS) >= 1 or s.reading("volume", "count") for s in spoken.spoken):
        return None  # what was hung goes with its start: the one without the other would be another feed
    found = {
        (clock.value, clock.unit): clock
        for s in spoken.spoken
        if s.roles.get("start", 0.0) >= PLAINLY and (clock := s.reading("clock")) is not None
    }
    found |= {(a.clock.value, a.clock.unit): a.clock for a in acts_told(spoken) if a.what in ("on", "hang") and a.clock}
    hours = [s for s in spoken.spoken if s.reading("clock") is not None]
    if len(found) != 1 or not any(RUN.search(s.before) for s in hours) or any(FILLED.search(s.before) for s in hours):
        return None
    at = resolve(next(iter(found.values())), now, "past", None)[0]
    return at if now - at < A_DAY else None
