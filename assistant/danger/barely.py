"""A sign that a rule finds in a message which, by all else in it, is of something else: asked about, no alarm.

Nothing that the weights make of a whole message silences a rule: a sum drowns what is said beside it ("he is choking
feed of 300 at 60 how long"). So they have to hear nothing in any few words in a row either, the sign's own among them;
and then the answer begins with what to do if it is so.
"""

from __future__ import annotations

from assistant.understand import danger, rank

BARELY = 0.03  # what the weights give to the whole and to each sentence, at most
FEW, OUTRIGHT = 6, 0.8  # words in a row, and what the weights give them where they name a danger outright
SHORT = 9  # words: in a short message a sign stands
NEVER_DOUBTED = frozenset({  # cries for help; what is told by a figure, or by hints in any words
    "panic", "carer_crisis", "fever", "low_sugar", "unwell", "overfeed", "wrong_formula", "infant_mixing",
})


def barely_heard(text: str, loudest: float) -> bool:
    """Do the weights hear hardly a trace of danger in the whole (`loudest`), and no plain danger in any few words?

    What is taken for a lesser card is of a body all the same ("half out, and the skin around is soaked"): it stands.
    """
    words = text.split()
    if loudest >= BARELY or len(words) <= SHORT or any(c.card for c in rank(text)[:1]):
        return False
    return all(danger(" ".join(words[at : at + FEW])) < OUTRIGHT for at in range(len(words) - FEW + 1))
