"""Words that sound or look like numbers, and numbers typed for words: "4 the night", "at for o'clock", "24/7"."""

from __future__ import annotations

from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind
from assistant.hear.tokens import Words

_SOUNDS = {
    "for": "four",
    "fore": "four",
    "to": "two",
    "too": "two",
    "ate": "eight",
    "won": "one",
    "sex": "six",
    "tree": "three",
}
_OVER = {"every", "over", "within"}
_HOURS = {"hours", "hrs", "hour"}


def as_meant(w: Words) -> Words:
    """`w` with such words as they were meant, where a number must, or cannot, stand. Places stay the same."""
    tokens = w.tokens
    for i, token in enumerate(tokens):
        if token in ("4", "2"):
            if _stands_for_word(w, i):
                tokens[i] = "for" if token == "4" else "to"
        elif token in _SOUNDS and _must_be_number(w, i):
            tokens[i] = _SOUNDS[token]
    return w


_POWDERS = ("scoops", "scoop", "powder")  # "how many scoops 4 150", "water 4 one 110 feed": for


def _stands_for_word(w: Words, i: int) -> bool:
    tokens, lists = w.tokens, lexicon().lists
    following = tokens[i + 1] if i + 1 < len(tokens) else ""
    before = tokens[i - 1] if i else ""
    if w.glued(i) or w.glued(i + 1):
        return False
    if tokens[i] == "2":
        past = before in lists["quarter"] or (before in ("ten", "five", "twenty") and following.isdecimal())
        return (past and (following.isdecimal() or kind(w, i + 1) != "")) or (
            following in lists["two_to"]
            and not (following == "a" and tokens[i + 2 : i + 3] in (["day"], ["night"], ["week"], ["feed"]))
        )
    to_number = (before in _POWDERS and following.isdecimal() and len(following) > 1) or (
        following == "one" and before in (*_POWDERS, "water", "milk", "formula")
    )
    if (
        (following not in lists["four_for"] and not to_number)
        or before in lists["at"]
        or before in lists["leads"]
        or before.isdecimal()
        or (kind(w, i - 1) and i)
    ):
        return False
    return not (
        following in ("a", "an")
        and tokens[i + 2 : i + 3] in (["day"], ["night"], ["week"], ["hour"], ["feed"], ["minute"])
    )


def _must_be_number(w: Words, i: int) -> bool:
    lex, tokens = lexicon(), w.tokens
    suffix = lex.suffix.at(tokens, i + 1)
    before = tokens[i - 1] if i else ""
    if suffix and not (tokens[i] in ("for", "to", "too") and suffix[1] != "o'clock" and before not in lex.lists["at"]):
        return True
    if tokens[i] == "too" and kind(w, i + 1) in ("hundred", "thousand"):
        return True
    if before in _OVER and tokens[i + 1 : i + 2] and tokens[i + 1] in _HOURS:
        return True
    unit = lex.unit.at(tokens, i + 1) if tokens[i] == "ate" else None
    return unit is not None and unit[1].kind in ("volume", "ounce", "time")


def no_amount(w: Words, i: int) -> int | None:
    """Where an expression ends that begins at `i` and only looks like a number, or None."""
    lex, tokens = lexicon(), w.tokens
    before = tokens[i - 1] if i else ""
    found = lex.not_amount.at(tokens, i)
    if found and not _goes_on(w, found[0]):
        in_one_day = tokens[found[0] - 2 : found[0]] == ["one", "day"] and before in lex.lists["one_day_after"]
        return None if in_one_day else found[0]
    if (
        tokens[i] == "one"
        and before in lex.lists["one_is_a_thing_after"]
        and (kind(w, i + 1) not in ("", "hundred", "thousand") or lex.day.at(tokens, i + 1))  # "the second one tonight"
    ):
        return i + 1
    if tokens[i] in lex.lists["dialled"] and before in lex.lists["dialled_after"]:
        return i + 1
    if len(tokens[i]) == 8 and tokens[i][3] == "-":  # a telephone number
        return i + 1
    if before in lex.lists["decade_after"]:
        if tokens[i].isdecimal() and tokens[i + 1 : i + 2] == ["s"]:
            return i + 2
        if tokens[i] in lex.plural:
            return i + 1
    return None


def _goes_on(w: Words, end: int) -> bool:
    """The expression is the start of a number after all: "no one five", "this one hour", "in half an hour"."""
    lex, tokens = lexicon(), w.tokens
    if end < len(tokens) and tokens[end - 1] in lex.lists["half"]:
        return bool(lex.unit.at(tokens, end + 1 if tokens[end] in ("a", "an") else end))
    if end >= len(tokens) or tokens[end - 1] not in lex.number:
        return False
    return bool(
        kind(w, end)
        or lex.unit.at(tokens, end)
        or tokens[end] in lex.lists["point"]
        or ("'" in tokens[end] and lex.suffix.at(tokens, end))
    )
