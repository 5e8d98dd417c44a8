"""What is said where no question is clearly ahead: the likeliest of one kind, choices, or that it is not ours."""

from __future__ import annotations

from assistant import gather
from assistant.asked.likeliest import BESIDE, CLEAR, LOOK_UPS, akin
from assistant.follow.turns import Question
from assistant.understand import Candidate

FAINT, OFFERED = 0.10, 0.02  # below: no likelier than chance, the honest line; offered as a choice from this share up
OUTSIDE = 0.5  # declined as not ours from this share up
SMALL_TALK = ("thanks", "greet", "yes", "no", "stop")
NO_CHOICE = ("out_of_scope", "unclear", "remark")


def unsure(ranked: tuple[Candidate, ...], ours: bool = False) -> Question:
    """At most three choices; what is plainly not ours is declined; else the honest line.

    Where all of the choices carry each other's figures there is nothing to choose: the likeliest is answered.
    """
    if ranked[0].intent == "out_of_scope" and ranked[0].p >= OUTSIDE and not ours:
        return Question("out_of_scope", p=ranked[0].p)
    choices = offered(ranked)
    if choices and choices[0] is ranked[0] and all(c.intent in SMALL_TALK for c in choices):
        return Question(choices[0].intent, p=choices[0].p)  # "fair enough, all the best": thanks, no or stop: no choice
    answerable = ranked[0].intent in gather.names() or ranked[0].intent in LOOK_UPS
    if len(choices) == 1 and choices[0] is ranked[0] and ranked[0].p >= BESIDE and answerable:
        return Question(ranked[0].intent, p=ranked[0].p, choices=choices)  # nothing else is likely: no choice to offer
    likely = [c for c in choices if c.p >= FAINT] or choices
    sums = all(c.intent in gather.names() and akin(choices[0], c) for c in likely)
    if len(choices) > 1 and sums and sum(c.p for c in choices) >= CLEAR:
        fullest = next((c for c in likely if c.intent == "delivered"), choices[0])  # it gives what is left as well
        return Question(fullest.intent, p=fullest.p, choices=choices)
    return Question("unclear", p=ranked[0].p, choices=offered(ranked) if ranked[0].p >= FAINT else ())


def offered(ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The likeliest three, for a question back."""
    found = [c for c in ranked[:5] if c.p >= OFFERED and c.intent not in NO_CHOICE]
    of_care = [c for c in found if c.intent not in SMALL_TALK]
    return tuple(of_care or found)[:3]


