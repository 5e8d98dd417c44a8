"""Short replies to a question about what was heard: yes or no, one of two numbers; and words to the voice itself."""

from __future__ import annotations

import re
from collections.abc import Iterable

from assistant.voice.digits import numbers
from assistant.voice.doubt import spelt
from assistant.voice.ears import Ears, Spoken
from assistant.voice.sound import Sound
from knowledge.library import table

YES, NO, CANCEL, NEITHER = "yes", "no", "cancel", "neither"
_SPACES = re.compile(r"\s+")


def bare(text: str) -> str:
    """Lower case, without marks."""
    return _SPACES.sub(" ", re.sub(r"[^a-z0-9' ]", " ", text.lower())).strip()


def yes_or_no(spoken: Spoken, sound: Sound, ears: Ears) -> str:
    """YES only where one ear has a plain yes and the other nothing against it; NO is easier: it does nothing.

    Beside a pump the first ear often has only a part of "yes, that's right": the part is enough where the second ear,
    which knows but a few replies, has the whole.
    """
    first = _kind(spoken.text)
    if first in (NO, CANCEL):
        return first
    second = _kind(ears.one_of(sound, _all()) or "")
    if first == YES and second in (YES, NEITHER):
        return YES
    if second == YES and first == NEITHER and _leans_to_yes(spoken.text):
        return YES
    return second if second in (NO, CANCEL) and first == NEITHER else NEITHER


def either_of(spoken: Spoken, sound: Sound, ears: Ears, two: tuple[str, str]) -> int | str:
    """0 or 1 for the number of `two` that was said digit by digit; NO, CANCEL or NEITHER else.

    "Fifteen" is no reply to "one five or five zero?": it is what was in doubt. The second ear, which knows only the two
    and a few short words, may not contradict; a number written in digits alone ("50") counts only where it agrees.
    """
    if (kind := _kind(spoken.text)) in (NO, CANCEL):
        return kind
    said = tuple(spelt(digits) for digits in two)
    heard = ears.one_of(sound, (*said, *_whole(two), *_all()))
    backed = said.index(heard) if heard in said else None
    written = [n.digits.replace(".", "") for n in numbers(spoken.text)]  # "one five" is also written as 1.5
    if len(written) != 1 or written[0] not in two:
        return NEITHER
    first = two.index(written[0])
    apart = said[first] in bare(spoken.text).replace("-", " ") or " ".join(two[first]) in bare(spoken.text)
    if backed == first or (apart and backed is None and not heard):
        return first
    return NEITHER


def first_or_second(spoken: Spoken, sound: Sound, ears: Ears) -> int | str:
    """0 or 1 for "the first" or "the second"; NO, CANCEL or NEITHER else. The second ear may not contradict."""
    if (kind := _kind(spoken.text)) in (NO, CANCEL):
        return kind
    listed = table("voice_en")["replies"]
    heard = ears.one_of(sound, (*listed["first"], *listed["second"], *_all())) or ""
    for at, name in enumerate(("first", "second")):
        if bare(spoken.text) in listed[name]:
            return at if heard in listed[name] or not heard else NEITHER
    return NEITHER


def said_control(text: str) -> str:
    """Which control of the voice these words are, whole; else empty."""
    words = bare(text)
    return next((name for name, listed in table("voice_en")["controls"].items() if words in listed), "")


def _leans_to_yes(text: str) -> bool:
    """Is there a piece of a yes in these words, and nothing of a no or of a number?"""
    words, lists = set(bare(text).split()), table("voice_en")["replies"]
    return bool(words & set(lists["yes_parts"])) and not words & set(lists["no_parts"]) and not numbers(text)


def _once(words: str) -> str:
    """ "yes yes" -> "yes": said twice, or heard twice by a recogniser that repeats itself."""
    listed = words.split()
    for length in range(1, len(listed) // 2 + 1):
        if len(listed) % length == 0 and listed == listed[:length] * (len(listed) // length):
            return " ".join(listed[:length])
    return words


def _kind(text: str) -> str:
    words = _once(bare(text))
    for kind in (YES, NO, CANCEL):
        if words in table("voice_en")["replies"][kind]:
            return kind
    return NEITHER


def _all() -> tuple[str, ...]:
    replies = table("voice_en")["replies"]
    return tuple(reply for kind in (YES, NO, CANCEL) for reply in replies[kind])


def _whole(two: Iterable[str]) -> tuple[str, ...]:
    """The two numbers as one word each: heard as what they are, so that they are not forced onto digits."""
    from assistant.voice.spoken_words import words_of

    return tuple(" ".join(words_of(digits)) for digits in two)
