"""A message that asks several things, parted into its asks. What is only told ("640 left, on 80") goes with every ask."""

from __future__ import annotations

import re

BREAK = re.compile(r"(?<=[.?!;])(?<!\b[A-Za-z]\.)\s+|\s*\n\s*|\s+-\s+|,?\s+(?:and also|and then|also|and|plus|n|&|but|oh and|then)\s+(?=(?:{0}))|,\s+(?=(?:{0}))".format(
    r"(?:how|what|whats|what's|wats|wots|wot|when|whens|when's|wen|where|which|who|is|are|do|does|can|could|should|shall|will|would|remind|tell|hw)\b"), re.I)
ASKS = re.compile(r"^(?:and |so |also |now |ok |then |please |pls )*(?:how|what|whats|what's|wats|wots|wot|when|whens|when's|wen|where|which|who|why|is|are|am|do|does|did|can|could|should|shall|will|would|"
                  r"remind|tell me|give me|may|hw|left\?|done at)\b|\?\s*$", re.I)


def parts(text: str) -> tuple[str, ...]:
    """The asks of a message in order; the whole message where there is only one."""
    pieces = [p.strip(" ,") for p in BREAK.split(text) if p and p.strip(" ,.?!")]
    asking = [i for i, piece in enumerate(pieces) if ASKS.search(piece)]
    if len(asking) < 2 or len(asking) > 3:
        return (text,)
    told = [piece for i, piece in enumerate(pieces) if i not in asking]
    made = []
    for i in asking:
        piece = pieces[i]
        made.append(" ".join([*told, piece]) if told else piece)
    return tuple(made)
