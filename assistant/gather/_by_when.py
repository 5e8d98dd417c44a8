"""Hours told beside a stop that are none of it: by when it is to be made up, and when the feed was to end."""

from __future__ import annotations

import re

from assistant.numbers.wants import Used
from assistant.slots import Slots

CATCH_UP_BY = re.compile(
    r"\b(?:catch|caught|made?|make|back)\b[^.?!]*\b(?:till?|until|by|before)(?: about| around)?$"
    r"|\b(?:all|lot|in|done|finish\w*|through|too late|get)\b[^.?!]*\b(?:by|before)(?: about| around)?$"
)


MEANT_TO_END = re.compile(
    r"\b(?:meant|supposed|due|should|ought|normally|usually|always)\b[^.?!]*"
    r"\b(?:down|off|done|finish\w*|end\w*|over|out|through|stop\w*)(?: (?:at|by|around|about))*$"
)


def by_when(slots: Slots) -> None:
    """ "Can we catch up till half eleven?", "it's meant to come down at nine": no hour of the pause."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("clock")
        planned = reading is not None and MEANT_TO_END.search(spoken.before)
        if reading is not None and (planned or CATCH_UP_BY.search(spoken.before)):
            for name in [name for name, taken in slots.spoken.items() if taken is spoken]:
                del slots.spoken[name], slots.used[name]
            name = "planned_end" if planned else "by"
            slots.spoken[name] = spoken
            slots.used[name] = Used(reading, "question", spoken.amount.text, spoken.amount.in_words)
