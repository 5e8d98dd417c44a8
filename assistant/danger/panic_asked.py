"""Is panic only asked about, beside an everyday thing ("his skin is a bit dry there, need we panic?")?

Told as one's own state ("I'm panicking"), or asked beside anything that may be grave, it stays a call for help.
"""

from __future__ import annotations

from assistant.cards import card
from assistant.danger.here_and_now import told
from assistant.understand import Candidate

PANIC = frozenset({"panic"})
EVERYDAY = ("routine", "same_day")
PLAINLY, HARMLESS = 0.9, 0.1  # the share of the everyday thing among all that was heard; that of all dangers together


def panic_asked(text: str, likeliest: tuple[Candidate, ...], harm: float) -> frozenset[str]:
    """The card of panic, where it is only asked about beside an everyday thing; `harm`: the share of all danger.

    `likeliest`: what the words may be about, in order.
    """
    named = likeliest[0].card if likeliest and likeliest[0].p >= PLAINLY and harm < HARMLESS else None
    everyday = named is not None and card(named)["level"] in EVERYDAY
    return PANIC if everyday and told("panic_asked", text) and not told("panic_told", text) else frozenset()
