"""Which feed comes next ("when's he next due"), also beside one that is done ("her lunch is done, what's next?")."""

from __future__ import annotations

from dataclasses import replace

from assistant.asked.plan_talk import of_the_plan
from assistant.clauses.own_words import named_feed
from assistant.dialogue import Talk
from assistant.follow.turns import Question, pattern
from assistant.hear import hear

IN_SHORT = {"next_due": "when is the next one", "day_total": "how much does he get in total a day"}
PLAINLY = "when is the next one"  # what is asked, without the feed that is done


def asks_for_the_next(text: str, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """The look-up of the next feed of the plan; the feed that is done is not the one that is asked for."""
    short = next((words for name, words in IN_SHORT.items() if pattern(name).match(text)), None)
    if short is not None and talk.asks is None:
        look_up = of_the_plan(short, hear(short), talk, feeds)
        return replace(look_up, counts=short) if look_up is not None else None
    met = pattern("done_then_next").match(text)
    if met is None or pattern("done_of_its_own").search(met["told"]):
        return None  # "flush done, when's the next"
    told = hear(met["told"])
    if not (named_feed(told, feeds) or pattern("a_feed_done").search(met["told"])):
        return None
    look_up = of_the_plan(PLAINLY, hear(PLAINLY), talk, feeds)
    return replace(look_up, counts=PLAINLY) if look_up is not None else None
